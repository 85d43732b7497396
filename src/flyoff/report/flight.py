"""One flown day for readers: its charts, points, leg groups, calibration, repairs and methods."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from flyoff.charts.chart import members_words, signed
from flyoff.core.caution import CAUTION
from flyoff.core.figure import format_number
from flyoff.report.blocks import (
    Block,
    Cell,
    Column,
    Document,
    Group,
    Items,
    Part,
    Row,
    Table,
    Text,
)
from flyoff.report.flown import NOTHING, FlownDay, cell, items, pictured, span
from flyoff.report.manoeuvres import edits_blocks, manoeuvres_blocks, turns_blocks
from flyoff.report.standard import (
    climbs_blocks,
    engine_blocks,
    glides_blocks,
    speed_power_blocks,
    stalls_blocks,
)

MOST_REPAIRS = 200
"""Repairs that a page lists; the rest is in the JSON."""

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


_STANDARD: tuple[tuple[str, str, str, Callable[[FlownDay], tuple[Block, ...]]], ...] = (
    ("speed-power", "Level speed and power", "Speed and power", speed_power_blocks),
    ("climbs", "Climbs", "Climbs", climbs_blocks),
    ("glides", "Glides", "Glides", glides_blocks),
    ("stalls", "Stalls", "Stalls", stalls_blocks),
    ("engine", "Fuel flow and power", "Engine", engine_blocks),
)
"""What the airplane's data allow at standard conditions: anchor, titles, blocks."""


def condition_anchor(day: FlownDay, number: int) -> str:
    """Return where a condition of a flight is shown."""
    return f"condition-{day.key}-{number}"


def flight_document(day: FlownDay) -> Document:
    """Return the page of one flight."""
    parts = (
        Part("flight", "The flight", "Flight", (_facts_table(day), *items("Notes of the crew:", day.notes))),
        Part("time", "The flight over time", "Over time", (*day.pictures[:1],)),
        Part("points", "Steady conditions", "Points", _points_blocks(day)),
        Part("edits", "Conditions by hand", "By hand", edits_blocks(day)),
        Part("legs", "True airspeed and wind", "Legs", _legs_blocks(day)),
        Part("turns", "Turns and changes of speed", "Turns", _turns_blocks(day)),
        Part("calibration", "Airspeed calibration", "Calibration", _calibration_blocks(day)),
        *(Part(anchor, title, short, blocks(day)) for anchor, title, short, blocks in _STANDARD),
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
        *edits_blocks(day),
        *_legs_blocks(day),
        *_turns_blocks(day),
        *_calibration_blocks(day),
        *(block for *_, blocks in _STANDARD for block in blocks(day)),
        *items("What was assumed, and what could not be done:", day.data["warnings"]),
    )
    return Part(f"flight-{day.key}", f"The flight of {day.name}", f"Flight {day.name}", blocks)


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}{'' if len(things) == 1 else 's'}"


def _facts_table(day: FlownDay) -> Table:
    rows = tuple(Row(name, (Cell(text),)) for name, text in day.facts)
    heads = (Column("As written and read"),)
    return Table("What was flown, and in what", "Flight", heads, (Group("", rows),), figures=False)


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
    table = Table(caption, "Condition", heads, (Group("", rows),), figures=False, numbers=True, folded=True)
    said = tuple(f"{letter}: {flag}" for flag, letter in letters.items())
    return (table, *items("What is not right with a condition:", said))


def _letter(number: int) -> str:
    letters = "abcdefghijklmnopqrstuvwxyz"
    return letters[number % 26] * (number // 26 + 1)


def _point_cell(point: Mapping[str, Any], key: str) -> Cell:
    whole = cell(point, key)
    value, _, half = whole.text.partition(" ± ")
    beyond = "extrapolated" if key == "cas_kt" and point["extrapolated"] else ""
    below = (f"±\u00a0{half}" if half else "", beyond)
    return Cell(value, note=" ".join(part for part in below if part))


def _point_note(point: Mapping[str, Any], letters: Mapping[str, str]) -> str:
    said = [span(point)]
    first, last = point["lines"]
    if last:
        said.append(f"lines\u00a0{first}\u2060–\u2060{last}")
    if point["origin"] != "found":
        said.append(point["origin"])
    if point["flags"]:
        said.append("see " + ", ".join(sorted(letters[flag] for flag in point["flags"])))
    return "; ".join(said)


def _legs_blocks(day: FlownDay) -> tuple[Block, ...]:
    groups = day.data["legs"]
    if not groups:
        return (
            Text("No level legs on three courses well apart: no true airspeed and wind from the ground."),
        )
    rows = tuple(Row(f"Points {members_words(g['members'])}", _leg_cells(g), span(g)) for g in groups)
    heads = ("Pressure altitude, ft", "Indicated, kt", "True, kt", "Wind from", "Wind, kt", "Residuals, kt")
    caption = "Each group of legs, solved for one true airspeed and one wind; 95 % intervals"
    columns = tuple(map(Column, heads))
    table = Table(caption, "Legs", columns, (Group("", rows),), figures=False, numbers=True)
    return (*pictured(day, "velocity_circles"), table, *pictured(day, "residuals"))


def _turns_blocks(day: FlownDay) -> tuple[Block, ...]:
    return (*turns_blocks(day), *manoeuvres_blocks(day))


def _leg_cells(group: Mapping[str, Any]) -> tuple[Cell, ...]:
    altitude = group["pressure_altitude_ft"]
    flown = (NOTHING if altitude is None else Cell(format_number(altitude, 0)), cell(group, "ias_kt"))
    if group["refused"]:
        return (*flown, Cell("refused", note=group["refused"]), NOTHING, NOTHING, NOTHING)
    way = f"{group['wind_from_deg']:03.0f}° ± {max(group['wind_from_deg_u95'], 1):.0f}°"
    left_over = ", ".join(signed(format_number(r, 1)) for r in group["residuals_kt"])
    widened = f"widened {group['widened']:.1f} times by its residuals" if group["widened"] > 1 else ""
    return (*flown, cell(group, "tas_kt", widened), Cell(way), cell(group, "wind_kt"), Cell(left_over))


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
                cell(o, "cas_minus_ias_kt"),
                Cell(
                    f"turn {o['turn']}"
                    if "turn" in o
                    else f"points {members_words(day.data['legs'][o['legs']]['members'])}"
                ),
            ),
        )
        for o in calibration["observations"]
    )
    curve = tuple(
        Row(
            f"{c['ias_kt']} kt",
            (cell(c, "cas_minus_ias_kt"), Cell("extrapolated" if c["extrapolated"] else "")),
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
        Group("Measured by ground velocities", seen),
        Group("The curve", curve),
        Group("The handbook’s beside it", book),
    )
    heads = (Column("Calibrated less indicated, kt"), Column("Where from"))
    caption = "The airspeed system’s correction, with 95 % intervals"
    kept = tuple(group for group in groups if group.rows)
    table = Table(caption, "Indicated", heads, kept, figures=False, numbers=True, folded=True)
    return (Text(_BASES[calibration["basis"]]), *pictured(day, "calibration"), table)


def _repairs_blocks(day: FlownDay) -> tuple[Block, ...]:
    together: dict[tuple[Any, ...], list[str]] = {}
    for repair in day.data["repairs"]:
        what = (
            repair["kind"],
            span(repair),
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
                Cell(when),
                Cell(str(first) if first == last else f"{first}–{last}", note=log if several else ""),
                Cell(", ".join(channels)),
                Cell(why),
            ),
        )
        for (kind, when, log, first, last, _, why), channels in list(together.items())[:MOST_REPAIRS]
    )
    heads = tuple(map(Column, ("Time, UTC", "Log’s lines", "Channel", "What was done, and why")))
    table = Table(
        "Each repair; the log itself is untouched",
        "Repair",
        heads,
        (Group("", rows),),
        figures=False,
        folded=True,
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
    return Table(
        "How the flight was reduced", "Method", heads, (Group("", rows),), figures=False, folded=True
    )
