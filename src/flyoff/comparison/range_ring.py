"""How far each airplane goes from a place in every direction, wind included."""

from collections.abc import Sequence

import numpy as np

from flyoff.comparison.aloft import Along, Level, steady, wind_at
from flyoff.comparison.case import Case
from flyoff.comparison.places import Spot
from flyoff.comparison.profile import Flown, profile, reach
from flyoff.comparison.results import RangeRing
from flyoff.core.typing import Array

COURSES_RAD = np.radians(np.arange(0.0, 360.0, 2.0))


def range_ring(case: Case, home: Spot, levels: Sequence[Level] = ()) -> RangeRing | None:
    """Return the terms' people's range in every direction, clockwise from north; None where none is.

    In the wind of some levels aloft, the same everywhere; without them
    against the terms' head wind, whichever way.
    """
    still = Flown(case.terms.altitude.si, _still(case), home.elevation_m, 0.0)
    payload_kg = case.loading.mass_kg
    if case.loading.shortfall or case.overweight(payload_kg):
        return None
    way = profile(case, payload_kg, still)
    reached = reach(case, way, case.fuel_allowed_kg(payload_kg))
    if reached.range_m is None or reached.endurance_s is None or not np.isfinite(reached.range_m[0]):
        return None
    air_m, time_s = float(reached.range_m[0]), float(reached.endurance_s[0])
    ground_m_s = _over_ground(case, air_m / time_s, levels)
    return RangeRing(case.key, COURSES_RAD, ground_m_s * time_s) if np.any(ground_m_s > 0) else None


def _still(case: Case) -> Along:
    air = steady(case.terms.wind, case.terms.isa_deviation)
    return Along(air.levels_m, air.head_m_s * 0.0, air.cross_m_s, air.deviation_k, air.shares, air.inputs)


def _over_ground(case: Case, mean_m_s: float, levels: Sequence[Level]) -> Array:
    """Return the mean speed over the ground on each course; 0 where no way is made."""
    if not levels:
        return np.maximum(np.full(COURSES_RAD.shape, mean_m_s - case.terms.wind.si), 0.0)
    north, east = wind_at(levels, case.terms.altitude.si)
    along = north * np.cos(COURSES_RAD) + east * np.sin(COURSES_RAD)
    across = east * np.cos(COURSES_RAD) - north * np.sin(COURSES_RAD)
    held = np.square(mean_m_s) - np.square(across)
    return np.where(held > 0, np.maximum(np.sqrt(np.maximum(held, 0.0)) + along, 0.0), 0.0)
