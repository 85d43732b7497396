"""What each airplane does in the air, told: speeds over altitude, ranges by rule, trips."""

from collections.abc import Mapping

from flyoff.comparison.results import Comparison, PayloadRange, TripLeg
from flyoff.core.caution import CAUTION
from flyoff.core.figure import format_number
from flyoff.core.units import lb, nmi
from flyoff.report.blocks import Block, Cell, Column, Group, Part, Picture, Row, Table, Text
from flyoff.report.comparing import NOTHING, cell, columns, trips_table

_CORNERS = {
    "most payload": "the most that the zero fuel or takeoff limit allows",
    "climb, descent and reserve only": "fuel for taxi, climb, descent and landing, none for cruise",
    "takeoff weight reached": "from here on, fuel takes the place of payload",
    "tanks full": "from here on, less payload buys no more fuel",
    "no payload": "full tanks and nobody paid for; the line ends",
}


def speed_part(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    """Return speed over altitude, where airplanes overtake one another, and other powers."""
    blocks: list[Block] = [drawn["speed_altitude"]] if "speed_altitude" in drawn else []
    tables = (_crossings(comparison), *_powers(comparison))
    blocks += [table for table in tables if table]
    if tables and blocks:
        blocks.insert(0, Text(CAUTION, "caution"))
    return Part("speed", "Speed over altitude", "Speed", tuple(blocks))


def _crossings(comparison: Comparison) -> Table | None:
    names = {entry.key: entry.name for entry in comparison.entries}
    rows = tuple(
        Row(
            f"{names[one.first]} and {names[one.rival]}",
            (cell(comparison.figures[one.altitude]), Cell(_sentence(one.words))),
        )
        for one in comparison.crossings
    )
    heads = (Column("Altitude of equal speed"), Column("In words"))
    return Table("Where one overtakes the other", "Airplanes", heads, (Group("", rows),)) if rows else None


def _powers(comparison: Comparison) -> list[Table]:
    """Return speed and distance per fuel at each further power, and with each mixture, over altitude."""
    tables = []
    cells = {(c.aircraft, c.altitude, c.setting): c for c in comparison.powers}
    for setting in dict.fromkeys(c.setting for c in comparison.powers):
        groups = []
        for title, part in (("True airspeed", "speed"), ("Distance per fuel", "specific_range")):
            rows = []
            for altitude in dict.fromkeys(c.altitude for c in comparison.powers):
                found = [cells.get((e.key, altitude, setting)) for e in comparison.entries]
                keys = [getattr(one, part) if one else "" for one in found]
                rows.append(Row(altitude, tuple(cell(comparison.figures.get(key)) for key in keys)))
            groups.append(Group(title, tuple(rows)))
        caption = f"Speed and distance per fuel at {setting}"
        tables.append(Table(caption, "Pressure altitude", columns(comparison.entries), tuple(groups)))
    return tables


def range_part(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    """Return payload against range with its corners explained, the map, and ranges by reserve rule."""
    pictures = [drawn[name] for name in ("payload_range", "range_map") if name in drawn]
    tables = [table for table in (_corners(comparison), _reserves(comparison)) if table]
    if not pictures and not tables:
        return Part("range", "", "", ())
    blocks: tuple[Block, ...] = (Text(CAUTION, "caution"), *pictures, *tables)
    return Part("range", "Payload against range", "Range", blocks)


def _corners(comparison: Comparison) -> Table | None:
    names = {entry.key: entry.name for entry in comparison.entries}
    groups = tuple(
        Group(names[curve.aircraft], tuple(_corner_rows(curve))) for curve in comparison.payload_ranges
    )
    heads = (Column("Payload"), Column("Range"), Column("What happens there"))
    caption = "The corners of payload against range"
    return Table(caption, "Corner", heads, groups, figures=False) if groups else None


def _corner_rows(curve: PayloadRange) -> list[Row]:
    rows = []
    for number, (name, payload, far) in enumerate(
        zip(curve.corners, curve.payload_kg, curve.range_m, strict=True)
    ):
        reach = f"{format_number(far / nmi, 0)} nmi" if far == far else "none"
        if number and number < len(curve.low_m) and curve.low_m[number] == curve.low_m[number]:
            ends = (format_number(x[number] / nmi, 0) for x in (curve.low_m, curve.high_m))
            reach += f", 95 %: {' to '.join(ends)} nmi"
        carried = f"{format_number(payload / lb, 0)} lb"
        rows.append(
            Row(_sentence(name), (Cell(carried), Cell(reach), Cell(_sentence(_CORNERS.get(name, "—")))))
        )
    return rows


def _reserves(comparison: Comparison) -> Table | None:
    by_rule: dict[str, dict[str, tuple[str, str]]] = {}
    notes = {}
    for row in comparison.reserves:
        by_rule.setdefault(row.rule, {})[row.aircraft] = (row.range, row.endurance)
        notes[row.rule] = f"{row.minutes} min; {row.citation}"
    groups = tuple(
        Group(
            title,
            tuple(
                Row(
                    rule,
                    tuple(
                        cell(comparison.figures.get(keys[e.key][part])) if e.key in keys else NOTHING
                        for e in comparison.entries
                    ),
                    notes[rule],
                )
                for rule, keys in by_rule.items()
            ),
        )
        for part, title in enumerate(("Range with the occupants", "Endurance with the occupants"))
    )
    caption = "Range and endurance by reserve rule"
    return Table(caption, "Rule", columns(comparison.entries), groups) if by_rule else None


def trips_part(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    """Return the trips, and how often each is flown nonstop in the spread of winds."""
    if not comparison.trip_legs:
        return Part("trips", "", "", ())
    picture = [drawn["trips"]] if "trips" in drawn else []
    often = _family(comparison)
    blocks: tuple[Block, ...] = (
        Text(CAUTION, "caution"),
        *picture,
        trips_table(comparison),
        *((often,) if often else ()),
    )
    return Part("trips", "The trips", "Trips", blocks)


def _family(comparison: Comparison) -> Table | None:
    groups = []
    for trip in dict.fromkeys(leg.trip for leg in comparison.trip_legs if leg.share):
        legs = {leg.aircraft: leg for leg in comparison.trip_legs if leg.trip == trip}
        rows = [
            _row(comparison, label, part, legs)
            for label, part in (("How often nonstop", "share"), ("Strongest head wind nonstop", "strongest"))
        ]
        groups.append(Group(trip, tuple(rows)))
    caption = "How often each trip is flown nonstop, as the wind along it varies"
    return Table(caption, "Trip", columns(comparison.entries), tuple(groups)) if groups else None


def _row(comparison: Comparison, label: str, part: str, legs: Mapping[str, TripLeg]) -> Row:
    keys = [getattr(legs[e.key], part) if e.key in legs else "" for e in comparison.entries]
    return Row(label, tuple(cell(comparison.figures.get(key)) for key in keys))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
