"""The airspeed system's correction over indicated airspeed, with its points, its band and where it ends."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from flyoff.charts.chart import Chart, members_words, printed
from flyoff.charts.fitted import Seen, seen_layers
from flyoff.charts.plot import Plot
from flyoff.charts.scales import round_scale
from flyoff.charts.style import Setting, Spec, definition, frame
from flyoff.core.units import kt
from flyoff.reduction.calibration import Calibration, Observation, handbook_corrections
from flyoff.reduction.run import Reduction

TITLE = "Airspeed calibration"
_STEPS = 120
_BASES = {
    "declared": "the correction given in the flight file",
    "legs": "the correction from the ground velocities",
    "handbook": "the handbook’s, for want of legs",
    "assumed": "no calibration is known: indicated is taken as calibrated",
}


def drawn(reduction: Reduction) -> bool:
    """Tell whether any airspeed was there to be corrected."""
    return bool(_speeds(reduction))


def subtitle(reduction: Reduction) -> str:
    """Return what the marks mean."""
    calibration = reduction.calibration
    said = [f"Calibrated less indicated airspeed: {_BASES[calibration.basis]}", "the band holds 95 %"]
    if any(extrapolated for *_, extrapolated in _curve(reduction)):
        said.append("dashed, without fill, where extrapolated")
    if calibration.seen:
        sorts = [
            word
            for word, own in (("leg group", calibration.observations), ("turn", calibration.turns))
            if own
        ]
        said.append(f"points are what each {' or '.join(sorts)} measured")
    if _handbook(reduction):
        said.append("squares are the handbook’s")
    return "; ".join(said)


def _handbook(reduction: Reduction) -> list[Spec]:
    """Return the handbook's correction at its speeds, where it is another than the one drawn."""
    if reduction.calibration.basis == "handbook":
        return []
    rows = handbook_corrections(reduction.standard.airplane.tables.get("airspeed"))
    low, high = min(_speeds(reduction)) - 10 * kt, max(_speeds(reduction)) + 10 * kt
    return [{"x": speed / kt, "y": add / kt} for speed, add in rows if low <= speed <= high]


def _speeds(reduction: Reduction) -> list[float]:
    """Return every indicated airspeed there is a point or a leg group at, in m/s."""
    points = [p.indicated_airspeed.value for p in reduction.points if p.indicated_airspeed is not None]
    return [*points, *(o.indicated_m_s for o in reduction.calibration.seen)]


def _curve(reduction: Reduction) -> list[tuple[float, float, float, bool]]:
    """Return indicated airspeed, correction, half its interval (in kt), and whether it is extrapolated."""
    calibration = reduction.calibration
    speeds = _speeds(reduction)
    low, high = min(speeds) - 2 * kt, max(speeds) + 2 * kt
    edges = _edges(calibration)
    every = {*np.linspace(low, high, _STEPS).tolist(), *(e for e in edges if low < e < high)}
    every |= {speed for speed, _ in calibration.table_m_s if low < speed < high}
    found = []
    for speed in sorted(every):
        correction = calibration.correction(speed)
        found.append(
            (speed / kt, correction.value / kt, correction.u95 / kt, calibration.is_extrapolated(speed))
        )
    return found


def _edges(calibration: Calibration) -> list[float]:
    """Return where the extrapolation begins, so that the curve changes there and not a step beside it."""
    return list(calibration.range_m_s or ())


def _runs(curve: Sequence[tuple[float, float, float, bool]]) -> Iterator[tuple[bool, list[Spec]]]:
    """Yield stretches that are extrapolated or not, each beginning where the last ended."""
    rows: list[Spec] = []
    kind = curve[0][3]
    for speed, value, half, extrapolated in curve:
        row = {"x": round(speed, 3), "y": round(value, 4), "low": round(value - half, 4)}
        row["high"] = round(value + half, 4)
        if extrapolated != kind:
            # the row where it changes belongs to both
            yield kind, [*rows, row] if kind else rows
            rows, kind = [] if kind else rows[-1:], extrapolated
        rows.append(row)
    yield kind, rows


def chart(reduction: Reduction, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    inner = frame(setting, left=3.6, right=1.8)
    if setting.titled:
        inner = replace(inner, top=inner.top + 1.4 * setting.format.text)  # for a second line of subtitle
    curve, seen = _curve(reduction), reduction.calibration.seen
    narrow = setting.format.narrow
    edges = [v + way * h for _, v, h, _ in curve for way in (-1, 1)]
    whiskers = [(o.correction.value + way * o.correction.u95) / kt for o in seen for way in (-1, 1)]
    book = _handbook(reduction)
    plot = Plot(
        round_scale(
            [*(speed for speed, *_ in curve), *(row["x"] for row in book)],
            inner.plot_width,
            5 if narrow else 9,
            snap=False,
        ),
        round_scale(
            [0.0, *edges, *whiskers, *(row["y"] for row in book)],
            inner.plot_height,
            6 if narrow else 8,
            snap=False,
        ),
        "Indicated airspeed, kt",
        "Calibrated less indicated, kt",
        inner.left,
    )
    layers = [
        *_curve_layers(curve, plot, setting),
        *_book_layers(book, plot, setting),
        *_observed(reduction, seen, curve, plot, setting),
    ]
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, TITLE, subtitle(reduction), body)


def _curve_layers(
    curve: Sequence[tuple[float, float, float, bool]], plot: Plot, setting: Setting
) -> Iterator[Spec]:
    theme, stroke = setting.theme, setting.format.line
    colour = theme.series[0]
    zero = [{"x": plot.across.low, "y": 0.0}, {"x": plot.across.high, "y": 0.0}]
    yield plot.layer(zero, {"type": "line", "color": theme.rule, "strokeWidth": stroke / 2})
    for extrapolated, rows in _runs(curve):
        if extrapolated:
            thin = {"type": "line", "color": colour, "strokeWidth": stroke / 2.4}
            for edge in ("low", "high"):
                border = [{"x": row["x"], "y": row[edge]} for row in rows]
                yield plot.layer(border, {**thin, "strokeDash": [2 * stroke, 1.5 * stroke]})
        else:
            area = {"type": "area", "color": colour, "opacity": theme.band}
            yield plot.layer(rows, area, {"y": {**plot.y, "field": "low"}, "y2": {"field": "high"}})
        dash = [3.5 * stroke, 2 * stroke] if extrapolated else [1, 0]
        yield plot.layer(rows, {"type": "line", "color": colour, "strokeWidth": stroke, "strokeDash": dash})


def _book_layers(book: list[Spec], plot: Plot, setting: Setting) -> Iterator[Spec]:
    if not book:
        return
    colour, stroke = setting.theme.series[1], setting.format.line
    dash = [1.5 * stroke, 1.5 * stroke]
    yield plot.layer(book, {"type": "line", "color": colour, "strokeWidth": 0.7 * stroke, "strokeDash": dash})
    square = {"type": "point", "shape": "square", "filled": True, "opacity": 1, "color": colour}
    yield plot.layer(book, {**square, "size": 12 * stroke**2})


def _observed(
    reduction: Reduction,
    seen: Sequence[Observation],
    curve: Sequence[tuple[float, float, float, bool]],
    plot: Plot,
    setting: Setting,
) -> Iterator[Spec]:
    points = [
        Seen(
            o.indicated_m_s / kt, o.correction.value / kt, 0.0, o.correction.u95 / kt, _members(reduction, o)
        )
        for o in seen
    ]
    book = _handbook(reduction)
    edges = [[(speed, value + way * half) for speed, value, half, _ in curve] for way in (-1, 0, 1)]
    places = (*edges, [(row["x"], row["y"]) for row in book])
    lines = [plot.pixels(*np.array(own).T) for own in places if own]
    yield from seen_layers(points, lines, plot, setting)


def _members(reduction: Reduction, seen: Observation) -> str:
    if seen in reduction.calibration.turns:
        return f"turn {seen.group}"
    return f"points {members_words(reduction.legs[seen.group].members)}"


def alt(reduction: Reduction) -> str:
    """Return the chart in words, from its numbers."""
    curve = _curve(reduction)
    picked = [curve[round(share * (len(curve) - 1))] for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    told = [
        f"{printed(value, half)} ± {printed(half, half)} kt at {speed:.0f} kt"
        + (" (extrapolated)" if extrapolated and reduction.calibration.basis != "assumed" else "")
        for speed, value, half, extrapolated in picked
    ]
    parts = [f"Calibrated less indicated airspeed, {_BASES[reduction.calibration.basis]}: {', '.join(told)}."]
    for seen in reduction.calibration.seen:
        value, half = seen.correction.value / kt, seen.correction.u95 / kt
        measured = f"{printed(value, half)} ± {printed(half, half)} kt at {seen.indicated_m_s / kt:.1f} kt"
        parts.append(f"Measured by {_members(reduction, seen)}: {measured}.")
    return " ".join(parts)


CHART = Chart("calibration", TITLE, drawn, subtitle, chart, alt)
