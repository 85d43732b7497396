"""The temperature probe's recovery factor from level points at several speeds at one level.

At one level the air has one temperature T; a probe shows
T (1 + 0.2 K M²) (SFTE Reference Handbook, 2013, ch. 4), linear in T and in
K T M². Weighted least squares over all levels at once, one T for each and one
K for all. Points at a level stand within 200 ft and 20 minutes; what is left of
the height between them is taken out by the standard lapse, and the air's own
differences by `AIR_U_K`: common practice, no source.
"""

import math
from collections.abc import Sequence

import numpy as np

from flyoff.core.constants import TROPOSPHERE_LAPSE_K_M
from flyoff.core.units import ft
from flyoff.physics.airspeed import mach_number
from flyoff.reduction.points import Point
from flyoff.reduction.statistics import Estimate

LEVEL_BAND_M = 200 * ft
LONGEST_S = 1200.0
AIR_U_K = 0.15
"""[K] How much the air's temperature differs along one level; common practice, no source."""
DETERMINED_U = 0.12
"""Not wider than what is assumed beforehand: else the flight does not determine the factor."""


def recovery_factor(points: Sequence[Point]) -> Estimate | None:
    """Return the recovery factor by least squares; None where the points do not determine it."""
    levels = [level for level in _levels(points) if len(level) > 1]
    rows, seen, u = [], [], []
    for number, level in enumerate(levels):
        base_m = _altitude(level[0])
        for point in level:
            probe, cas, air = point.probe_temperature, point.air.calibrated_airspeed, point.air.temperature
            assert probe is not None  # _levels leaves out what has none
            assert cas is not None
            assert air is not None
            mach = float(mach_number(calibrated_airspeed_m_s=cas.value, pressure_altitude_m=_altitude(point)))
            row = np.zeros(len(levels) + 1)
            row[number] = 1.0
            row[-1] = 0.2 * mach**2 * air.value
            rows.append(row)
            seen.append(probe.value + TROPOSPHERE_LAPSE_K_M * (_altitude(point) - base_m))
            u.append(math.hypot(probe.u, AIR_U_K))
    if len(rows) < len(levels) + 1 or not levels:
        return None
    design = np.array(rows) / np.array(u)[:, None]
    normal = design.T @ design
    if np.linalg.cond(normal) > 1e12:
        return None
    covariance = np.linalg.inv(normal)
    answer = covariance @ design.T @ (np.array(seen) / np.array(u))
    residuals = np.array(seen) / np.array(u) - design @ answer
    spare = len(rows) - len(answer)
    widened = max(1.0, math.sqrt(float(residuals @ residuals) / spare)) if spare else 1.0
    estimate = Estimate(float(answer[-1]), float(np.sqrt(covariance[-1, -1])) * widened)
    return estimate if estimate.u < DETERMINED_U else None


def _altitude(point: Point) -> float:
    assert point.pressure_altitude is not None
    return point.pressure_altitude.value


def _levels(points: Sequence[Point]) -> list[list[Point]]:
    levels: list[list[Point]] = []
    for point in points:
        air = point.air
        known = (
            point.pressure_altitude
            and point.probe_temperature
            and air.calibrated_airspeed
            and air.temperature
        )
        if point.condition.kind != "level" or not known:
            continue
        for level in levels:
            near = abs(_altitude(point) - _altitude(level[0])) < LEVEL_BAND_M
            if near and point.condition.start_s - level[0].condition.end_s < LONGEST_S:
                level.append(point)
                break
        else:
            levels.append([point])
    return levels
