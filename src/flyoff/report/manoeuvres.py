"""A flown day between its steady conditions: turns, accelerations, and the hand's word on conditions."""

from collections.abc import Mapping
from typing import Any

from flyoff.charts.chart import signed
from flyoff.core.figure import format_number
from flyoff.report.blocks import Block, Cell, Column, Group, Row, Table
from flyoff.report.flown import NOTHING, FlownDay, cell, span

_Data = Mapping[str, Any]


def turns_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return what each continuous turn says of true airspeed and wind."""
    turns = day.data["turns"]
    if not turns:
        return ()
    heads = (
        "Turned",
        "Pressure altitude, ft",
        "Indicated, kt",
        "True, kt",
        "Wind from",
        "Wind, kt",
        "Scatter, kt",
    )
    rows = tuple(Row(span(t), _turn_cells(t), f"lines {t['lines'][0]}–{t['lines'][1]}") for t in turns)
    caption = "Each turn, solved for one true airspeed and one wind; 95 % intervals"
    return (Table(caption, "Turn, UTC", tuple(map(Column, heads)), (Group("", rows),), False, True),)


def _turn_cells(turn: _Data) -> tuple[Cell, ...]:
    altitude, scatter = turn["pressure_altitude_ft"], turn["residual_scatter_kt"]
    flown = (
        Cell(f"{signed(format_number(turn['turned_deg'], 0))}°"),
        NOTHING if altitude is None else Cell(format_number(altitude, 0)),
        cell(turn, "ias_kt"),
    )
    if turn["refused"]:
        return (*flown, Cell("refused", note=turn["refused"]), NOTHING, NOTHING, NOTHING)
    way = f"{turn['wind_from_deg']:03.0f}° ± {max(turn['wind_from_deg_u95'], 1):.0f}°"
    left_over = NOTHING if scatter is None else Cell(format_number(scatter, 1))
    return (*flown, cell(turn, "tas_kt"), Cell(way), cell(turn, "wind_kt"), left_over)


def manoeuvres_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return the accelerations and decelerations; turns have their own table."""
    found = [m for m in day.data["manoeuvres"] if m["kind"] != "turn"]
    if not found:
        return ()
    rows = tuple(
        Row(
            span(m),
            (
                Cell(m["kind"]),
                Cell(signed(format_number(m["speed_change_kt"], 0))),
                Cell(signed(format_number(m["acceleration_kt_per_min"], 0))),
            ),
        )
        for m in found
    )
    heads = ("Kind", "Speed gained, kt", "In a minute, kt")
    caption = "Accelerations and decelerations, by airspeed; by ground speed where no airspeed was recorded"
    return (Table(caption, "UTC", tuple(map(Column, heads)), (Group("", rows),), False, True),)


def edits_blocks(day: FlownDay) -> tuple[Block, ...]:
    """Return what the flight file accepts or rejects by hand, and what had been found there."""
    edits = day.data["edits"]
    if not edits:
        return ()
    rows = tuple(
        Row(
            f"{e['start']} to {e['end']}",
            (
                Cell(f"{e['decision']}ed"),
                Cell(", ".join(f"{c['kind']} {span(c)}" for c in e["found_there"]) or "nothing"),
                Cell(e["why"] or "—"),
            ),
        )
        for e in edits
    )
    heads = ("By hand", "Found there", "Why")
    caption = "What the flight file says of conditions, and what had been found there"
    return (Table(caption, "Condition", tuple(map(Column, heads)), (Group("", rows),), figures=False),)
