"""What the library itself answers to a reader's question, flown between two places on the equator."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from flyoff.comparison.case import Case, Method
from flyoff.comparison.lifting import ready
from flyoff.comparison.ownership import assumptions, total_figures
from flyoff.comparison.places import Spot
from flyoff.comparison.seat_table import going
from flyoff.comparison.terms import Trip
from flyoff.comparison.trip import trips_figures
from flyoff.core.figure import Figure
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.typing import Array
from flyoff.core.units import hour

EQUATOR_NMI_PER_DEGREE = 6_378_137 * 3.141592653589793 / 180 / 1852
"""Along the equator of WGS 84, semi-major axis 6 378 137 m: NIMA TR8350.2 (2000), table 3.1."""


@dataclass(frozen=True)
class Question:
    """What a reader sets: people, bags in the terms' unit, nautical miles, knots, minutes, hours."""

    people: int
    bags: float
    trip: float
    wind: float
    reserve: float
    hours: float


def under(case: Case, asked: Question) -> Case:
    """Return the airplane under the study's terms but for what was asked."""
    update: Mapping[str, Quantity | None] = {
        "wind": parse_quantity(f"{asked.wind} kt", "speed"),
        "reserve": parse_quantity(f"{asked.reserve} min", "time"),
        "wind_spread": None,
    }
    return replace(case, terms=case.terms.model_copy(update=dict(update)))


def answers(case: Case, asked: Question) -> dict[str, Figure]:
    """Return range, fuel that fits, and the trip's time, fuel and stops, by the page's names for them."""
    own = under(case, asked)
    of = ready(own)
    bags = parse_quantity(f"{asked.bags:g} {case.terms.bags.unit.label}", "mass")
    found = going(own, of, asked.people, bags.si)
    fuel_kg = found.fitted.fuel_kg
    density = case.fuel.density.si
    shown = {
        "range": _figure(own, found.range_m, ("nmi", "length")),
        "fuel": _figure(own, None if fuel_kg is None else fuel_kg / density, ("US gal", "volume")),
    }
    trip = Trip.model_construct(name="asked", start="A", end="B", occupants=asked.people, bags=bags)
    ends = [Spot(c, c, 0.0, lon, 0.0, "equator") for c, lon in (("A", 0.0), ("B", _degrees(asked.trip)))]
    figures, _ = trips_figures(own, of, [(trip, ends[0], ends[1])])
    by_key = {figure.key.removeprefix(f"{case.key}.trip.asked."): figure for figure in figures}
    return {**shown, "time": by_key["time"], "used": by_key["fuel"], "stops": by_key["stops"]}


def _degrees(nmi: float) -> float:
    return nmi / EQUATOR_NMI_PER_DEGREE


def _figure(case: Case, sample: Array | None, unit: tuple[str, str]) -> Figure:
    return case.figure("asked", "asked", unit, sample, Method("asked"), ())


def costs(case: Case, hours: float) -> dict[str, Figure]:
    """Return the cost of a year and of an hour at some hours a year."""
    given = assumptions(case)
    flown = replace(given["hours"], sample=case.draws.exact(hours * hour))
    figures = {f.key: f for f in total_figures(case, {**given, "hours": flown})}
    return {"year": figures[f"{case.key}.cost_per_year"], "hour": figures[f"{case.key}.cost_per_hour"]}
