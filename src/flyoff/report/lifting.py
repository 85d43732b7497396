"""What each airplane lifts, told: the seat table, and the fuel that fits."""

from flyoff.comparison.results import Comparison
from flyoff.core.figure import Figure
from flyoff.report.blocks import Cell, Column, Group, Row, Table
from flyoff.report.comparing import NOTHING, cell, columns


def fits_table(comparison: Comparison) -> Table:
    """Return the most fuel that fits with the terms' people, and the weight to spare at landing."""
    rows = tuple(
        Row(label, tuple(cell(comparison.figures.get(f"{e.key}.{quantity}")) for e in comparison.entries))
        for quantity, label in (
            ("fuel_within_limits", "Fuel that fits with the occupants"),
            ("landing_weight_margin", "Landing weight to spare"),
        )
    )
    caption = "What fits with the terms’ people and bags, balance kept from takeoff to empty tanks"
    return Table(caption, "Quantity", columns(comparison.entries), (Group("", rows),))


def seat_table(comparison: Comparison) -> Table:
    """Return how far each airplane goes with so many people and bags, and on how much fuel."""
    cells = {(c.aircraft, c.occupants, c.bags): c for c in comparison.seats}
    most = max(c.occupants for c in comparison.seats)

    def told(aircraft: str, occupants: int, bags: str) -> Cell:
        found = cells.get((aircraft, occupants, bags))
        if found is None:
            return NOTHING
        fuel = comparison.figures[found.fuel]
        note = "" if fuel.si is None else f"on {fuel.number} {fuel.unit_label}"
        return cell(comparison.figures[found.range], note)

    groups = tuple(
        Group(
            f"{bags} of bags",
            tuple(
                Row(
                    f"{occupants} aboard",
                    tuple(told(entry.key, occupants, bags) for entry in comparison.entries),
                )
                for occupants in range(1, most + 1)
            ),
        )
        for bags in dict.fromkeys(c.bags for c in comparison.seats)
    )
    caption = "Range by people aboard and bags, on the most fuel that fits"
    dash = "there are not so many seats"
    return Table(caption, "Aboard", columns(comparison.entries), groups, dash=dash)


def options_table(comparison: Comparison) -> Table | None:
    """Return what each option costs in people, fuel and range; None where there are none."""
    groups = []
    for entry in comparison.entries:
        rows = tuple(
            Row(
                option.name,
                (
                    cell(comparison.figures.get(option.people)),
                    *(_signed(comparison.figures.get(key)) for key in (option.fuel, option.range)),
                ),
            )
            for option in comparison.options
            if option.aircraft == entry.key and option.range
        )
        if rows:
            groups.append(Group(entry.name, rows))
    if not groups:
        return None
    heads = (Column("People given up"), Column("Fuel that fits"), Column("Range"))
    caption = "What each option takes or gives, the terms’ people and bags aboard: with it less without it"
    return Table(caption, "Option", heads, tuple(groups))


def _signed(figure: Figure | None) -> Cell:
    return NOTHING if figure is None else Cell(figure=figure, signed=True)
