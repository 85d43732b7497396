"""One flown day for readers: its charts, points, leg groups, calibration, repairs and methods."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flyoff.charts.chart import members_words, signed
from flyoff.core.caution import CAUTION
from flyoff.core.figure import format_number, supported_decimals
from flyoff.report.blocks import (
    Block,
    Cell,
    Column,
    Document,
    Drawing,
    Group,
    Items,
    Part,
    Picture,
    Row,
    Table,
    Text,
)

MOST_REPAIRS = 200
"""Repairs that a page lists; the rest is in the JSON."""
NOTHING = Cell("—")

_MEASURES = (
    ("pressure_altitude_ft", "Pressure altitude, ft"),
    ("density_altitude_ft", "Density altitude, ft"),
    ("outside_air_temp_c", "Air, °C"),
    ("ias_kt", "Indicated, kt"),
    ("cas_kt", "Calibrated, kt"),
    ("tas_kt", "True, kt"),
    ("rate_of_climb_fpm", "Climb, ft/min"),
    ("fuel_flow_gph", "Fuel, US gal/h"),
    ("manifold_pressure_inhg", "Manifold, inHg"),
    ("rpm", "Engine, rpm"),
    ("weight_lb", "Weight, lb"),
)
_SIGNED = {"rate_of_climb_fpm"}


@dataclass(frozen=True)
class FlownDay:
    """A flight for readers.

    `name` is the flight file's, `key` what its anchors begin with; `data` is
    the reduction with its stable JSON keys; `drawings` are its charts by the
    names of `pictures`.
    """

    name: str
    key: str
    title: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    methods: tuple[tuple[str, str], ...]
    data: Mapping[str, Any]
    pictures: tuple[Picture, ...]
    drawings: Mapping[str, Drawing]


def condition_anchor(day: FlownDay, number: int) -> str:
    """Return where a condition of a flight is shown."""
    return f"condition-{day.key}-{number}"


def flight_document(day: FlownDay) -> Document:
    """Return the page of one flight."""
    parts = (
        Part("flight", "The flight", "Flight", (_facts_table(day), *_items("Notes of the crew:", day.notes))),
        Part("time", "The flight over time", "Over time", (*day.pictures[:1],)),
        Part("points", "Steady conditions", "Points", _points_blocks(day)),
        Part("legs", "True airspeed and wind", "Legs", _legs_blocks(day)),
        Part("calibration", "Airspeed calibration", "Calibration", _calibration_blocks(day)),
        Part("repairs", "What was not taken as it stood", "Repairs", _repairs_blocks(day)),
        Part("warnings", "What was assumed, and what could not be done", "Assumed", _warnings_blocks(day)),
        Part("methods", "Methods", "Methods", (_methods_table(day),)),
    )
    summary = f"{_count(day.data['points'], 'steady condition')}, {_count(day.data['legs'], 'leg group')}."
    return Document(day.title, "", summary, CAUTION, tuple(p for p in parts if p.blocks), ())


def flight_part(day: FlownDay) -> Part:
    """Return a flight as a part of a study's report: the same, drawn together."""
    repairs = _count(day.data["repairs"], "repair")
    telling = f"{day.title}. {repairs} to the log; “flyoff reduce” lists them, with the methods."
    blocks: tuple[Block, ...] = (
        Text(CAUTION, "caution"),
        Text(telling),
        *day.pictures[:1],
        *_points_blocks(day),
        *_legs_blocks(day),
        *_calibration_blocks(day),
        *_items("What was assumed, and what could not be done:", day.data["warnings"]),
    )
    return Part(f"flight-{day.key}", f"The flight of {day.name}", f"Flight {day.name}", blocks)


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}{'' if len(things) == 1 else 's'}"


def _items(title: str, items: Iterable[str]) -> tuple[Block, ...]:
    listed = tuple(items)
    return (Text(title), Items(listed)) if listed else ()


def _pictured(day: FlownDay, *charts: str) -> Iterator[Block]:
    """Yield the pictures of some charts, where the flight has them."""
    for chart in charts:
        yield from (picture for picture in day.pictures if picture.name == f"{day.key}-{chart}")


def _facts_table(day: FlownDay) -> Table:
    rows = tuple(Row(name, (Cell(text),)) for name, text in day.facts)
    heads = (Column("As written and read"),)
    return Table("What was flown, and in what", "Flight", heads, (Group("", rows),), figures=False)


def _cell(data: Mapping[str, Any], key: str, note: str = "") -> Cell:
    """Return a quantity no finer than its interval, or a dash where it is not known."""
    value, u95 = data.get(key), data.get(f"{key}_u95", 0.0)
    if value is None:
        return NOTHING
    decimals = min(supported_decimals(value, u95), 2) if u95 else 0
    text = format_number(value, decimals)
    shown = signed(text) if key in _SIGNED else text
    return Cell(f"{shown} ± {format_number(u95, decimals)}" if u95 else shown, note=note)


def _points_blocks(day: FlownDay) -> tuple[Block, ...]:
    points = day.data["points"]
    if not points:
        return (Text("No steady condition was found."),)
    known = [(key, title) for key, title in _MEASURES if any(p[key] is not None for p in points)]
    flags = dict.fromkeys(flag for point in points for flag in point["flags"])
    letters = {flag: _letter(number) for number, flag in enumerate(flags)}
    rows = tuple(
        Row(
            f"{number} {point['phase']}",
            tuple(_point_cell(point, key) for key, _ in known),
            _point_note(point, letters),
            condition_anchor(day, number),
        )
        for number, point in enumerate(points)
    )
    heads = tuple(Column(title) for _, title in known)
    caption = "Each steady condition, means with 95 % intervals; times are UTC, lines those of the log"
    table = Table(caption, "Condition", heads, (Group("", rows),), figures=False, numbers=True)
    said = tuple(f"{letter}: {flag}" for flag, letter in letters.items())
    return (table, *_items("What is not right with a condition:", said))


def _letter(number: int) -> str:
    letters = "abcdefghijklmnopqrstuvwxyz"
    return letters[number % 26] * (number // 26 + 1)


def _point_cell(point: Mapping[str, Any], key: str) -> Cell:
    whole = _cell(point, key)
    value, _, half = whole.text.partition(" ± ")
    beyond = "extrapolated" if key == "cas_kt" and point["extrapolated"] else ""
    below = (f"±\u00a0{half}" if half else "", beyond)
    return Cell(value, note=" ".join(part for part in below if part))


def _point_note(point: Mapping[str, Any], letters: Mapping[str, str]) -> str:
    said = [_span(point)]
    first, last = point["lines"]
    if last:
        said.append(f"lines\u00a0{first}\u2060–\u2060{last}")
    if point["origin"] != "found":
        said.append(point["origin"])
    if point["flags"]:
        said.append("see " + ", ".join(sorted(letters[flag] for flag in point["flags"])))
    return "; ".join(said)


def _span(data: Mapping[str, Any]) -> str:
    start, end = data["start_utc"][11:19], data["end_utc"][11:19]
    return start if start == end else f"{start}–{end}"


def _legs_blocks(day: FlownDay) -> tuple[Block, ...]:
    groups = day.data["legs"]
    if not groups:
        return (
            Text("No level legs on three courses well apart: no true airspeed and wind from the ground."),
        )
    rows = tuple(Row(f"Points {members_words(g['members'])}", _leg_cells(g), _span(g)) for g in groups)
    heads = ("Pressure altitude, ft", "Indicated, kt", "True, kt", "Wind from", "Wind, kt", "Residuals, kt")
    caption = "Each group of legs, solved for one true airspeed and one wind; 95 % intervals"
    columns = tuple(map(Column, heads))
    table = Table(caption, "Legs", columns, (Group("", rows),), figures=False, numbers=True)
    return (*_pictured(day, "velocity_circles"), table, *_pictured(day, "residuals"))


def _leg_cells(group: Mapping[str, Any]) -> tuple[Cell, ...]:
    altitude = group["pressure_altitude_ft"]
    flown = (NOTHING if altitude is None else Cell(format_number(altitude, 0)), _cell(group, "ias_kt"))
    if group["refused"]:
        return (*flown, Cell("refused", note=group["refused"]), NOTHING, NOTHING, NOTHING)
    way = f"{group['wind_from_deg']:03.0f}° ± {max(group['wind_from_deg_u95'], 1):.0f}°"
    left_over = ", ".join(signed(format_number(r, 1)) for r in group["residuals_kt"])
    widened = f"widened {group['widened']:.1f} times by its residuals" if group["widened"] > 1 else ""
    return (*flown, _cell(group, "tas_kt", widened), Cell(way), _cell(group, "wind_kt"), Cell(left_over))


_BASES = {
    "declared": "The correction is the one given in the flight file.",
    "legs": "The correction comes from the leg groups.",
    "handbook": "The correction is the handbook’s, for want of legs.",
    "assumed": "No calibration is known and no legs give one: indicated airspeed is taken as calibrated.",
}


def _calibration_blocks(day: FlownDay) -> tuple[Block, ...]:
    calibration = day.data["calibration"]
    if not calibration["curve"] and not calibration["observations"]:
        return ()
    seen = tuple(
        Row(
            f"{o['ias_kt']:.1f} kt",
            (
                _cell(o, "cas_minus_ias_kt"),
                Cell(f"points {members_words(day.data['legs'][o['legs']]['members'])}"),
            ),
        )
        for o in calibration["observations"]
    )
    curve = tuple(
        Row(
            f"{c['ias_kt']} kt",
            (_cell(c, "cas_minus_ias_kt"), Cell("extrapolated" if c["extrapolated"] else "")),
        )
        for c in calibration["curve"]
    )
    book = tuple(
        Row(
            f"{b['ias_kt']:.0f} kt",
            (
                Cell(signed(format_number(b["cas_minus_ias_kt"], 1))),
                Cell("agrees within 95 %" if b["agrees"] else "apart from it beyond 95 %"),
            ),
        )
        for b in calibration["handbook"]
    )
    groups = (
        Group("Measured by legs", seen),
        Group("The curve", curve),
        Group("The handbook’s beside it", book),
    )
    heads = (Column("Calibrated less indicated, kt"), Column("Where from"))
    caption = "The airspeed system’s correction, with 95 % intervals"
    kept = tuple(group for group in groups if group.rows)
    table = Table(caption, "Indicated", heads, kept, figures=False, numbers=True)
    return (Text(_BASES[calibration["basis"]]), *_pictured(day, "calibration"), table)


def _repairs_blocks(day: FlownDay) -> tuple[Block, ...]:
    together: dict[tuple[Any, ...], list[str]] = {}
    for repair in day.data["repairs"]:
        what = (
            repair["kind"],
            _span(repair),
            repair["log"],
            *repair["lines"],
            repair["count"],
            repair["why"],
        )
        together.setdefault(what, []).append(repair["channel"].replace("_", " "))
    if not together:
        return (Text("Nothing: every reading was taken as recorded."),)
    several = len(day.data["logs"]) > 1
    rows = tuple(
        Row(
            kind,
            (
                Cell(span),
                Cell(str(first) if first == last else f"{first}–{last}", note=log if several else ""),
                Cell(", ".join(channels)),
                Cell(why),
            ),
        )
        for (kind, span, log, first, last, _, why), channels in list(together.items())[:MOST_REPAIRS]
    )
    heads = tuple(map(Column, ("Time, UTC", "Log’s lines", "Channel", "What was done, and why")))
    table = Table(
        "Each repair; the log itself is untouched", "Repair", heads, (Group("", rows),), figures=False
    )
    more = len(together) - len(rows)
    rest = (Text(f"{more:,} more are in the output of “flyoff reduce --json”."),) if more else ()
    return (table, *rest)


def _warnings_blocks(day: FlownDay) -> tuple[Block, ...]:
    warnings = tuple(day.data["warnings"])
    return (Items(warnings),) if warnings else (Text("Nothing beyond what the flight file says."),)


def _methods_table(day: FlownDay) -> Table:
    rows = tuple(Row(method, (Cell(source),)) for method, source in day.methods)
    heads = (Column("Source"),)
    return Table("How the flight was reduced", "Method", heads, (Group("", rows),), figures=False)
