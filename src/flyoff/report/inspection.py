"""Runways, climb, cabin and what pilots say, told."""

from collections.abc import Iterator, Mapping, Sequence

from flyoff.comparison.handling import MULTIPLES
from flyoff.comparison.inspection import Inspection
from flyoff.comparison.results import Comparison
from flyoff.core.caution import CAUTION
from flyoff.core.draws import half_width_95
from flyoff.core.figure import Figure, format_number, slug, supported_decimals
from flyoff.report.blocks import Block, Cell, Column, Group, Items, Part, Picture, Row, Table, Text
from flyoff.report.comparing import NOTHING, cell, columns

_DISTANCES = (
    ("takeoff_roll", "Takeoff ground roll"),
    ("takeoff_distance", "Takeoff over 50 ft"),
    ("landing_roll", "Landing ground roll"),
    ("landing_distance", "Landing over 50 ft"),
)
_ON_RUNWAY = (
    ("takeoff_roll", "Takeoff ground roll"),
    ("takeoff_distance", "Takeoff distance needed"),
    ("takeoff_margin", "Takeoff length to spare"),
    ("landing_roll", "Landing ground roll"),
    ("landing_distance", "Landing distance needed"),
    ("landing_margin", "Landing length to spare"),
    ("climb_rate", "Rate of climb"),
    ("climb_gradient", "Gradient of climb"),
)
_CLIMB = (
    ("climb_rate", "Rate of climb, sea level"),
    ("climb_gradient", "Gradient of climb, sea level"),
    ("service_ceiling", "Service ceiling"),
    ("glide_range", "Glide range from the terms’ altitude"),
)
_MEASURES = (
    ("cabin_width", "Width"),
    ("cabin_height", "Height"),
    ("cabin_length", "Length"),
    ("baggage_volume", "Baggage room"),
    ("cabin_noise", "Noise, by the dossier"),
)


def runway_part(comparison: Comparison) -> Part:
    """Return the distances at sea level and on each runway, what cannot be used, climb and glide."""
    if not comparison.inspections:
        return Part("runways", "", "", ())
    names = [use.runway for use in comparison.inspections[0].uses]
    groups = [
        Group("Sea level, level dry paved, no wind, nothing added", _rows(comparison, _DISTANCES)),
        *(Group(name, (*_rows(comparison, _ON_RUNWAY, name), _verdicts(comparison, name))) for name in names),
        Group("Climb and glide", _rows(comparison, _CLIMB)),
    ]
    words = Text(
        "Each with the terms’ people and bags and all the fuel that fits beside them; landing no heavier than"
        " the landing limit. Where a handbook prints nothing for a weight, a surface or a slope, published"
        " factors stand in, each doubted by half of what it adds: one error of a factor moves all airplanes"
        " together. The distance needed is over 50 ft, with what the study adds to it."
    )
    table = Table("Takeoff, landing and climb", "Quantity", columns(comparison.entries), tuple(groups))
    return Part("runways", "Runways, climb and glide", "Runways", (Text(CAUTION, "caution"), words, table))


def _rows(comparison: Comparison, rows: Sequence[tuple[str, str]], runway: str = "") -> tuple[Row, ...]:
    prefix = f"runway.{slug(runway)}." if runway else ""
    return tuple(
        Row(
            label,
            tuple(
                _metric(comparison.figures.get(f"{entry.key}.{prefix}{name}")) for entry in comparison.entries
            ),
        )
        for name, label in rows
    )


def _metric(figure: Figure | None) -> Cell:
    """Return a figure's cell, a distance in feet in metres beneath it."""
    if figure is None or figure.si is None or figure.unit_label != "ft":
        return cell(figure)
    doubt = 0.0 if figure.draws is None else half_width_95(figure.draws, figure.si)
    decimals = min(0, supported_decimals(figure.si, doubt))
    return cell(figure, f"{format_number(figure.si, decimals)} m")


def _verdicts(comparison: Comparison, runway: str) -> Row:
    said = {
        inspection.aircraft: use.words
        for inspection in comparison.inspections
        for use in inspection.uses
        if use.runway == runway
    }
    return Row("Is it long enough?", tuple(Cell(said.get(entry.key, "—")) for entry in comparison.entries))


def cabin_part(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    """Return the cabins and doors drawn to one scale, their measures, and the sound levels heard."""
    if not comparison.inspections:
        return Part("cabin", "", "", ())
    picture = [drawn["cabin"]] if "cabin" in drawn else []
    measures = Table(
        "The cabins as measured",
        "Measure",
        columns(comparison.entries),
        (Group("", _rows(comparison, _MEASURES)),),
    )
    tables = (_doors(comparison), _noise(comparison))
    return Part(
        "cabin",
        "Cabins, doors and noise",
        "Cabin",
        (*picture, measures, *(t for t in tables if t is not None)),
    )


def _doors(comparison: Comparison) -> Table | None:
    groups = []
    for inspection, name in _named(comparison):
        rows = tuple(
            Row(
                door.name.capitalize(),
                tuple(
                    cell(comparison.figures.get(f"{inspection.aircraft}.door.{slug(door.name)}.{part}"))
                    for part in ("width", "height", "sill")
                ),
            )
            for door in inspection.cabin.doors
        )
        if rows:
            groups.append(Group(name, rows))
    heads = (Column("Width"), Column("Height"), Column("Sill above the ground"))
    return Table("The doors", "Door", heads, tuple(groups)) if groups else None


def _noise(comparison: Comparison) -> Table | None:
    groups = []
    for inspection, name in _named(comparison):
        by_dossier = comparison.figures.get(f"{inspection.aircraft}.cabin_noise")
        rows = tuple(
            Row(
                heard.condition.capitalize(),
                (
                    cell(comparison.figures[heard.level]),
                    cell(by_dossier),
                    Cell(figure=comparison.figures[heard.difference], signed=True),
                ),
                heard.place,
            )
            for heard in inspection.noise
        )
        if rows:
            groups.append(Group(name, rows))
    heads = (Column("As flown"), Column("By the dossier"), Column("Flown less dossier"))
    return (
        Table("Noise in the cabin at the flown conditions", "Condition", heads, tuple(groups))
        if groups
        else None
    )


def handling_part(comparison: Comparison) -> Part:
    """Return ratings of tasks in the words of the scale, remarks, and speeds as multiples of stall."""
    blocks: list[Block] = []
    ratings = tuple(_ratings(comparison))
    if ratings:
        blocks += [
            Text(
                "One pilot’s rating of one task, from 1, excellent, to 10, control lost (NASA TN D-5153). It"
                " tells of that task alone: no airplane is ranked by ratings, and none is better for not"
                " having been rated."
            ),
            Table(
                "Tasks rated",
                "Task",
                (
                    Column("Rating"),
                    Column("In the scale’s words"),
                    Column("Who, and in what"),
                    Column("Remark"),
                ),
                ratings,
            ),
        ]
    for inspection, name in _named(comparison):
        if inspection.remarks:
            said = (
                f"{remark.about.capitalize()}: {remark.text}" + (f" ({remark.who})" if remark.who else "")
                for remark in inspection.remarks
            )
            blocks += [Text(f"{name}, in plain words:"), Items(tuple(said))]
    rows = tuple(
        Row(label, tuple(cell(comparison.figures.get(f"{e.key}.{key}")) for e in comparison.entries))
        for key, label, _, _ in MULTIPLES
    )
    if any(c.figure is not None and c.figure.si is not None for row in rows for c in row.cells):
        caption = "Speeds as multiples of the stall speed"
        blocks += [
            Text(CAUTION, "caution"),
            Table(caption, "Speed", columns(comparison.entries), (Group("", rows),)),
        ]
    return Part("handling", "What pilots say", "Handling", tuple(blocks))


def _ratings(comparison: Comparison) -> Iterator[Group]:
    for inspection, name in _named(comparison):
        rows = tuple(
            Row(
                rating.task,
                (
                    cell(comparison.figures[f"{inspection.aircraft}.{rating.key}"], rating.improvement),
                    Cell(rating.meaning, note=rating.performance),
                    Cell(rating.pilot, note=rating.flown_in),
                    Cell(rating.text) if rating.text else NOTHING,
                ),
            )
            for rating in inspection.ratings
        )
        if rows:
            yield Group(name, rows)


def _named(comparison: Comparison) -> Iterator[tuple[Inspection, str]]:
    names = {entry.key: entry.name for entry in comparison.entries}
    for inspection in comparison.inspections:
        yield inspection, names[inspection.aircraft]
