"""What was flown beside what the handbook prints: each condition, and whether it makes book."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from flyoff.comparison.case import Case, Method
from flyoff.comparison.results import BookVerdict, FlownPoint
from flyoff.core.figure import Figure, Input, difference, format_number, supported_decimals
from flyoff.core.typing import Array
from flyoff.core.units import ft
from flyoff.model.overall import Overall, taken_together
from flyoff.model.statement import STATEMENTS, Book, BookPoint, Statement, Step

_FLOWN = Method("reduced from the flight's records of a steady condition", "flyoff, methods: reduction")
_PRINTED = Method("the handbook at the flown condition, linear between printed values")
_POOLED = Method(
    "mean of the differences, draw by draw, so that what conditions share does not average away; scatter"
    " within an altitude beyond its doubts counts besides",
    "JCGM 101:2008, 7; DerSimonian and Laird, 1986 (from memory)",
)
_AS_FLOWN = {
    "cruise_speed": "true_airspeed",
    "cruise_speed_at_power": "true_airspeed",
    "fuel_flow_at_power": "fuel_flow",
    "climb_rate": "rate_of_climb",
}
_AGREES = "agrees within the measurement"


@dataclass
class FlownFigures:
    """All figures of one airplane's flights beside its handbook, and the tables that they fill."""

    figures: list[Figure]
    points: list[FlownPoint]
    verdicts: list[BookVerdict]


def flown_figures(case: Case, book: Book) -> FlownFigures:
    """Return flown, printed and difference of each condition, and the verdict on each statement."""
    found = FlownFigures([], [], [])
    if not book.points and not book.notes:
        return found
    seen: dict[str, Figure] = {}
    for point in book.points:
        figures = list(_point_figures(case, point))
        fresh = [figure for figure in figures if figure.key not in seen]
        seen |= {figure.key: figure for figure in fresh}
        found.figures += fresh
        found.points.append(_flown_point(case, point, figures))
    for statement in STATEMENTS:
        figures, verdict = _verdict(case, book, statement, found.points)
        found.figures += figures
        found.verdicts.append(verdict)
    return found


def _point_figures(case: Case, point: BookPoint) -> Iterator[Figure]:
    """Yield a condition's value as flown, at the handbook's condition, as printed, and the difference."""
    statement, unit = point.statement, point.statement.unit
    base = f"flown.{point.flight}.{point.name}"
    own = f"{base}.{statement.key}"
    label = f"{statement.label} {{}}, {point.words}"

    def measured(key: str, words: str, sample: Array, method: Method, given: tuple[Input, ...]) -> Figure:
        return case.figure(
            key, label.format(words), unit, sample, method, given, basis="measured", remarks=point.remarks,
            extrapolated=point.extrapolated,
        )  # fmt: skip

    key = f"{base}.{_AS_FLOWN.get(statement.key, statement.key)}"
    flown = measured(key, "as flown", point.as_flown, _FLOWN, (point.seen,))
    yield flown
    steps = point.corrections
    if any("printed" not in step.name for step in steps):
        given = (Input(flown.label, str(flown), figure=flown.key), *(_step(statement, s) for s in steps))
        source = "; ".join(dict.fromkeys(step.source for step in steps))
        method = Method("brought to the handbook's weight and power, step by step", source)
        flown = measured(f"{own}.corrected", "at the handbook's condition", point.flown, method, given)
        yield flown
    printed = case.figure(
        f"{own}.handbook", label.format("of the handbook"), unit, point.printed, _PRINTED,
        (point.seen, *point.printed_inputs), missing=point.missing, basis="handbook",
    )  # fmt: skip
    yield printed
    words = f"{statement.label}, flown less handbook, {point.words}"
    yield difference(f"{case.key}.{own}.difference", words, flown, printed)


def _step(statement: Statement, step: Step) -> Input:
    return Input(step.name, f"{step_size(statement, step)} {statement.unit[0]} ({step.source})")


def step_size(statement: Statement, step: Step) -> str:
    """Return a correction's size in the statement's unit, signed."""
    change = statement.shown(step.end - step.start)
    return _signed(change, supported_decimals(change, max(abs(change) / 10, 0.01)))


def _flown_point(case: Case, point: BookPoint, figures: Sequence[Figure]) -> FlownPoint:
    unit = point.statement.unit[0]
    steps = [f"{step.name}: {step_size(point.statement, step)} {unit}".rstrip() for step in point.corrections]
    return FlownPoint(
        case.key, point.statement.key, point.flight, point.number, point.words, figures[0].key,
        "; ".join(steps) or "none", figures[-2].key, figures[-1].key,
        verdict(point.statement, figures[-1]),
    )  # fmt: skip


def verdict(statement: Statement, apart: Figure) -> str:
    """Return in words whether flight and handbook agree."""
    value, u95 = apart.value, apart.u95
    if value is None or u95 is None:
        return f"cannot be said: {apart.missing}"
    if abs(value) <= u95:
        return _AGREES
    way = statement.less if value < 0 else statement.more
    size = format_number(abs(value), apart.decimals)
    return f"{way} by {size} ± {format_number(u95, apart.decimals)} {apart.unit_label}".rstrip()


def _verdict(
    case: Case, book: Book, statement: Statement, points: Sequence[FlownPoint]
) -> tuple[list[Figure], BookVerdict]:
    """Return the mean difference of one statement, overall and by altitude, and the verdict on it."""
    key, label = f"book.{statement.key}", f"{statement.label}, flown less handbook"
    notes = book.notes.get(statement.key, ())
    asked = book.about(statement)
    kept = [p for p in asked if p.difference is not None]
    keys = {(p.flight, p.number, p.condition): p.difference for p in points if p.statement == statement.key}
    if not kept:
        missing = next((p.missing for p in asked if p.missing), "; ".join(notes)) or "nothing was flown"
        figure = case.figure(key, label, statement.unit, None, _POOLED, (), missing=missing, basis="handbook")
        words = f"cannot be said: {missing}"
        return [figure], BookVerdict(case.key, statement.key, statement.label, figure.key, words, 0)
    if len(kept) < len(asked):
        notes = (*notes, f"{len(asked) - len(kept)} of {len(asked)} conditions are not printed")
    samples = [p.flown - p.printed for p in kept if p.printed is not None]
    altitudes = [p.pressure_altitude_m for p in kept]
    pooled = taken_together(samples, altitudes, f"{case.key}#{key}", case.draws)
    inputs = [Input(p.words, "its difference", figure=keys[p.flight, p.number, p.words]) for p in kept]
    remarks = (*notes, *_shared(kept))
    overall = case.figure(
        key, label, statement.unit, pooled.difference, _POOLED, tuple(inputs), basis="handbook",
        remarks=remarks, extrapolated=any(p.extrapolated for p in kept),
    )  # fmt: skip
    levels = []
    for level in pooled.levels:
        height = level.pressure_altitude_m / ft
        words = f"{format_number(height, 0)} ft"
        figure = case.figure(
            f"{key}?altitude={height:.0f}ft", f"{label}, {words}", statement.unit, level.difference, _POOLED,
            tuple(inputs[i] for i in level.members), basis="handbook", terms={"altitude": words},
        )  # fmt: skip
        levels.append(figure)
    words = overall_words(statement, overall, len(kept), pooled, levels)
    return [overall, *levels], BookVerdict(
        case.key, statement.key, statement.label, overall.key, words, len(kept), tuple(f.key for f in levels),
        notes,
    )  # fmt: skip


def _shared(points: Sequence[BookPoint]) -> tuple[str, ...]:
    """Return the remarks that most of the points carry: what holds for the verdict too."""
    every = [remark for point in points for remark in point.remarks]
    return tuple(r for r in dict.fromkeys(every) if every.count(r) > len(points) / 2)


def overall_words(
    statement: Statement, overall: Figure, count: int, pooled: Overall, levels: Sequence[Figure]
) -> str:
    """Return the verdict on a statement: overall, and how it goes with altitude."""
    value, u95 = overall.value or 0.0, overall.u95 or 0.0
    over = f"over {count} condition{'s' if count > 1 else ''}"
    if abs(value) <= u95:
        words = f"{_AGREES} ({overall.number} {overall.unit_label}".rstrip() + f") {over}"
    else:
        size = f"{format_number(abs(value), overall.decimals)} ± {format_number(u95, overall.decimals)}"
        way = statement.less if value < 0 else statement.more
        words = f"{size} {overall.unit_label}".rstrip() + f" {way} than the book {over}"
    if len(levels) < 2:
        return words
    each = ", ".join(
        f"{_signed(f.value or 0.0, f.decimals)} {f.unit_label}".rstrip() + f" at {f.terms['altitude']}"
        for f in levels
    )
    return f"{words}; {_trend(statement, pooled)}: {each}"


def _signed(value: float, decimals: int) -> str:
    text = format_number(value, decimals)
    return text if text.startswith("−") or float(text.replace(",", "")) == 0 else f"+{text}"


def _trend(statement: Statement, pooled: Overall) -> str:
    change = pooled.change
    if change is None or not pooled.is_changing:
        return "no change with altitude beyond the measurement"
    gets_better = (change[0] > 0) == (statement.better == "more")
    return f"it gets {'better' if gets_better else 'worse'} with altitude"
