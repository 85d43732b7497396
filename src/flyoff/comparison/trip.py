"""Each airplane on each trip: time, fuel, stops; there and back; how often nonstop."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from flyoff.comparison.aloft import Along, along_way, radians, steady
from flyoff.comparison.altitude import Choice, best_altitude, nominal, oxygen_words
from flyoff.comparison.case import Case
from flyoff.comparison.lifting import Fitted, most_fuel_sample, people
from flyoff.comparison.places import Spot, distance_m
from flyoff.comparison.profile import Flown, Profile, profile, reach
from flyoff.comparison.results import TripLeg
from flyoff.comparison.terms import Trip
from flyoff.comparison.through_flight import Ready
from flyoff.comparison.trip_family import share_nonstop, strongest_head_wind
from flyoff.comparison.trip_figures import NAMES, Outcome, both_ways, figures_of
from flyoff.core.figure import Figure, Input, format_number
from flyoff.core.typing import Array
from flyoff.core.units import nmi
from flyoff.dossier.loading import MASS_TOLERANCE_KG

_STOPS_MAX = 9
_NEAR_PERCENT = 2.5
_SHORT = "the leg is shorter than climb and descent"


@dataclass(frozen=True)
class Way:
    """One direction of a trip."""

    trip: Trip
    start: Spot
    end: Spot
    back: bool = False

    @property
    def name(self) -> str:
        """Its name in figures."""
        return f"{self.trip.name}, back" if self.back else self.trip.name

    @cached_property
    def distance_m(self) -> float:
        """Length of the shortest line between its ends."""
        return distance_m(self.start, self.end)

    @property
    def fault(self) -> str:
        """Why nobody can fly it; empty where somebody could."""
        trip = self.trip
        lost = [spot.code for spot in (self.start, self.end) if not spot.known]
        if trip.alternate is not None and trip.alternate_distance is None:
            lost.append(trip.alternate)
        if lost:
            return "; ".join(f"nobody knows an airport '{code}'" for code in lost)
        return f"a trip from '{trip.start}' to itself" if self.start.code == self.end.code else ""

    @property
    def ends(self) -> tuple[float, float, float, float]:
        """Latitude and longitude of start and end [rad]."""
        return (
            *radians(self.start.latitude_deg, self.start.longitude_deg),
            *radians(self.end.latitude_deg, self.end.longitude_deg),
        )

    @property
    def reverse(self) -> "Way":
        """The way back."""
        return Way(self.trip, self.end, self.start, back=True)


@dataclass(frozen=True)
class Flyer:
    """One airplane about to fly trips: its case, how it is loaded, and a single draw of it to choose by."""

    case: Case
    of: Ready

    @cached_property
    def quick(self) -> "Flyer":
        """The same with one draw."""
        return Flyer(nominal(self.case), self.of)

    def fitted(self, trip: Trip) -> tuple[float, Fitted]:
        """Return the payload of a trip, and the most fuel beside it that limits and balance allow."""
        count = trip.occupants or len(self.case.terms.occupants)
        bags = (trip.bags or self.case.terms.bags).si
        fitted = most_fuel_sample(self.case, self.of, people(self.case, count), bags)
        payload = fitted.placement.loading(self.of).mass_kg if fitted.placement else float("nan")
        return payload, fitted


def trips_figures(
    case: Case, of: Ready, trips: Sequence[tuple[Trip, Spot, Spot]]
) -> tuple[list[Figure], list[TripLeg]]:
    """Return time, fuel and stops of an airplane on each trip, and what they mean in words."""
    figures: list[Figure] = []
    legs: list[TripLeg] = []
    flyer = Flyer(case, of)
    for trip, start, end in trips:
        there = Way(trip, start, end)
        ways = (there, there.reverse) if trip.there_and_back else (there,)
        outcomes = [_outcome(flyer, way) for way in ways]
        made = [_told(case, outcome, way) for outcome, way in zip(outcomes, ways, strict=True)]
        figures += [figure for own, _ in made for figure in own]
        if trip.there_and_back:
            total = both_ways(case, trip, [own for own, _ in made])
            figures.append(total)
            made[0] = (made[0][0], replace(made[0][1], both_ways=total.key))
        legs += [leg for _, leg in made]
    return figures, legs


def _told(case: Case, outcome: Outcome, way: Way) -> tuple[list[Figure], TripLeg]:
    own = figures_of(case, outcome)
    nonstop = None if outcome.stops is None else int(outcome.stops[0]) == 0
    keys = {part: figure.key for part, figure in own.items()}
    leg = TripLeg(
        case.key, way.name, way.distance_m, nonstop, outcome.reason or outcome.doubt,
        *(keys[part] for part in NAMES), **{p: k for p, k in keys.items() if p not in NAMES},
    )  # fmt: skip
    return list(own.values()), leg


def _air(case: Case, way: Way) -> Along:
    """Return the wind and temperature of a way: the trip's own, or the terms'."""
    terms, trip = case.terms, way.trip
    if trip.aloft is not None:
        return along_way(trip.aloft, terms.aloft[trip.aloft].levels, way.ends, terms.isa_deviation)
    air = steady(trip.wind or terms.wind, terms.isa_deviation)
    return replace(air, head_m_s=-air.head_m_s) if way.back else air


def _flown(case: Case, way: Way, altitude_m: float, air: Along) -> Flown:
    trip, terms = way.trip, case.terms
    distance = trip.alternate_distance or terms.alternate
    inputs: tuple[Input, ...] = ()
    if distance is not None and (trip.alternate_distance or trip.alternate):
        label = f"alternate {trip.alternate}" if trip.alternate else "alternate"
        inputs = (Input(label, str(distance), distance.place, distance.source),)
    return Flown(
        altitude_m, air, way.start.elevation_m, way.end.elevation_m, distance.si if distance else 0.0, inputs
    )


def _outcome(flyer: Flyer, way: Way) -> Outcome:
    """Fly one way, at the altitude asked for or the best."""
    case, trip = flyer.case, way.trip
    if way.fault:
        return Outcome(way.name, trip, way.start, way.end, (), reason=way.fault, back=way.back)
    payload, fitted = flyer.fitted(trip)
    air = _air(case, way)
    altitude_m = (trip.altitude or case.terms.altitude).si
    choice = None
    if trip.best_altitude and fitted.fuel_kg is not None:
        choice = _chosen(flyer, way, air)
        if choice.altitude_m is None:
            why = f"no altitude of the terms can be flown: {choice.words}"
            return Outcome(way.name, trip, way.start, way.end, _place_inputs(way), reason=why, back=way.back)
        altitude_m = choice.altitude_m
    flown = _flown(case, way, altitude_m, air)
    outcome = _fly(case, way, flown, payload, fitted)
    if choice is not None:
        return replace(outcome, altitude_m=choice.altitude_m, chosen=choice.words)
    if outcome.time_s is not None and outcome.stops is not None:
        above_s = float(outcome.time_s[0]) / (int(outcome.stops[0]) + 1)
        high = oxygen_words(case, altitude_m, above_s)
        return replace(outcome, remarks=(*outcome.remarks, high)) if high else outcome
    return outcome


def _chosen(flyer: Flyer, way: Way, air: Along) -> Choice:
    """Return the altitude of the terms that takes least time or fuel, stops counted."""
    quick = flyer.quick
    payload, fitted = quick.fitted(way.trip)
    least = way.trip.best_altitude

    def cost(altitude_m: float) -> tuple[float, float]:
        outcome = _fly(quick.case, way, _flown(quick.case, way, altitude_m, air), payload, fitted)
        if outcome.time_s is None or outcome.fuel_kg is None or outcome.stops is None:
            return float("nan"), 0.0
        spent = outcome.elapsed_s if outcome.elapsed_s is not None else outcome.time_s
        price = float(spent[0]) if least == "time" else float(outcome.fuel_kg[0])
        return price, float(outcome.time_s[0]) / (int(outcome.stops[0]) + 1)

    terms = quick.case.terms
    candidates = [altitude.si for altitude in terms.altitudes] or [terms.altitude.si]
    return best_altitude(quick.case, candidates, way.start.elevation_m, cost)


def _fly(case: Case, way: Way, flown: Flown, payload_kg: float, fitted: Fitted) -> Outcome:
    """Fly one way at one altitude in as few legs as the fuel allows."""
    nothing = Outcome(way.name, way.trip, way.start, way.end, _place_inputs(way), back=way.back)
    if fitted.fuel_kg is None or fitted.placement is None:
        return replace(nothing, reason=fitted.missing)
    binding = tuple(b for b in fitted.placement.binding if "envelope" in b)
    held = (f"fuel stopped by {' and '.join(binding)}",) if binding else ()
    profiled = profile(case, payload_kg, flown)
    told = replace(
        nothing, inputs=(*nothing.inputs, *profiled.inputs), remarks=(*held, *profiled.remarks),
        extrapolated=profiled.extrapolated, reason=profiled.missing,
    )  # fmt: skip
    if profiled.missing:
        return told
    stops, reason, doubt = _stops(case, profiled, fitted.fuel_kg, way.distance_m)
    if stops is None:
        return replace(told, reason=reason)
    legs = int(stops[0]) + 1
    time, fuel = (legs * part for part in profiled.over(way.distance_m / legs))
    if np.isnan(time[0]):
        return replace(told, reason=_SHORT)
    heavy = _too_heavy(case, payload_kg, float(fitted.fuel_kg[0]), float(fuel[0]) / legs)
    told = replace(
        told, time_s=time, fuel_kg=fuel, stops=stops, reason=reason, doubt=doubt,
        remarks=(*told.remarks, *heavy),
    )  # fmt: skip
    return _with_winds(case, _waiting(case, told), way, flown, payload_kg, fitted.fuel_kg)


def _too_heavy(case: Case, payload_kg: float, start_fuel_kg: float, burnt_kg: float) -> tuple[str, ...]:
    """Return in words by how much a leg begun with all the fuel that fits ends above the landing limit."""
    limit = case.airplane.weights.landing
    if limit is None:
        return ()
    over_kg = float(case.empty_kg[0]) + payload_kg + start_fuel_kg - burnt_kg - limit.si
    if over_kg <= MASS_TOLERANCE_KG:
        return ()
    over = f"{format_number(over_kg, 0)} kg"
    return (
        f"with all the fuel that fits it arrives {over} above the landing weight of {limit}: it needs {over}"
        " less fuel at start, or less aboard",
    )


def _place_inputs(way: Way) -> tuple[Input, ...]:
    high = (
        Input(f"elevation of {spot.code}", f"{spot.elevation_m:.0f} m", source=spot.source)
        for spot in (way.start, way.end)
    )
    return (way.start.as_input(), way.end.as_input(), *high)


def _stops(case: Case, way: Profile, fuel_kg: Array, distance_m: float) -> tuple[Array | None, str, str]:
    """Return the stops that the distance needs, a sample; why; and how near another number is."""
    result = reach(case, way, fuel_kg)
    reached = result.range_m
    if reached is None or np.isnan(reached[0]):
        return None, f"people and bags leave too little fuel: {result.missing}", ""
    range_m = float(reached[0])
    stops = np.ceil(distance_m / reached) - 1
    if stops[0] > _STOPS_MAX:
        return None, f"more than {_STOPS_MAX} stops", ""
    known = stops[1:][np.isfinite(stops[1:])]
    more, fewer = (100 * float(np.mean(part)) for part in (known > stops[0], known < stops[0]))
    doubt = ""
    if more > _NEAR_PERCENT:
        doubt = f"a near thing: {more:.0f} % of draws need another stop"
    elif fewer > _NEAR_PERCENT:
        doubt = f"a near thing: {fewer:.0f} % of draws need a stop less"
    reason = f"the range, {format_number(range_m / nmi, 0)} nmi, is short of the distance" if stops[0] else ""
    return stops, reason, doubt


def _waiting(case: Case, told: Outcome) -> Outcome:
    """Return an outcome with the time from start to standing: with taxi, and on the ground at stops."""
    terms = case.terms
    if (terms.ground_time is None and terms.taxi_time is None) or told.time_s is None or told.stops is None:
        return told
    count, total = int(told.stops[0]), told.time_s
    if count and terms.ground_time is None:
        return replace(told, waits="it stops, and the terms give no time on the ground")
    if terms.taxi_time is not None:
        total = total + (count + 1) * case.declared(terms.taxi_time)
    if terms.ground_time is not None:
        total = total + count * case.declared(terms.ground_time)
    return replace(told, elapsed_s=total)


def _with_winds(
    case: Case, told: Outcome, way: Way, flown: Flown, payload_kg: float, fuel_kg: Array
) -> Outcome:
    spread = way.trip.wind_spread or case.terms.wind_spread
    if spread is None:
        return told
    strongest = strongest_head_wind(case, payload_kg, fuel_kg, flown, way.distance_m)
    share = share_nonstop(spread, strongest, back=way.back)
    return replace(told, strongest_m_s=strongest, share=share, spread=spread)
