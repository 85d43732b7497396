"""Prices, what owning and flying costs, and carbon dioxide, told."""

from collections.abc import Mapping

from flyoff.comparison.ownership import ITEMS, ROWS
from flyoff.comparison.results import Comparison
from flyoff.core.figure import slug
from flyoff.report import comparing
from flyoff.report.blocks import Block, Group, Part, Picture, Row, Table, Text

_WORDS = (
    "Every assumption of cost stands in the terms, with its source and the doubt that the evaluator gives"
    " it. An assumption shared by all moves all together; where an airplane’s own file says otherwise, that"
    " holds."
)


def money_part(comparison: Comparison, drawn: Mapping[str, Picture]) -> Part:
    """Return prices, options, costs and carbon dioxide."""
    blocks: list[Block] = []
    prices = [comparison.figures.get(f"{e.key}.price_as_compared") for e in comparison.entries]
    if any(price is not None for price in prices):
        row = Row("Price as compared", tuple(comparing.cell(price) for price in prices))
        money = comparison.money
        caption = f"Prices in {money.currency} of {money.year}"
        blocks.append(Table(caption, "Price", comparing.columns(comparison.entries), (Group("", (row,)),)))
    options = comparing.options_table(comparison)
    if options is not None:
        blocks.append(options)
    if comparison.ownership is not None:
        blocks += [Text(_WORDS), _costs(comparison)]
        blocks += [drawn["cost_swings"]] if "cost_swings" in drawn else []
    gas = _carbon_dioxide(comparison)
    blocks += [gas] if gas.groups else []
    return Part("prices", "Prices and costs", "Money", tuple(blocks))


def _rows(comparison: Comparison, asked: Mapping[str, str]) -> tuple[Row, ...]:
    """Return rows of figures by quantity and label, those that no airplane has left out."""
    rows = []
    for quantity, label in asked.items():
        figures = [comparison.figures.get(f"{e.key}.{quantity}") for e in comparison.entries]
        if any(figure is not None for figure in figures):
            rows.append(Row(label, tuple(comparing.cell(figure) for figure in figures)))
    return tuple(rows)


def _costs(comparison: Comparison) -> Table:
    """Return each item of cost in a year, then the totals."""
    terms = comparison.ownership
    assert terms is not None
    groups = (
        Group(
            "In a year, by the hours",
            _rows(comparison, {f"cost.{i.name}": i.label for i in ITEMS if i.direct}),
        ),
        Group(
            "In a year, whatever is flown",
            _rows(comparison, {f"cost.{i.name}": i.label for i in ITEMS if not i.direct}),
        ),
        Group("In all", _rows(comparison, {row.quantity: row.label for row in ROWS})),
    )
    caption = f"What owning and flying costs at {terms.hours} a year, kept for {terms.years} years"
    return Table(caption, "Cost", comparing.columns(comparison.entries), groups)


def _carbon_dioxide(comparison: Comparison) -> Table:
    """Return carbon dioxide of cruise, and of each trip and seat."""
    asked = {"co2_per_hour": "An hour of cruise"}
    for trip in comparison.trips:
        key = f"trip.{slug(trip.name)}"
        asked |= {f"{key}.co2": trip.name, f"{key}.co2_per_seat": f"{trip.name}, a seat"}
    rows = _rows(comparison, asked)
    caption = (
        "Carbon dioxide of the fuel burnt, by published factors; what making the fuel gave off is not in it"
    )
    return Table(caption, "Burnt", comparing.columns(comparison.entries), (Group("", rows),) if rows else ())
