"""What owning and flying an airplane costs: by item, a year, an hour, a mile and a seat-mile."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from flyoff.comparison import annuity
from flyoff.comparison.case import COMMON_PRACTICE, Case, Method, counted
from flyoff.comparison.cost import price_sample, worth
from flyoff.comparison.cruise import cruise_sample
from flyoff.comparison.results import Row, Swing
from flyoff.core.draws import half_width_95
from flyoff.core.figure import Figure, Input, supported_decimals
from flyoff.core.quantity import Quantity
from flyoff.core.sources import Place
from flyoff.core.typing import Array, Floats
from flyoff.core.units import hour, litre, us_gal

ROWS = (
    Row("direct_cost_per_hour", "Direct cost per hour", "Money", "less"),
    Row("cost_per_year", "Cost per year", "Money", "less"),
    Row("cost_per_hour", "Cost per hour", "Money", "less"),
    Row("cost_per_mile", "Cost per mile", "Money", "less"),
    Row("cost_per_seat_mile", "Cost per seat-mile", "Money", "less"),
)
_FUEL_UNITS_M3 = {"L": litre, "US gal": us_gal}
_SUM = "items by the hour times the hours flown, items by the year, and the price's cost over the years kept"


@dataclass(frozen=True)
class Assumption:
    """One thing that cost rests on: a sample in SI, or why there is none."""

    label: str
    sample: Array | None
    inputs: tuple[Input, ...] = ()
    missing: str = ""


Values = Mapping[str, Floats]


@dataclass(frozen=True)
class Item:
    """One item of cost: what it needs, and what it comes to in a year."""

    name: str
    label: str
    words: str
    needs: tuple[str, ...]
    in_a_year: Callable[[Values], Floats]
    direct: bool = False
    """Whether it grows with the hours flown."""
    source: str = COMMON_PRACTICE


def _loan(of: Values) -> Floats:
    return of["price"] * of["finance_share"]


ITEMS = (
    Item(
        "fuel", "Fuel", "cruise fuel flow at the terms' power, times hours and price",
        ("fuel_flow", "fuel_price", "hours"),
        lambda of: of["fuel_flow"] * of["fuel_price"] * of["hours"], True,
    ),
    Item(
        "oil", "Oil", "oil for an hour times hours",
        ("oil_per_hour", "hours"), lambda of: of["oil_per_hour"] * of["hours"] / hour, True,
    ),
    Item(
        "maintenance_by_hour", "Maintenance by the hour", "maintenance for an hour times hours",
        ("maintenance_per_hour", "hours"), lambda of: of["maintenance_per_hour"] * of["hours"] / hour, True,
    ),
    Item(
        "engine_reserve", "Engine reserve", "engines times overhaul times hours over time between overhauls",
        ("overhaul", "engines", "time_between_overhauls", "hours"),
        lambda of: of["overhaul"] * of["engines"] * of["hours"] / of["time_between_overhauls"], True,
    ),
    Item(
        "propeller_reserve", "Propeller reserve", "engines times overhaul times hours over hours between",
        ("propeller_overhaul", "engines", "propeller_hours", "hours"),
        lambda of: of["propeller_overhaul"] * of["engines"] * of["hours"] / of["propeller_hours"], True,
    ),
    Item(
        "maintenance_by_year", "Maintenance by the year", "as declared",
        ("maintenance_per_year",), lambda of: of["maintenance_per_year"],
    ),
    Item(
        "insurance", "Insurance",
        "premium rate times the mean of the hull's values at each year's beginning, and the fixed premiums",
        ("price", "depreciation_rate", "years", "insurance_rate", "insurance_fixed"),
        lambda of: of["insurance_fixed"]
        + of["insurance_rate"] * annuity.mean_value(of["price"], of["depreciation_rate"], of["years"]),
    ),
    Item("hangar", "Hangar", "as declared", ("hangar_per_year",), lambda of: of["hangar_per_year"]),
    Item(
        "finance", "Interest",
        "interest of a loan for the share borrowed, in equal yearly payments, spread over the years kept",
        ("price", "finance_share", "finance_rate", "years"),
        lambda of: annuity.interest_per_year(_loan(of), of["finance_rate"], of["years"]),
        source=annuity.SOURCE,
    ),
    Item(
        "depreciation", "Depreciation",
        "price less what is left of it, the same share of its value lost each year, over the years kept",
        ("price", "depreciation_rate", "years"),
        lambda of: (of["price"] - annuity.value_left(of["price"], of["depreciation_rate"], of["years"]))
        / of["years"],
    ),
)  # fmt: skip
_DIRECT = tuple(item for item in ITEMS if item.direct)
WORDS = {
    "oil_per_hour": "oil, an hour",
    "maintenance_per_hour": "maintenance, an hour",
    "maintenance_per_year": "maintenance, a year",
    "overhaul": "engine overhaul",
    "propeller_overhaul": "propeller overhaul",
    "propeller_hours": "propeller's hours between overhauls",
    "insurance_rate": "hull premium, of its value",
    "insurance_fixed": "fixed premiums, a year",
    "hangar_per_year": "hangar, a year",
    "finance_rate": "interest rate",
    "finance_share": "share borrowed",
    "depreciation_rate": "value lost each year",
}


def assumptions(case: Case) -> dict[str, Assumption]:
    """Return all that an airplane's cost rests on; its own assumptions go before the study's."""
    terms, airplane = case.ownership, case.airplane
    assert terms is not None
    found = {name: _declared(case, name) for name in WORDS}
    years = Input("years kept", str(terms.years), Place(terms.hours.place.file, field="ownership.years"))
    found["hours"] = _written(case, "hours flown a year", terms.hours)
    found["years"] = Assumption("years kept", case.draws.exact(float(terms.years)), (years,))
    count = airplane.engine.count
    found["engines"] = Assumption(
        "engines", case.draws.exact(float(count)), (counted(case, "engines", count),)
    )
    found["time_between_overhauls"] = _written(
        case, "time between overhauls", airplane.engine.time_between_overhauls
    )
    found["price"] = Assumption("price as compared", *price_sample(case))
    found["fuel_price"] = _fuel_price(case)
    cruise = cruise_sample(case, case.terms.altitude.si, case.masses_kg(case.loading.mass_kg)[1])
    flow = None if cruise.fuel_flow_kg_s is None else cruise.fuel_flow_kg_s / case.fuel.density.si
    found["fuel_flow"] = Assumption("cruise fuel flow", flow, cruise.flow_inputs, cruise.missing)
    return found


def _declared(case: Case, name: str) -> Assumption:
    """Return one assumption: the aircraft file's own, or the study's for all."""
    costs = next((c for c in (case.airplane.ownership, case.ownership) if c and getattr(c, name)), None)
    if costs is None:
        return Assumption(WORDS[name], None, missing=f"no {name} is declared")
    quantity: Quantity = getattr(costs, name)
    if quantity.dimension == "money":
        return Assumption(WORDS[name], *worth(case, WORDS[name], quantity, costs.year or case.money.year))
    return _written(case, WORDS[name], quantity)


def _written(case: Case, label: str, quantity: Quantity | None) -> Assumption:
    if quantity is None:
        return Assumption(label, None, missing=f"no {label} is published")
    given = Input(label, str(quantity), quantity.place, quantity.source)
    return Assumption(label, case.declared(quantity), (given,))


def _fuel_price(case: Case) -> Assumption:
    """Return the price of the airplane's fuel, a sample for one cubic metre."""
    fuel = case.fuel
    label = f"price of {fuel.kind}"
    if fuel.price is None:
        return Assumption(label, None, missing=f"no price of {fuel.kind} is declared")
    sample, inputs, missing = worth(case, f"{label}, one {fuel.price_unit}", fuel.price, case.money.year)
    per_m3 = None if sample is None else sample / _FUEL_UNITS_M3[fuel.price_unit]
    return Assumption(label, per_m3, inputs, missing)


def ownership_figures(case: Case) -> tuple[list[Figure], list[Swing]]:
    """Return an airplane's cost by item and in all, and what moves the cost of an hour most.

    Nothing where the study declares no ownership.
    """
    if case.ownership is None:
        return [], []
    given = assumptions(case)
    figures = [_item_figure(case, given, item) for item in ITEMS]
    totals = total_figures(case, given)
    swung, swings = _swings(case, given)
    return [*figures, *totals, *swung], swings


def _needed(given: Mapping[str, Assumption], items: tuple[Item, ...]) -> dict[str, Assumption]:
    return {name: given[name] for item in items for name in item.needs}


def _lacking(needed: Mapping[str, Assumption]) -> str:
    """Return in words what is not known of some assumptions; empty where all is."""
    return "; ".join(dict.fromkeys(a.missing for a in needed.values() if a.sample is None))


def _in_a_year(given: Mapping[str, Assumption], items: tuple[Item, ...]) -> tuple[Array | None, str]:
    """Return what items come to in a year, a sample; or why that is not known."""
    needed = _needed(given, items)
    missing = _lacking(needed)
    if missing:
        return None, missing
    samples = {name: a.sample for name, a in needed.items() if a.sample is not None}
    return np.sum(
        [item.in_a_year(samples) * np.ones_like(samples[item.needs[0]]) for item in items], axis=0
    ), ""


def _inputs(needed: Mapping[str, Assumption]) -> tuple[Input, ...]:
    return tuple(dict.fromkeys(given for a in needed.values() for given in a.inputs))


def _item_figure(case: Case, given: Mapping[str, Assumption], item: Item) -> Figure:
    sample, missing = _in_a_year(given, (item,))
    return case.figure(
        f"cost.{item.name}", f"{item.label}, a year", (case.money.currency, "money"), sample,
        Method(item.words, item.source), _inputs(_needed(given, (item,))), basis="declared", missing=missing,
    )  # fmt: skip


def total_figures(case: Case, given: Mapping[str, Assumption]) -> list[Figure]:
    """Return the cost of an hour's flying alone, of a year, an hour, a mile and a seat-mile in all."""
    currency, hours = case.money.currency, given["hours"].sample
    assert hours is not None
    direct, year = _in_a_year(given, _DIRECT), _in_a_year(given, ITEMS)
    cruise = cruise_sample(case, case.terms.altitude.si, case.masses_kg(case.loading.mass_kg)[1])
    speed, seats = cruise.true_airspeed_m_s, case.airplane.seats
    an_hour, a_mile = (f"{currency}/h", "money_per_time"), (f"{currency}/nmi", "money_per_length")
    per_hour = None if year[0] is None else year[0] / hours
    per_mile = None if per_hour is None or speed is None else per_hour / speed
    per_seat = None if per_mile is None else per_mile / seats
    still_air = "cost of an hour over the cruise true airspeed, in still air"
    miles = (*_inputs(_needed(given, ITEMS)), *cruise.speed_inputs)
    parts = (
        ("direct_cost_per_hour", an_hour, None if direct[0] is None else direct[0] / hours, direct[1],
         "fuel, oil, maintenance by the hour and reserves, over the hours flown",
         _inputs(_needed(given, _DIRECT))),
        ("cost_per_year", (currency, "money"), year[0], year[1], _SUM, _inputs(_needed(given, ITEMS))),
        ("cost_per_hour", an_hour, per_hour, year[1], f"{_SUM}, over the hours flown",
         _inputs(_needed(given, ITEMS))),
        ("cost_per_mile", a_mile, per_mile, year[1] or cruise.missing, still_air, miles),
        ("cost_per_seat_mile", a_mile, per_seat, year[1] or cruise.missing,
         f"{still_air}, over all seats", (*miles, counted(case, "seats", seats))),
    )  # fmt: skip
    labels = {row.quantity: row.label for row in ROWS}
    return [
        case.figure(
            name, labels[name], unit, sample,
            Method(words, COMMON_PRACTICE if name.startswith("direct") else annuity.SOURCE),
            tuple(dict.fromkeys(inputs)), basis="declared", missing=missing,
        )
        for name, unit, sample, missing, words, inputs in parts
    ]  # fmt: skip


def _swings(case: Case, given: Mapping[str, Assumption]) -> tuple[list[Figure], list[Swing]]:
    """Return what each doubtful assumption does to the cost of an hour, the greatest first."""
    needed = _needed(given, ITEMS)
    if _lacking(needed):
        return [], []
    nominal = {name: float(a.sample[0]) for name, a in needed.items() if a.sample is not None}
    halves = {
        name: half_width_95(a.sample[1:], nominal[name]) for name, a in needed.items() if a.sample is not None
    }
    found = []
    for name, half in halves.items():
        if half > 0:
            ends = [_an_hour({**nominal, name: nominal[name] + sign * half}) for sign in (-1, 1)]
            found.append(_swing(case, name, needed[name], (ends[0], ends[1])))
    found.sort(key=lambda pair: -abs(pair[0].si or 0.0))
    return [figure for figure, _ in found], [swing for _, swing in found]


def _an_hour(of: Values) -> float:
    """Return the cost of an hour in SI."""
    return float(sum(item.in_a_year(of) for item in ITEMS) / of["hours"])


def _swing(case: Case, name: str, given: Assumption, ends: tuple[float, float]) -> tuple[Figure, Swing]:
    unit = (f"{case.money.currency}/h", "money_per_time")
    half = abs(ends[1] - ends[0]) / 2 * hour
    figure = case.figure(
        f"cost_per_hour.swing.{name}",
        f"Cost per hour from end to end of {given.label}",
        unit,
        case.draws.exact(ends[1] - ends[0]),
        Method("cost at the assumption's upper 95 % end less cost at its lower, all else kept"),
        given.inputs,
        basis="declared",
        grain_si=10.0 ** -supported_decimals(half, half) / hour,  # an interval, no finer than one is printed
    )  # fmt: skip
    return figure, Swing(case.key, given.label, figure.key, *ends)
