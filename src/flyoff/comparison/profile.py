"""One flight of one airplane, from start to standing: all that turns fuel into distance.

Taxi, climb, cruise with falling weight, descent, and what is kept at landing:
an alternate and a reserve.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from flyoff.comparison.aloft import Along, steady
from flyoff.comparison.burn import Rates, burnt, fuel_for, rates_through
from flyoff.comparison.case import Case
from flyoff.comparison.cruise import CruiseSample, cruise_sample
from flyoff.core.figure import Input
from flyoff.core.typing import Array
from flyoff.model.handbook import Climb, sample_of

_LIGHTEST_KG = 60.0
"""What flies an airplane at its lightest: below it no weight of a flight lies; common practice, no source."""
_NOTHING_KG = 1e-6
"""Fuel that is none but for rounding."""
WAY = (
    "fuel less taxi fuel and what is kept at landing (reserve: time at the cruise flow; an alternate where "
    "one is given); climb: {climb}; cruise at the terms' power, weight falling as fuel burns (Runge and "
    "Kutta's fourth order over fuel burnt); descent as declared, or else counted as cruise"
)


@dataclass(frozen=True)
class Flown:
    """How a flight is flown where not as the terms say: altitude, air, elevations, alternate."""

    altitude_m: float
    air: Along
    from_m: float = 0.0
    to_m: float = 0.0
    alternate_m: float = 0.0
    alternate_inputs: tuple[Input, ...] = ()


@dataclass(frozen=True)
class Part:
    """Climb or descent: time [s], fuel [kg] and distance over the ground [m], samples."""

    time_s: Array
    fuel_kg: Array
    ground_m: Array


@dataclass(frozen=True)
class Profile:
    """Climb, cruise and descent of one airplane, samples, and what is kept at landing."""

    flown: Flown
    cruise: CruiseSample
    rates: Rates | None
    climb: Part
    descent: Part
    start_kg: Array
    """Weight when cruise begins."""
    taxi_fuel_kg: Array
    alternate_fuel_kg: Array
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str
    extrapolated: bool

    def ground_speed(self, true_airspeed_m_s: Array) -> Array:
        """Return the speed over the ground in cruise."""
        return self.flown.air.ground_speed(true_airspeed_m_s, self.flown.altitude_m)

    def kept_kg(self, reserve_s: float) -> Array:
        """Return the fuel kept at landing: alternate and reserve, a sample."""
        flow = self.cruise.fuel_flow_kg_s
        return self.alternate_fuel_kg + (np.nan if flow is None else reserve_s * flow)

    @property
    def aside_kg(self) -> Array:
        """The fuel of taxi, climb and descent, a sample."""
        return self.taxi_fuel_kg + self.climb.fuel_kg + self.descent.fuel_kg

    def over(self, distance_m: float) -> tuple[Array, Array]:
        """Return time [s] and fuel [kg] of a distance; NaN where climb and descent alone are longer."""
        assert self.rates is not None
        level = distance_m - self.climb.ground_m - self.descent.ground_m
        level = np.where(level >= 0, level, np.nan)
        fuel, time = fuel_for(self.rates, self.ground_speed, self.start_kg, level)
        return self.climb.time_s + time + self.descent.time_s, self.aside_kg + fuel


def profile(case: Case, payload_kg: float, flown: Flown | None = None) -> Profile:
    """Return a payload's flight as the terms have it, or otherwise flown."""
    terms = case.terms
    flown = flown or Flown(
        terms.altitude.si, steady(terms.wind, terms.isa_deviation), alternate_m=_alternate_m(case)
    )
    deviation_k = flown.air.deviation(flown.altitude_m)
    takeoff_kg, middle_kg = case.masses_kg(payload_kg)
    cruise = cruise_sample(case, flown.altitude_m, middle_kg, deviation_k=deviation_k)
    climbed = case.evidence.climb(flown.from_m, flown.altitude_m, deviation_k, takeoff_kg)
    climb, missing = _climb(case, climbed, flown)
    descent = _descent(case, cruise, flown)
    rates, narrow = _rates(case, cruise, flown, takeoff_kg, middle_kg)
    remarks = (*cruise.remarks, *climbed.time.remarks, *narrow, *_remarks(case, flown))
    return Profile(
        flown,
        cruise,
        rates,
        climb,
        descent,
        takeoff_kg - climb.fuel_kg,
        case.taxi_kg,
        _alternate_fuel(case, cruise, flown),
        tuple(dict.fromkeys((*cruise.speed_inputs, *cruise.flow_inputs, *_inputs(case, climbed, flown)))),
        tuple(dict.fromkeys(remarks)),
        cruise.missing or missing or _too_slow(cruise, climb, flown),
        cruise.extrapolated or any(v.extrapolated for v in (climbed.time, climbed.fuel, climbed.distance)),
    )


def _alternate_m(case: Case) -> float:
    return case.terms.alternate.si if case.terms.alternate else 0.0


def _climb(case: Case, climbed: Climb, flown: Flown) -> tuple[Part, str]:
    samples = [sample_of(value) for value in (climbed.time, climbed.fuel, climbed.distance)]
    time, fuel, distance = (case.draws.exact(np.nan) if s is None else s for s in samples)
    head = flown.air.mean_head(max(flown.from_m, 0.0), flown.altitude_m)
    missing = climbed.time.missing or climbed.fuel.missing or climbed.distance.missing
    return Part(time, fuel, distance - head * time), missing


def _descent(case: Case, cruise: CruiseSample, flown: Flown) -> Part:
    """Return the descent that the terms declare, nothing where they declare none."""
    terms, speed, flow = case.terms.descent, cruise.true_airspeed_m_s, cruise.fuel_flow_kg_s
    height = max(flown.altitude_m - flown.to_m, 0.0)
    if terms is None or speed is None or flow is None:
        nothing = case.draws.exact(0.0)
        return Part(nothing, nothing, nothing)
    time = height / case.declared(terms.rate)
    head = flown.air.mean_head(min(flown.to_m, flown.altitude_m), flown.altitude_m)
    ground = (speed * case.declared(terms.airspeed) - head) * time
    return Part(time, flow * case.declared(terms.fuel_flow) * time, ground)


def _rates(
    case: Case, cruise: CruiseSample, flown: Flown, takeoff_kg: float, middle_kg: float
) -> tuple[Rates | None, tuple[str, ...]]:
    """Return how cruise depends on weight, and in words where the evidence does not say."""
    if cruise.true_airspeed_m_s is None or cruise.fuel_flow_kg_s is None:
        return None, ()
    at_middle = (cruise.true_airspeed_m_s[None, :], cruise.fuel_flow_kg_s[None, :])
    masses = _masses(case, takeoff_kg, middle_kg)
    if masses is None:
        return Rates(middle_kg, *at_middle), ()
    deviation_k = flown.air.deviation(flown.altitude_m)
    found = [cruise_sample(case, flown.altitude_m, m, deviation_k=deviation_k) for m in masses]
    speeds = [c.true_airspeed_m_s for c in found if c.true_airspeed_m_s is not None]
    flows = [c.fuel_flow_kg_s for c in found if c.fuel_flow_kg_s is not None]
    if len(speeds) < len(masses) or len(flows) < len(masses):
        words = (
            "cruise is not known at every weight of the flight: taken at the one half way through the fuel"
        )
        return Rates(middle_kg, *at_middle), (words,)
    return rates_through(np.array(masses), np.stack(speeds), np.stack(flows)), ()


def _masses(case: Case, takeoff_kg: float, middle_kg: float) -> tuple[float, ...] | None:
    """Return the three weights that cruise is asked at, or None where the evidence knows one only.

    A fitted model is asked at the same three whatever is aboard, so that it answers once.
    """
    if case.kind != "handbook":
        light = float(case.empty_kg[0]) + _LIGHTEST_KG
        return (light, (light + case.takeoff_kg) / 2, case.takeoff_kg)
    table = case.dossier.tables.get("cruise")
    if table is None or table.axis("weight") is None or takeoff_kg - middle_kg < 1.0:
        return None
    return (2 * middle_kg - takeoff_kg, middle_kg, takeoff_kg)


def _alternate_fuel(case: Case, cruise: CruiseSample, flown: Flown) -> Array:
    """Return the fuel from destination to alternate at cruise speed and flow, against the terms' wind."""
    speed, flow = cruise.true_airspeed_m_s, cruise.fuel_flow_kg_s
    if not flown.alternate_m or speed is None or flow is None:
        return case.draws.exact(0.0)
    ground = steady(case.terms.wind, case.terms.isa_deviation).ground_speed(speed, flown.altitude_m)
    return np.asarray(flow * flown.alternate_m / ground)


def _inputs(case: Case, climbed: Climb, flown: Flown) -> Iterator[Input]:
    terms = case.terms
    yield from (*climbed.time.inputs, *climbed.fuel.inputs, *climbed.distance.inputs)
    yield from case.taxi_inputs()
    yield Input("reserve", str(terms.reserve), terms.reserve.place, terms.reserve.source)
    yield from flown.air.inputs
    if flown.alternate_inputs:
        yield from flown.alternate_inputs
    elif terms.alternate is not None and flown.alternate_m:
        yield Input("alternate", str(terms.alternate), terms.alternate.place, terms.alternate.source)
    if terms.descent is not None:
        for label, q in (
            ("rate of descent", terms.descent.rate),
            ("descent: true airspeed of cruise", terms.descent.airspeed),
            ("descent: fuel flow of cruise", terms.descent.fuel_flow),
        ):
            yield Input(label, str(q), q.place, q.source)


def _remarks(case: Case, flown: Flown) -> Iterator[str]:
    if case.taxi_fuel is None:
        yield "the handbook gives no taxi fuel: none is counted"
    if flown.from_m < 0:
        yield "the departure lies below sea level: the climb is counted from there"


def _too_slow(cruise: CruiseSample, climb: Part, flown: Flown) -> str:
    speed = cruise.true_airspeed_m_s
    if speed is not None and np.isnan(flown.air.ground_speed(speed[:1], flown.altitude_m)[0]):
        return "the head wind is not below the true airspeed"
    if climb.ground_m[0] < 0:
        return "the head wind is not below the airspeed in the climb"
    return ""


@dataclass(frozen=True)
class Reach:
    """How far and how long fuel carries, as samples."""

    range_m: Array | None
    endurance_s: Array | None
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str
    extrapolated: bool


def reach(case: Case, way: Profile, fuel_kg: Array, reserve_s: float | None = None) -> Reach:
    """Return range and endurance on some fuel, a sample; NaN where it does not reach cruise."""
    if way.rates is None or way.missing:
        return Reach(None, None, way.inputs, way.remarks, way.missing, way.extrapolated)
    kept_s = case.terms.reserve.si if reserve_s is None else reserve_s
    kept = way.kept_kg(kept_s)
    left = fuel_kg - way.aside_kg - kept
    left = np.where(np.abs(left) < _NOTHING_KG, 0.0, left)
    distance, time = burnt(way.rates, way.ground_speed, way.start_kg, np.where(left >= 0, left, np.nan))
    distance = way.climb.ground_m + distance + way.descent.ground_m
    missing = "the fuel does not last to cruise with the reserve"
    if kept[0] > case.full_fuel_kg[0]:
        missing = "the reserve is more than the tanks hold"
    return Reach(
        np.where(distance > 0, distance, np.nan),
        way.climb.time_s + time + way.descent.time_s,
        way.inputs,
        way.remarks,
        missing,
        way.extrapolated,
    )
