"""A flight's points brought to standard conditions: everything that the airplane's data allow."""

from dataclasses import dataclass

from flyoff.flights.read import Flight
from flyoff.reduction.airplane import Airplane
from flyoff.reduction.calibration import Calibration
from flyoff.reduction.climb import Climbs, reduce_climbs
from flyoff.reduction.cruise import SpeedPower, speed_power
from flyoff.reduction.glide import Polar, glide_polar
from flyoff.reduction.masses import mass_at
from flyoff.reduction.points import Point
from flyoff.reduction.power import EnginePoint, engine_points, powers_of
from flyoff.reduction.stall import Stall, reduce_stalls


@dataclass(frozen=True)
class Standard:
    """What a flight shows at standard conditions; None where its data do not allow it."""

    airplane: Airplane
    speed_power: SpeedPower | None
    climbs: Climbs | None
    polar: Polar | None
    stalls: tuple[Stall, ...]
    engine: tuple[EnginePoint, ...]


def to_standard(
    flight: Flight,
    points: tuple[Point, ...],
    calibration: Calibration,
    airplane: Airplane,
    ramp_mass_kg: float | None,
) -> Standard:
    """Return the points of a flight at standard conditions."""
    powers = [powers_of(point, airplane) for point in points]
    polar = glide_polar(points, airplane)
    masses = [
        mass_at(flight, flight.time_s(noted.start), ramp_mass_kg)
        for noted in flight.card.points
        if noted.kind == "stall"
    ]
    return Standard(
        airplane,
        speed_power(points, powers, airplane),
        reduce_climbs(points, powers, airplane, polar.span_efficiency if polar else None),
        polar,
        reduce_stalls(flight, masses, calibration, airplane),
        engine_points(points, powers, airplane),
    )
