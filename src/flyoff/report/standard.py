"""A flown day at standard conditions: speed and power, climbs, glides, stalls, engine, each correction."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from flyoff.charts.chart import members_words, signed
from flyoff.core.figure import format_number
from flyoff.report.blocks import Block, Cell, Column, Group, Row, Table, Text
from flyoff.report.flown import NOTHING, FlownDay, cell, pictured

_Data = Mapping[str, Any]


def speed_power_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return level speed and power, freed of weight and density and at the handbook's conditions."""
    found = day.data["speed_power"]
    if found is None:
        return ()
    rows = tuple(
        Row(
            f"Point {p['point']}",
            (
                cell(p, "viw_kt"),
                cell(p, "piw_hp"),
                cell(p, "tas_kt"),
                cell(p, "power_hp"),
                Cell(f"{p['pressure_altitude_ft']:,}"),
                Cell(p["power_by"]),
            ),
            "; ".join(p["flags"]),
        )
        for p in found["points"]
    )
    curve = tuple(Row(f"{c['viw_kt']} kt", (cell(c, "piw_hp"),)) for c in found["curve"])
    heads = ("Viw, kt", "Piw, hp", "True, kt", "Power, hp", "At, ft", "Power by")
    weight = format_number(found["standard_weight_lb"], 0)
    caption = (
        f"Level points at {weight} lb: freed of weight and density (Viw, Piw), and true airspeed and power "
        "in standard air at the altitude beside; 95 % intervals"
    )
    named = [(f"Point {p['point']}", p) for p in found["points"]]
    return (
        *pictured(day, "speed_power"),
        _table(caption, "Condition", heads, rows),
        *_corrections(named),
        *([_table("The curve through them", "Viw", ("Piw, hp",), curve)] if curve else ()),
        *_missing("No curve: ", found["missing"]),
    )


def climbs_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return the climbs by speed, the best, and each climb's corrections."""
    found = day.data["climbs"]
    if found is None:
        return ()
    weight = found["standard_weight_lb"]
    at = "as flown" if weight is None else f"at {format_number(weight, 0)} lb"
    speeds = tuple(
        Row(
            f"Points {members_words(s['points'])}" if s["paired"] else f"Point {s['points'][0]}",
            (
                Cell(format_number(s["cas_kt"], 1)),
                Cell(f"{s['pressure_altitude_ft']:,}"),
                cell(s, "rate_fpm", "" if s["paired"] else "one heading alone"),
            ),
        )
        for s in found["speeds"]
    )
    best: tuple[Row, ...] = ()
    if found["best_rate_fpm"] is not None:
        best = (Row("The best", (cell(found, "best_rate_speed_kt"), NOTHING, cell(found, "best_rate_fpm"))),)
    heads = ("Calibrated, kt", "Pressure altitude, ft", "Climb, ft/min")
    caption = f"Rate of climb {at}, reciprocal headings together; 95 % intervals"
    each = tuple(
        Row(
            f"Point {c['point']}",
            (cell(c, "measured_fpm"), cell(c, "standard_fpm")),
            c["missing"] or "",
        )
        for c in found["points"]
    )
    steps = ("Measured, ft/min", "Standard, ft/min")
    named = [(f"Point {c['point']}", c) for c in found["points"]]
    return (
        *pictured(day, "climbs"),
        _table(caption, "Climbs", heads, speeds, best),
        *_missing("No best rate of climb: ", found["missing"]),
        *_missing("The interval of the best speed is ", found["best_rate_note"]),
        _table("Each climb as measured and at standard conditions; 95 % intervals", "Climb", steps, each),
        *_corrections(named),
    )


def glides_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return the glides and their polar."""
    found = day.data["glides"]
    if found is None:
        return ()
    rows = tuple(
        Row(
            f"Point {g['point']}",
            (
                cell(g, "cl", most=3),
                cell(g, "cd", most=4),
                cell(g, "glide_ratio"),
                Cell(g["propeller"]),
            ),
        )
        for g in found["points"]
    )
    heads = ("CL", "CD", "Glide ratio", "Propeller")
    caption = "Glides: lift and drag with the propeller’s; 95 % intervals"
    polar = []
    if found["cd0"] is not None:
        names = (("cd0", "CD0", 4), ("k", "k", 4), ("span_efficiency", "span efficiency", 2))
        told = [f"{name} {cell(found, key, most=most).text}" for key, name, most in names]
        polar = [Text(f"CD = CD0 + k CL²: {', '.join(told)}.")]
    return (
        *pictured(day, "polar"),
        _table(caption, "Glide", heads, rows),
        *_corrections([(f"Point {g['point']}", g) for g in found["points"]]),
        *polar,
        *_missing("No polar: ", found["missing"]),
    )


def stalls_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return the stalls noted."""
    stalls = day.data["stalls"]
    if not stalls:
        return ()
    rows = tuple(
        Row(
            s["start"],
            (
                Cell("—" if s["flaps_deg"] is None else f"{s['flaps_deg']:.0f}°"),
                Cell("—" if s["entry_rate_kt_per_s"] is None else format_number(s["entry_rate_kt_per_s"], 1)),
                cell(s, "ias_kt"),
                cell(s, "cas_kt"),
                cell(s, "standard_cas_kt"),
                cell(s, "cl_max"),
            ),
            "; ".join(s["flags"]),
        )
        for s in stalls
    )
    heads = ("Flaps", "Entry, kt/s", "Indicated, kt", "Calibrated, kt", "Standard, kt", "CL, greatest")
    caption = "Stalls as noted, and at standard weight and balance; 95 % intervals"
    return (_table(caption, "Stall", heads, rows), *_corrections([(s["start"], s) for s in stalls]))


def engine_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return fuel flow and power, each way beside the others."""
    points = [p for p in day.data["engine"] if p["powers"]]
    if not points:
        return ()
    rows = tuple(
        Row(
            f"Point {p['point']}, {p['kind']}",
            (
                Cell(p["mixture"] or "—"),
                cell(p, "fuel_flow_gph"),
                cell(p, "specific_consumption_lb_hp_h", most=3),
                Cell("; ".join(_power(way) for way in p["powers"]), note=p["power_conflict"] or ""),
            ),
        )
        for p in points
    )
    heads = ("Mixture", "Fuel, US gal/h", "Consumption, lb/hp/h", "Power, hp")
    caption = "Fuel flow, and power each way that the data allow; 95 % intervals"
    return (_table(caption, "Condition", heads, rows),)


def _power(way: _Data) -> str:
    return f"by {way['by']} {cell(way, 'power_hp').text}"


def _table(caption: str, corner: str, heads: Sequence[str], *groups: tuple[Row, ...]) -> Table:
    kept = tuple(Group("", rows) for rows in groups if rows)
    return Table(caption, corner, tuple(map(Column, heads)), kept, figures=False, numbers=True, folded=True)


def _missing(lead: str, why: str | None) -> Iterator[Block]:
    if why:
        yield Text(f"{lead}{why}.")


def _corrections(results: Sequence[tuple[str, _Data]]) -> Iterator[Block]:
    """Yield a table of how much each step changed each result, in the order they were made."""
    steps = dict.fromkeys((c["name"], c["unit"]) for _, data in results for c in data["corrections"])
    if not steps:
        return
    rows = tuple(Row(name, tuple(_change(data, step) for step in steps)) for name, data in results)
    sources = dict.fromkeys(c["source"] for _, data in results for c in data["corrections"])
    caption = f"What each correction changed ({'; '.join(sources)})"
    heads = [f"{name[:1].upper()}{name[1:]}, {unit}" for name, unit in steps]
    yield _table(caption, "Result", heads, rows)


def _change(data: _Data, step: tuple[str, str]) -> Cell:
    for c in data["corrections"]:
        if (c["name"], c["unit"]) == step:
            return Cell(signed(format_number(c["change"], 0 if c["unit"] == "ft/min" else 1)))
    return NOTHING
