"""One figure of one airplane, asked again under other terms, on nominal values or with its draws."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from flyoff.comparison.altitude import nominal
from flyoff.comparison.case import Case
from flyoff.comparison.cruise import cruise_at
from flyoff.comparison.lifting import ready
from flyoff.comparison.ownership import assumptions, total_figures
from flyoff.comparison.payload_range import occupants_range, range_figures
from flyoff.comparison.places import Spot
from flyoff.comparison.terms import Occupant, Terms, Trip
from flyoff.comparison.through_flight import Ready
from flyoff.comparison.trip import trips_figures
from flyoff.core.figure import Figure, format_number, slug
from flyoff.core.quantity import Quantity
from flyoff.core.units import Unit, find_unit, hour, kt

Route = tuple[Trip, Spot, Spot]
_PEOPLE = "people"


@dataclass(frozen=True)
class Lever:
    """A term that may be moved from end to end of a range, in SI: what it is called, and how it is set."""

    name: str
    label: str
    unit: Unit
    low: float
    high: float
    now: float
    whole: bool = False
    of_evidence: bool = False
    """Whether the evidence ends somewhere along it, which is no answer to anything."""

    def said(self, si: float) -> str:
        """Return a value as printed."""
        number = self.unit.from_si(si)
        decimals = 0 if self.whole or abs(number) >= 20 or number == 0 else 2
        return f"{format_number(number, decimals)} {self.unit.label.lstrip('Δ')}".rstrip()

    def between(self, low: float, high: float) -> str:
        """Return a range in words."""
        return f"{self.label} from {self.said(low)} to {self.said(high)}"


_IN_TERMS: Mapping[str, tuple[str, tuple[str, str], float, float]] = {
    "wind": ("head wind", ("kt", "speed"), -30 * kt, 60 * kt),
    "bags": ("bags", ("kg", "mass"), 0.0, 150.0),
    "power": ("cruise power", ("%", "ratio"), 0.45, 0.85),
    "altitude": ("pressure altitude", ("ft", "length"), 0.0, 5486.4),
    "isa_deviation": ("temperature from standard", ("Δ°C", "temperature_difference"), -30.0, 30.0),
    "reserve": ("reserve", ("min", "time"), 0.0, 10800.0),
}
_CRUISE = ("power", "altitude", "isa_deviation")
_FLIGHT = (*_CRUISE, "wind", "bags", _PEOPLE, "reserve")
_OWNING = ("hours", "years", "fuel_price", "power", "altitude")
_FAMILIES = (
    (("trip.", "range", "endurance"), _FLIGHT),
    (("cruise_", "specific_range"), _CRUISE),
    (("cost_", "direct_cost_"), _OWNING),
)
"""How a quantity's name begins, and the names of the terms that can move it."""
_WITH_OCCUPANTS = ("range", "endurance")
_ONE_WAY = ("time", "fuel", "stops", "elapsed")


def levers(cases: Sequence[Case], quantity: str, routes: Sequence[Route] = ()) -> list[Lever]:
    """Return the terms that can move a quantity, each with the range within which it is searched.

    What a trip lays down for itself moves with no term.
    """
    if "?" in quantity:
        return []
    own = {name for route in _asked(quantity, routes) for name in _own(route[0])}
    every = next((names for begins, names in _FAMILIES if quantity.startswith(begins)), ())
    names = tuple(name for name in every if name not in own)
    first = cases[0]
    found = [_term_lever(first.terms, name) for name in names if name in _IN_TERMS]
    if _PEOPLE in names:
        most = max(case.airplane.seats for case in cases)
        unit = find_unit("", "count")
        people = len(first.terms.occupants)
        found.append(Lever(_PEOPLE, "people aboard", unit, 1, most, min(people, most), whole=True))
    if "hours" in names and first.ownership is not None:
        found += _owning_levers(cases)
    return found


def _asked(quantity: str, routes: Sequence[Route]) -> list[Route]:
    """Return the trip that a quantity is of."""
    if not quantity.startswith("trip."):
        return []
    name = quantity.split(".")[1]
    return [r for r in routes if name in (slug(r[0].name), slug(f"{r[0].name}, back"))]


def _own(trip: Trip) -> set[str]:
    """Return the names of the terms that a trip replaces by its own."""
    laid_down = {
        "bags": trip.bags,
        _PEOPLE: trip.occupants,
        "altitude": trip.altitude or trip.best_altitude,
        "wind": trip.wind or trip.aloft,
    }
    return {name for name, own in laid_down.items() if own}


def _term_lever(terms: Terms, name: str) -> Lever:
    label, (unit, dimension), low, high = _IN_TERMS[name]
    now = getattr(terms, name).si
    ends = (min(low, now), max(high, now))
    return Lever(name, label, find_unit(unit, dimension), *ends, now, of_evidence=name in _CRUISE)


def _owning_levers(cases: Sequence[Case]) -> list[Lever]:
    terms = cases[0].ownership
    assert terms is not None
    number = find_unit("", "count")
    found = [
        Lever("hours", "hours flown a year", number, 25.0, 600.0, terms.hours.si / hour),
        Lever("years", "years kept", number, 1, 25, terms.years, whole=True),
    ]
    for fuel in dict.fromkeys(case.fuel for case in cases):
        if fuel.price is not None:
            price, unit = fuel.price.si, fuel.price.unit
            label = f"price of {fuel.kind}, one {fuel.price_unit}"
            found.append(Lever(f"fuel_price.{fuel.kind}", label, unit, price / 3, price * 3, price))
    return found


def moved(case: Case, lever: Lever, si: float) -> Case:
    """Return a case with one term moved to a value in SI."""
    if lever.name in _IN_TERMS:
        old: Quantity = getattr(case.terms, lever.name)
        return replace(case, terms=case.terms.model_copy(update={lever.name: _at(old, lever, si)}))
    if lever.name == _PEOPLE:
        return replace(
            case, terms=case.terms.model_copy(update={"occupants": people_aboard(case.terms, int(si))})
        )
    ownership = case.ownership
    assert ownership is not None
    if lever.name == "years":
        return replace(case, ownership=ownership.model_copy(update={"years": int(si)}))
    if lever.name == "hours":
        hours = _at(ownership.hours, lever, si * hour)
        return replace(case, ownership=ownership.model_copy(update={"hours": hours}))
    kind, price = lever.name.partition(".")[2], case.fuel.price
    if case.fuel.kind != kind or price is None:
        return case
    return replace(case, fuel=case.fuel.model_copy(update={"price": _at(price, lever, si)}))


def _at(quantity: Quantity, lever: Lever, si: float) -> Quantity:
    return replace(quantity, si=si, text=lever.said(si))


def people_aboard(terms: Terms, count: int) -> tuple[Occupant, ...]:
    """Return the first of the terms' people, then others of their mean weight."""
    named = terms.occupants[:count]
    mean_kg = sum(o.weight.si for o in terms.occupants) / len(terms.occupants)
    model = terms.occupants[0]
    weight = replace(model.weight, si=mean_kg, text=f"{mean_kg:.0f} kg")
    more = (
        model.model_copy(update={"name": f"person {number + 1}", "weight": weight})
        for number in range(len(named), count)
    )
    return (*named, *more)


class Rerun:
    """The comparison's airplanes, to be asked again under moved terms."""

    def __init__(self, cases: Sequence[Case], routes: Sequence[Route]) -> None:
        self.routes = routes
        self._cases = {case.key: case for case in cases}
        self._still = {case.key: nominal(case) for case in cases}
        self._found: dict[tuple[str, str, Lever | None, float], dict[str, Figure]] = {}

    def missing(self, aircraft: str, quantity: str, lever: Lever, si: float) -> str:
        """Return why there is no answer with one term moved."""
        figure = self._nominal(aircraft, quantity, lever, si)
        return figure.missing if figure is not None else ""

    def value(self, aircraft: str, quantity: str, lever: Lever, si: float) -> float:
        """Return a nominal value in SI with one term moved; NaN where there is no answer."""
        figure = self._nominal(aircraft, quantity, lever, si)
        return float("nan") if figure is None or figure.si is None else figure.si

    def _nominal(self, aircraft: str, quantity: str, lever: Lever, si: float) -> Figure | None:
        unmoved = si == lever.now
        asked = (aircraft, _together(quantity), None if unmoved else lever, 0.0 if unmoved else si)
        if asked not in self._found:
            self._found[asked] = self._figures(moved(self._still[aircraft], lever, si), quantity)
        return self._found[asked].get(quantity)

    def figure(self, aircraft: str, quantity: str, lever: Lever, si: float) -> Figure | None:
        """Return a figure with its draws, one term moved; None where nothing can be asked again."""
        return self._figures(moved(self._cases[aircraft], lever, si), quantity).get(quantity)

    def _figures(self, case: Case, quantity: str) -> dict[str, Figure]:
        """Return what comes of one airplane's case together with a quantity, by quantity."""
        figures: Sequence[Figure] = ()
        if quantity.startswith("trip."):
            figures = trips_figures(*_bare(case, quantity, self.routes))[0]
        elif quantity in _WITH_OCCUPANTS:
            figures = occupants_range(case)
        elif quantity.startswith(("range", "endurance")):
            figures = range_figures(case)
        elif quantity.startswith(("cruise_", "specific_range")):
            figures = cruise_at(case, case.terms.altitude.si, {})
        elif quantity.startswith(("cost_", "direct_cost_")) and case.ownership is not None:
            figures = total_figures(case, assumptions(case))
        return {figure.key.partition(".")[2]: figure for figure in figures}


def _bare(case: Case, quantity: str, routes: Sequence[Route]) -> tuple[Case, Ready, list[Route]]:
    """Return a case and a trip with only what is asked of it: one way, in one wind, where that is enough."""
    part = quantity.rpartition(".")[2]
    own = _asked(quantity, routes)
    if part in _ONE_WAY and slug(own[0][0].name) == quantity.split(".")[1]:
        update: dict[str, object] = {"there_and_back": False, "wind_spread": None}
        own = [(trip.model_copy(update=update), start, end) for trip, start, end in own]
        case = replace(case, terms=case.terms.model_copy(update={"wind_spread": None}))
    return case, ready(case), own


def _together(quantity: str) -> str:
    """Return what names all quantities that are worked out together with one."""
    if quantity in _WITH_OCCUPANTS:
        return "range with the occupants"
    if quantity.startswith("trip."):
        trip, _, part = quantity.rpartition(".")
        return trip if part in _ONE_WAY else quantity
    return next(
        (begin for begins, _ in _FAMILIES for begin in begins if quantity.startswith(begin)), quantity
    )
