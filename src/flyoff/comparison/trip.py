"""Each airplane on each trip: time, fuel, and whether it is flown nonstop."""

import numpy as np

from flyoff.comparison.case import Case, Method
from flyoff.comparison.payload_range import Profile, profile, reach
from flyoff.comparison.places import Spot
from flyoff.comparison.results import TripLeg
from flyoff.comparison.terms import Trip
from flyoff.core.figure import Figure, Input, format_number, slug
from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array
from flyoff.core.units import degree, nmi
from flyoff.physics import geodesy

TIME = ("h", "time")
VOLUME = ("US gal", "volume")
STOPS = ("", "count")
_STOPS_MAX = 9
_NEAR_PERCENT = 2.5
_WAY = (
    "great circle between the airports; climb from the departure's elevation: {climb}; cruise at "
    "the terms' power, altitude and wind; descent counted as cruise; legs of equal length where it must stop"
)
_STOPS_METHOD = Method("the fewest equal legs that the range covers")


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
    way = profile(case, loading.mass_kg, start.elevation_m)
    missing = loading.shortfall or case.overweight(loading.mass_kg) or way.missing
    fuel_kg = case.fuel_allowed_kg(loading.mass_kg)
    stops: Array | None = None
    reason, doubt = missing, ""
    if not missing:
        stops, reason, doubt = _stops(case, way, fuel_kg, distance_m)
    time: Array | None = None
    fuel: Array | None = None
    remarks: tuple[str, ...] = way.remarks
    if stops is not None:
        count = int(stops[0])
        time, fuel = _legs(way, distance_m, count)
        remarks = (*remarks, *(("time on the ground at the stops is not counted",) if count else ()))
        remarks = (*remarks, doubt) if doubt else remarks
        if np.isnan(time[0]):
            stops, reason = None, "the leg is shorter than the climb to the altitude of the terms"
    inputs = _inputs(case, way, start, end, trip, bags)
    figures = _figures(case, trip, (time, fuel, stops), inputs, reason, remarks, way.extrapolated)
    nonstop = None if stops is None else int(stops[0]) == 0
    keys = (figure.key for figure in figures)
    return figures, TripLeg(case.key, trip.name, distance_m, nonstop, reason or doubt, *keys)


def _stops(case: Case, way: Profile, fuel_kg: Array, distance_m: float) -> tuple[Array | None, str, str]:
    """Return the stops that the distance needs, a sample; why; and how near another number is."""
    reached = reach(case, way, fuel_kg).range_m
    if reached is None or np.isnan(reached[0]):
        return None, "people and bags leave no fuel to reach cruise with the reserve", ""
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
    result: tuple[Array | None, Array | None, Array | None],
    inputs: tuple[Input, ...],
    reason: str,
    remarks: tuple[str, ...],
    extrapolated: bool,
) -> list[Figure]:
    """Return the figures of time, fuel and stops."""
    time, fuel, stops = result
    terms = {"trip": f"{trip.start} to {trip.end}"}
    if trip.occupants:
        terms["occupants"] = str(trip.occupants)
    if trip.bags:
        terms["bags"] = str(trip.bags)
    volume = None if fuel is None else fuel / case.fuel.density.si
    prefix, way = f"trip.{slug(trip.name)}", case.read(_WAY.format(climb=case.reading.climb))
    why = (*((reason,) if reason else ()), *remarks)
    return [
        case.figure(
            f"{prefix}.{part}", f"{trip.name}: {label}", unit, sample, method, inputs,
            basis=case.reading.basis, terms=terms, missing=reason, remarks=said, extrapolated=extrapolated,
        )
        for part, label, unit, sample, method, said in (
            ("time", "flying time", TIME, time, way, remarks),
            ("fuel", "fuel burnt", VOLUME, volume, way, remarks),
            ("stops", "fuel stops", STOPS, stops, _STOPS_METHOD, why),
        )
    ]  # fmt: skip
