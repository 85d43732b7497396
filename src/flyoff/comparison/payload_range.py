"""Range and endurance with a reserve, and payload against range."""

from dataclasses import dataclass

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.cruise import CruiseSample, cruise_sample
from flyoff.comparison.lifting import seats_filled_kg
from flyoff.comparison.results import PayloadRange
from flyoff.core.figure import Figure, Input
from flyoff.core.typing import Array
from flyoff.model.handbook import sample_of

DISTANCE = ("nmi", "length")
TIME = ("h", "time")
_METHOD = Method(
    "fuel less taxi fuel and reserve (time at the cruise flow); climb from sea level at the climb table's "
    "time, fuel and distance; the rest at the cruise speed and flow; descent counted as cruise"
)


@dataclass(frozen=True)
class Reach:
    """How far and how long fuel carries, as samples."""

    range_m: Array | None
    endurance_s: Array | None
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str


@dataclass(frozen=True)
class Profile:
    """Climb and cruise of one airplane at the terms: all that turns fuel into distance."""

    cruise: CruiseSample
    climb_time_s: Array
    climb_fuel_kg: Array
    climb_distance_m: Array
    taxi_fuel_kg: float
    head_wind_m_s: float
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...]
    missing: str

    @property
    def ground_speed_m_s(self) -> Array | None:
        """Cruise ground speed, a sample; None where cruise is missing."""
        speed = self.cruise.true_airspeed_m_s
        return None if speed is None else speed - self.head_wind_m_s


def profile(case: Case, from_m: float = 0.0) -> Profile:
    """Return the climb from a pressure altitude to the terms' and the cruise there."""
    terms = case.terms
    cruise = cruise_sample(case, terms.altitude.si)
    climb = case.handbook.climb(from_m, terms.altitude.si, terms.isa_deviation.si, case.cruise_mass_kg)
    samples = [sample_of(value) for value in (climb.time, climb.fuel, climb.distance)]
    time, fuel, distance = (case.exact(np.nan) if s is None else s for s in samples)
    taxi = case.airplane.allowances.taxi_fuel
    remarks = (*cruise.remarks, *climb.time.remarks)
    if taxi is None:
        remarks = (*remarks, "the handbook gives no taxi fuel: none is counted")
    taxi_inputs = (Input("taxi fuel", str(taxi), taxi.place, taxi.source),) if taxi else ()
    wind, reserve = terms.wind, terms.reserve
    return Profile(
        cruise,
        time,
        fuel,
        distance,
        taxi.si * case.fuel.density.si if taxi else 0.0,
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
        or _too_slow(cruise, wind.si),
    )


def _too_slow(cruise: CruiseSample, head_wind_m_s: float) -> str:
    speed = cruise.true_airspeed_m_s
    if speed is not None and speed[0] <= head_wind_m_s:
        return "the head wind is not below the true airspeed"
    return ""


def reach(case: Case, way: Profile, fuel_kg: Array) -> Reach:
    """Return range and endurance on some fuel, a sample; NaN where it does not reach cruise."""
    flow, ground_speed = way.cruise.fuel_flow_kg_s, way.ground_speed_m_s
    if flow is None or ground_speed is None or way.missing:
        return Reach(None, None, way.inputs, way.remarks, way.missing)
    cruise_fuel = fuel_kg - way.taxi_fuel_kg - way.climb_fuel_kg - case.terms.reserve.si * flow
    cruise_time = np.where(cruise_fuel >= 0, cruise_fuel, np.nan) / flow
    climb_ground = way.climb_distance_m - way.head_wind_m_s * way.climb_time_s
    missing = "the fuel does not last to cruise with the reserve"
    return Reach(
        climb_ground + cruise_time * ground_speed,
        way.climb_time_s + cruise_time,
        way.inputs,
        way.remarks,
        missing,
    )


def range_figures(case: Case) -> list[Figure]:
    """Return range and endurance with the terms' people, with full tanks, and with the seats filled."""
    way = profile(case)
    people = case.fuel_allowed_kg(case.loading.mass_kg)
    seats = case.fuel_allowed_kg(seats_filled_kg(case))
    full = case.exact(case.full_fuel_kg)
    who = (*case.limit_inputs(), *case.fit.inputs(), *case.people_inputs(), *case.full_fuel_inputs())
    figures = []
    for suffix, label, fuel, inputs in (
        ("", " with the people", people, who),
        ("_seats_filled", ", all seats filled", seats, who),
        ("_full_tanks", ", full tanks", full, case.full_fuel_inputs()),
    ):
        result = reach(case, way, fuel)
        terms = {"occupants": str(case.airplane.seats)} if suffix == "_seats_filled" else {}
        if suffix == "_full_tanks":
            terms = {"fuel": "full tanks, whatever can be lifted beside it"}
        # People without a seat cannot be flown anywhere.
        stay = case.loading.shortfall if suffix == "" else ""
        missing = stay or result.missing
        sample, time = (None, None) if stay else (result.range_m, result.endurance_s)
        every = (*inputs, *result.inputs)
        figures += [
            case.figure(
                f"range{suffix}", f"Range{label}", DISTANCE, sample, _METHOD, every,
                terms=terms, missing=missing, remarks=result.remarks,
            ),
            case.figure(
                f"endurance{suffix}", f"Endurance{label}", TIME, time, _METHOD, every,
                terms=terms, missing=missing, remarks=result.remarks,
            ),
        ]  # fmt: skip
    return figures


def payload_range(case: Case) -> PayloadRange | None:
    """Return the corners of payload against range, or None where range is missing."""
    way = profile(case)
    flow = way.cruise.fuel_flow_kg_s
    if way.missing or flow is None:
        return None
    lifted = case.takeoff_kg - float(case.empty_kg[0])
    most = float(case.payload_limit_kg()[0])
    least_fuel = way.taxi_fuel_kg + float(way.climb_fuel_kg[0]) + case.terms.reserve.si * float(flow[0])
    most_fuel = min(case.full_fuel_kg, lifted)
    if most_fuel <= least_fuel:
        return None
    fuels = [(least_fuel, "reserve only"), (most_fuel, "tanks full")]
    if least_fuel < lifted - most < most_fuel:
        fuels.insert(1, (lifted - most, "takeoff weight reached"))
    corners = [(0.0, min(most, lifted - least_fuel), "most payload")]
    for fuel_kg, name in fuels:
        reached = reach(case, way, case.exact(fuel_kg)).range_m
        distance_m = float("nan") if reached is None else float(reached[0])
        corners.append((distance_m, min(most, lifted - fuel_kg), name))
    corners.append((corners[-1][0], 0.0, "no payload"))
    ranges, payloads, names = zip(*corners, strict=True)
    return PayloadRange(case.key, np.array(ranges), np.array(payloads), names)
