"""The terms of a comparison as a table: each with its value as written, its place and its source."""

from collections.abc import Iterator, Mapping

from flyoff.comparison.evidence import READINGS
from flyoff.comparison.ownership import WORDS as COST_WORDS
from flyoff.comparison.oxygen import LIMITS
from flyoff.comparison.reserves import find_rule
from flyoff.comparison.results import Comparison
from flyoff.comparison.terms import FuelTerms, MoneyTerms, Terms
from flyoff.core.quantity import Quantity
from flyoff.core.sources import Source
from flyoff.report.blocks import Cell, Column, Group, Row, Table

_COLUMNS = (Column("As written"), Column("Source"))


def terms_table(comparison: Comparison, sources: Mapping[str, Source]) -> Table:
    """Return every term of a comparison."""
    terms = comparison.terms
    groups = (
        Group("Evidence", _evidence(terms)),
        Group("Cruise", _cruise(terms, sources)),
        Group("Aboard", _aboard(terms, sources)),
        Group("Fuel", tuple(row for fuel in terms.fuels for row in _fuel(fuel, sources))),
        Group("Equipment", _equipment(terms)),
        Group("Money", _money(comparison.money, sources)),
        Group("Owning and flying", _owning(comparison, sources)),
    )
    caption = "The terms that govern every airplane alike"
    kept = tuple(group for group in groups if group.rows)
    return Table(caption, "Term", _COLUMNS, kept, figures=False)


def _row(name: str, quantity: Quantity, sources: Mapping[str, Source], note: str = "") -> Row:
    where = str(quantity.place) if quantity.place.file else ""
    source = source_words(quantity.source, sources)
    if quantity.page:
        source = f"{source}, {quantity.page}"
    return Row(name, (Cell(quantity.text, note=note), Cell(source, note=where)))


def source_words(named: str | None, sources: Mapping[str, Source]) -> str:
    """Return a source in words, its page kept; as it was named where the study does not describe it."""
    if not named:
        return "—"
    key, comma, page = split_page(named, sources)
    return f"{sources[key].title}{comma}{page}" if key in sources else named


def split_page(named: str, sources: Mapping[str, Source]) -> tuple[str, str, str]:
    """Return the key of a source, and its page where an input named one after a comma."""
    key, comma, page = named.partition(", ")
    return (key, comma, page) if named not in sources and key in sources else (named, "", "")


def _evidence(terms: Terms) -> tuple[Row, ...]:
    return (Row("What flight figures rest on", (Cell(READINGS[terms.evidence].name), Cell("—"))),)


def _cruise(terms: Terms, sources: Mapping[str, Source]) -> tuple[Row, ...]:
    return (
        _row("Cruise power", terms.power, sources, "of rated power"),
        _row("Pressure altitude", terms.altitude, sources),
        _row("Temperature", terms.isa_deviation, sources, "from standard"),
        _row("Head wind", terms.wind, sources, "negative is a tail wind"),
        _row("Reserve", terms.reserve, sources, _rule(terms.reserve_rule)),
        *_flying(terms, sources),
    )


def _rule(text: str) -> str:
    """Return a reserve's rule with its citation where it is a published one."""
    rule = find_rule(text)
    return f"{rule.name}: {rule.citation}" if rule else text or "at the cruise fuel flow"


def _flying(terms: Terms, sources: Mapping[str, Source]) -> Iterator[Row]:
    for label, quantity, note in (
        ("Alternate", terms.alternate, "beyond the end of every flight"),
        ("Time of taxi", terms.taxi_time, "each flight, both ends together"),
        ("Taxi fuel", terms.taxi_fuel, "alike for all, in place of what is printed"),
        ("On the ground", terms.ground_time, "at each fuel stop"),
    ):
        if quantity is not None:
            yield _row(label, quantity, sources, note)
    if terms.descent is not None:
        yield _row("Rate of descent", terms.descent.rate, sources, "declared, common practice")
        yield _row("Airspeed in descent", terms.descent.airspeed, sources, "of that in cruise")
        yield _row("Fuel flow in descent", terms.descent.fuel_flow, sources, "of that in cruise")
    if terms.oxygen_rule is not None:
        yield Row("Without oxygen", (Cell(terms.oxygen_rule), Cell(LIMITS[terms.oxygen_rule].citation)))
    if terms.wind_spread is not None:
        yield Row("How the head wind varies", (Cell(terms.wind_spread.words), Cell("—")))
    for name, profile in terms.aloft.items():
        for level in profile.levels:
            wind = f"{level.direction} {level.speed}"
            said = f"{wind}, {level.temperature}" if level.temperature else wind
            row = _row(f"Aloft, {name}: {level.altitude}", level.altitude, sources)
            yield Row(row.head, (Cell(said, note=profile.file or ""), row.cells[1]))


def _aboard(terms: Terms, sources: Mapping[str, Source]) -> tuple[Row, ...]:
    people = tuple(_row(person.name, person.weight, sources) for person in terms.occupants)
    return (*people, _row("Bags", terms.bags, sources, "in all"))


def _fuel(fuel: FuelTerms, sources: Mapping[str, Source]) -> tuple[Row, ...]:
    rows = (_row(f"{fuel.kind}, density", fuel.density, sources),)
    if fuel.price is None:
        return rows
    note = " ".join(part for part in (_doubt(fuel.price), f"for one {fuel.price_unit}") if part)
    return (*rows, _row(f"{fuel.kind}, price", fuel.price, sources, note))


def _equipment(terms: Terms) -> tuple[Row, ...]:
    return tuple(Row(name.capitalize(), (Cell("demanded"), Cell("—"))) for name in terms.equipment)


def _money(money: MoneyTerms, sources: Mapping[str, Source]) -> tuple[Row, ...]:
    rows = [Row("Currency and year", (Cell(f"{money.currency} of {money.year}"), Cell("—")))]
    if money.yearly_increase is not None:
        rows.append(_row("Yearly increase of prices", money.yearly_increase, sources))
    rows += [_row(f"One {e.currency}", e.worth, sources) for e in money.exchange]
    return tuple(rows)


def _owning(comparison: Comparison, sources: Mapping[str, Source]) -> tuple[Row, ...]:
    """Return every assumption of cost that the study declares."""
    costs = comparison.ownership
    if costs is None:
        return ()
    rows = [
        _row("Hours flown a year", costs.hours, sources),
        Row("Years kept", (Cell(str(costs.years)), Cell("—"))),
    ]
    for name, label in COST_WORDS.items():
        quantity = getattr(costs, name)
        if quantity is not None:
            rows.append(_row(f"{label[:1].upper()}{label[1:]}", quantity, sources, _doubt(quantity)))
    return tuple(rows)


def _doubt(quantity: Quantity) -> str:
    """Return the declared doubt of a quantity in words; empty where there is none."""
    if quantity.u95_si is None:
        return ""
    half = quantity.u95_si / quantity.unit.factor
    return f"± {half:,.6g} {quantity.unit.label}"
