"""Range and endurance with a reserve, and payload against range."""

from dataclasses import dataclass

import numpy as np

from flyoff.comparison.case import Case
from flyoff.comparison.cruise import CruiseSample, cruise_sample
from flyoff.comparison.lifting import seats_filled
from flyoff.comparison.results import PayloadRange
from flyoff.core.figure import Figure, Input
from flyoff.core.typing import Array
from flyoff.model.handbook import sample_of

DISTANCE = ("nmi", "length")
TIME = ("h", "time")
_WAY = (
    "fuel less taxi fuel and reserve (time at the cruise flow); climb from sea level: {climb}; "
    "the rest at the cruise speed and flow; descent counted as cruise"
)


@dataclass(frozen=True)
class Reach:
    """How far and how long fuel carries, as samples."""

    range_m: Array | None
    endurance_s: Array | None
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str
    extrapolated: bool


@dataclass(frozen=True)
class Profile:
    """Climb and cruise of one airplane at the terms: all that turns fuel into distance."""

    cruise: CruiseSample
    climb_time_s: Array
    climb_fuel_kg: Array
    climb_distance_m: Array
    taxi_fuel_kg: Array
    head_wind_m_s: float
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str
    extrapolated: bool

    @property
    def ground_speed_m_s(self) -> Array | None:
        """Cruise ground speed, a sample; None where cruise is missing."""
        speed = self.cruise.true_airspeed_m_s
        return None if speed is None else speed - self.head_wind_m_s


def profile(case: Case, payload_kg: float, from_m: float = 0.0) -> Profile:
    """Return a payload's climb from a pressure altitude to the terms' and its cruise there."""
    terms = case.terms
    takeoff_kg, cruise_kg = case.masses_kg(payload_kg)
    cruise = cruise_sample(case, terms.altitude.si, cruise_kg)
    climb = case.evidence.climb(from_m, terms.altitude.si, terms.isa_deviation.si, takeoff_kg)
    samples = [sample_of(value) for value in (climb.time, climb.fuel, climb.distance)]
    time, fuel, distance = (case.draws.exact(np.nan) if s is None else s for s in samples)
    taxi = case.airplane.allowances.taxi_fuel
    remarks = (*cruise.remarks, *climb.time.remarks)
    if taxi is None:
        remarks = (*remarks, "the handbook gives no taxi fuel: none is counted")
    if from_m < 0:
        remarks = (*remarks, "the departure lies below sea level: the climb is counted from there")
    taxi_inputs = (Input("taxi fuel", str(taxi), taxi.place, taxi.source),) if taxi else ()
    wind, reserve = terms.wind, terms.reserve
    return Profile(
        cruise,
        time,
        fuel,
        distance,
        case.declared(taxi) * case.fuel.density.si if taxi else case.draws.exact(0.0),
        wind.si,
        tuple(
            dict.fromkeys(
                (
                    *cruise.speed_inputs,
                    *cruise.flow_inputs,
                    *climb.time.inputs,
                    *climb.fuel.inputs,
                    *climb.distance.inputs,
                    *taxi_inputs,
                    Input("reserve", str(reserve), reserve.place, reserve.source),
                    Input("head wind", str(wind), wind.place, wind.source),
                )
            )
        ),
        tuple(dict.fromkeys(remarks)),
        cruise.missing
        or climb.time.missing
        or climb.fuel.missing
        or climb.distance.missing
        or _too_slow(cruise, distance - wind.si * time, wind.si),
        cruise.extrapolated or any(v.extrapolated for v in (climb.time, climb.fuel, climb.distance)),
    )


def _too_slow(cruise: CruiseSample, climb_ground_m: Array, head_wind_m_s: float) -> str:
    speed = cruise.true_airspeed_m_s
    if speed is not None and speed[0] <= head_wind_m_s:
        return "the head wind is not below the true airspeed"
    if climb_ground_m[0] < 0:
        return "the head wind is not below the airspeed in the climb"
    return ""


def reach(case: Case, way: Profile, fuel_kg: Array) -> Reach:
    """Return range and endurance on some fuel, a sample; NaN where it does not reach cruise."""
    flow, ground_speed = way.cruise.fuel_flow_kg_s, way.ground_speed_m_s
    if flow is None or ground_speed is None or way.missing:
        return Reach(None, None, way.inputs, way.remarks, way.missing, way.extrapolated)
    cruise_fuel = fuel_kg - way.taxi_fuel_kg - way.climb_fuel_kg - case.terms.reserve.si * flow
    cruise_time = np.where(cruise_fuel >= 0, cruise_fuel, np.nan) / flow
    climb_ground = way.climb_distance_m - way.head_wind_m_s * way.climb_time_s
    missing = "the fuel does not last to cruise with the reserve"
    distance = climb_ground + cruise_time * ground_speed
    return Reach(
        np.where(distance > 0, distance, np.nan),
        way.climb_time_s + cruise_time,
        way.inputs,
        way.remarks,
        missing,
        way.extrapolated,
    )


def range_figures(case: Case) -> list[Figure]:
    """Return range and endurance with the terms' people, with the seats filled, and on full tanks."""
    seats = seats_filled(case)
    people = case.loading
    who = (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs())
    figures = []
    for suffix, label, loading, terms in (
        ("", " with the occupants", people, {}),
        ("_seats_filled", ", all seats filled", seats, {"occupants": str(case.airplane.seats)}),
    ):
        # People without a seat cannot be flown anywhere.
        stay = loading.shortfall or case.overweight(loading.mass_kg)
        way = profile(case, loading.mass_kg)
        result = reach(case, way, case.fuel_allowed_kg(loading.mass_kg))
        figures += _two(case, (suffix, label), result, who, terms, stay)
    light = max(float((case.start_kg - case.empty_kg - case.full_fuel_kg)[0]), 0.0)
    result = reach(case, profile(case, light), case.full_fuel_kg)
    terms = {"fuel": "full tanks, whatever can be lifted beside it"}
    figures += _two(case, ("_full_tanks", ", full tanks"), result, case.full_fuel_inputs(), terms, "")
    return figures


def _two(
    case: Case,
    names: tuple[str, str],
    result: Reach,
    inputs: tuple[Input, ...],
    terms: dict[str, str],
    stay: str,
) -> list[Figure]:
    """Return the range and the endurance of one loading."""
    suffix, label = names
    every = (*inputs, *result.inputs)
    method = case.read(_WAY.format(climb=case.reading.climb))
    samples = (None, None) if stay else (result.range_m, result.endurance_s)
    return [
        case.figure(
            f"{quantity}{suffix}", f"{word}{label}", unit, sample, method, every,
            basis=case.reading.basis, terms=terms, missing=stay or result.missing, remarks=result.remarks,
            extrapolated=result.extrapolated,
        )
        for (quantity, word, unit), sample in zip(
            (("range", "Range", DISTANCE), ("endurance", "Endurance", TIME)), samples, strict=True
        )
    ]  # fmt: skip


def payload_range(case: Case) -> PayloadRange | None:
    """Return the corners of payload against range, or None where range is missing."""
    way = profile(case, case.loading.mass_kg)
    flow = way.cruise.fuel_flow_kg_s
    if way.missing or flow is None:
        return None
    lifted = case.start_kg - float(case.empty_kg[0])
    most = float(case.payload_limit_kg()[0])
    least_fuel = float((way.taxi_fuel_kg + way.climb_fuel_kg + case.terms.reserve.si * flow)[0])
    most_fuel = min(float(case.full_fuel_kg[0]), lifted)
    if most_fuel <= least_fuel:
        return None
    fuels = [(least_fuel, "reserve only"), (most_fuel, "tanks full")]
    if least_fuel < lifted - most < most_fuel:
        fuels.insert(1, (lifted - most, "takeoff weight reached"))
    corners = [(0.0, min(most, lifted - least_fuel), "most payload")]
    for fuel_kg, name in fuels:
        reached = reach(case, way, case.draws.exact(fuel_kg)).range_m
        distance_m = float("nan") if reached is None else float(reached[0])
        corners.append((distance_m, min(most, lifted - fuel_kg), name))
    corners.append((corners[-1][0], 0.0, "no payload"))
    ranges, payloads, names = zip(*corners, strict=True)
    return PayloadRange(case.key, np.array(ranges), np.array(payloads), names)
