"""Each airplane on each trip: time, fuel, and whether it is flown nonstop."""

import math

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.payload_range import Profile, profile, reach
from flyoff.comparison.places import Spot
from flyoff.comparison.results import TripLeg
from flyoff.comparison.terms import Trip
from flyoff.core.figure import Figure, Input, format_number
from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array
from flyoff.core.units import degree, nmi
from flyoff.physics import geodesy

TIME = ("h", "time")
VOLUME = ("US gal", "volume")
STOPS = ("", "count")
_STOPS_MAX = 9
_METHOD = Method(
    "great circle between the airports; climb from the departure's elevation by the climb table; cruise at "
    "the terms' power, altitude and wind; descent counted as cruise; legs of equal length where it must stop"
)


def slug(name: str) -> str:
    """Return a name as part of a figure's key."""
    kept = "".join(c.lower() if c.isalnum() else "-" for c in name)
    return "-".join(part for part in kept.split("-") if part)


def trip_figures(case: Case, trip: Trip, start: Spot, end: Spot) -> tuple[list[Figure], TripLeg]:
    """Return time, fuel and stops of one trip, and what they mean in words."""
    distance_m = float(
        geodesy.geodesic_distance(
            start.latitude_deg * degree,
            start.longitude_deg * degree,
            end.latitude_deg * degree,
            end.longitude_deg * degree,
        )
    )
    occupants = trip.occupants or len(case.terms.occupants)
    bags = trip.bags or case.terms.bags
    loading = case.loaded(occupants, bags.si)
    way = profile(case, start.elevation_m)
    missing = loading.shortfall or way.missing
    fuel_kg = case.fuel_allowed_kg(loading.mass_kg)
    stops, reason = None, missing
    if not missing:
        stops, reason = _stops(case, way, fuel_kg, distance_m)
    time: Array | None = None
    fuel: Array | None = None
    remark: tuple[str, ...] = ()
    if stops is not None:
        time, fuel = _legs(way, distance_m, stops)
        remark = ("time on the ground at the stops is not counted",) if stops else ()
        if np.isnan(time[0]):
            reason = "the leg is shorter than the climb to the altitude of the terms"
    figures = _figures(
        case, trip, (time, fuel, stops), _inputs(case, way, start, end, trip, bags), reason, remark
    )
    nonstop = None if stops is None or figures[0].si is None else stops == 0
    return figures, TripLeg(case.key, trip.name, distance_m, nonstop, reason)


def _stops(case: Case, way: Profile, fuel_kg: Array, distance_m: float) -> tuple[int | None, str]:
    """Return the stops that the distance needs, and why."""
    reached = reach(case, way, fuel_kg).range_m
    if reached is None or np.isnan(reached[0]):
        return None, "people and bags leave no fuel to reach cruise with the reserve"
    range_m = float(reached[0])
    stops = math.ceil(distance_m / range_m) - 1
    if stops > _STOPS_MAX:
        return None, f"more than {_STOPS_MAX} stops"
    if stops == 0:
        return 0, ""
    share = float(np.mean(np.nan_to_num(reached[1:]) >= distance_m))
    close = f" (though {100 * share:.0f} % of draws make it)" if share > 0.025 else ""
    return stops, f"the range, {format_number(range_m / nmi, 0)} nmi, is short of the distance{close}"


def _legs(way: Profile, distance_m: float, stops: int) -> tuple[Array, Array]:
    """Return the flying time and the fuel burnt of equal legs, samples."""
    flow, ground_speed = way.cruise.fuel_flow_kg_s, way.ground_speed_m_s
    assert flow is not None
    assert ground_speed is not None
    legs = stops + 1
    climb_ground = way.climb_distance_m - way.head_wind_m_s * way.climb_time_s
    cruise_time = (distance_m / legs - climb_ground) / ground_speed
    cruise_time = np.where(cruise_time >= 0, cruise_time, np.nan)
    time = legs * (way.climb_time_s + cruise_time)
    return time, legs * (way.taxi_fuel_kg + way.climb_fuel_kg + flow * cruise_time)


def _inputs(
    case: Case, way: Profile, start: Spot, end: Spot, trip: Trip, bags: Quantity
) -> tuple[Input, ...]:
    elevation = Input("elevation of the departure", f"{start.elevation_m:.0f} m", source=start.source)
    people = case.people_inputs()[: trip.occupants or len(case.terms.occupants)]
    stowed = Input("bags", str(bags), bags.place, bags.source)
    return (start.as_input(), end.as_input(), elevation, *people, stowed, *case.fit.inputs(), *way.inputs)


def _figures(
    case: Case,
    trip: Trip,
    result: tuple[Array | None, Array | None, int | None],
    inputs: tuple[Input, ...],
    reason: str,
    remarks: tuple[str, ...],
) -> list[Figure]:
    time, fuel, stops = result
    terms = {"trip": f"{trip.start} to {trip.end}"}
    if trip.occupants:
        terms["occupants"] = str(trip.occupants)
    if trip.bags:
        terms["bags"] = str(trip.bags)
    volume = None if fuel is None else fuel / case.fuel.density.si
    prefix = f"trip.{slug(trip.name)}"
    return [
        case.figure(f"{prefix}.time", f"{trip.name}: flying time", TIME, time, _METHOD, inputs,
                    terms=terms, missing=reason, remarks=remarks),
        case.figure(f"{prefix}.fuel", f"{trip.name}: fuel burnt", VOLUME, volume, _METHOD, inputs,
                    terms=terms, missing=reason, remarks=remarks),
        case.figure(f"{prefix}.stops", f"{trip.name}: fuel stops", STOPS,
                    None if stops is None else case.exact(float(stops)),
                    Method("the fewest equal legs that the range covers"), inputs,
                    terms=terms, missing=reason, remarks=(reason,) if stops else ()),
    ]  # fmt: skip
