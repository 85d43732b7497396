"""What is not right with one condition, with the number that says so: gaps, rough air, uneven air."""

import math

import numpy as np

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array
from flyoff.core.units import degree, fpm, kt
from flyoff.flights.grid import Grid, rolling_fits
from flyoff.flights.log import runs_of

ROUGH_M_S = 1.2 * kt
WAVE_M_S, ROUGH_WAVE_M_S = 70 * fpm, 110 * fpm
"""Scatter of the airspeed, and straying of the rate of energy height by ground speed and by airspeed,
that even air stays below; common practice, no source."""
ENERGY_WINDOW_S = 40
STRAIGHT_RAD = 15 * degree
LEAST_GAP_S = 5
"""[s] A gap in the readings from which on it is said; common practice, no source."""
SCALE_HEIGHT_M = 9600.0
"""[m] In which density falls by a factor e near the ground (1976 standard atmosphere, from memory)."""


def gap_flags(part: Grid) -> list[str]:
    """Return the longest gap in the airspeed or the course, if it is worth a word."""
    gaps = [
        end - start
        for channel in (("indicated_airspeed", "true_airspeed", "ground_speed"), ("ground_track",))
        if (values := part.get(*channel)) is not None
        for start, end in runs_of(np.isnan(values))
    ]
    longest = max(gaps, default=0)
    return [f"{longest} s without readings within it"] if longest >= LEAST_GAP_S else []


def air_flags(part: Grid) -> list[str]:
    """Return whether the air was rough, or rose or sank unevenly, with the number that says so."""
    speed, height = part.get("indicated_airspeed", "true_airspeed"), part.get("pressure_altitude")
    if speed is None:
        return []
    t = np.arange(len(speed), dtype=float)
    known = ~np.isnan(speed)
    if int(known.sum()) < ENERGY_WINDOW_S:
        return []
    flags = []
    scatter = float((speed[known] - np.polyval(np.polyfit(t[known], speed[known], 1), t[known])).std())
    if scatter > ROUGH_M_S:
        flags.append(f"rough air: airspeed scatters by {scatter / kt:.1f} kt")
    if height is not None:
        straight = _is_straight(part.get("ground_track"))
        wander, limit = _energy_wander(height, speed, part.get("ground_speed") if straight else None)
        if wander > limit:
            flags.append(
                f"rising or sinking air: the rate of energy height strays by {wander / fpm:.0f} ft/min"
            )
    return flags


def _is_straight(course: Array | None) -> bool:
    """Whether a course is known and kept: in a turn the wind changes the ground speed."""
    if course is None:
        return False
    low, high = np.nanpercentile(course, [5, 95])
    return bool(high - low < STRAIGHT_RAD)


def _energy_wander(height: Array, speed: Array, ground_speed: Array | None) -> tuple[float, float]:
    """Return how far the rate of energy height strays from its mean, and what even air stays below.

    A gust from ahead changes the airspeed at once but not the airplane's energy: the change of
    speed is taken over the ground, on a straight course, where that is recorded.
    """
    true = speed / math.exp(-float(np.nanmean(height)) / SCALE_HEIGHT_M / 2)
    changing, limit = (true, ROUGH_WAVE_M_S) if ground_speed is None else (ground_speed, WAVE_M_S)
    energy = height + float(np.nanmean(true)) * changing / STANDARD_GRAVITY_M_S2
    rate = rolling_fits(energy, ENERGY_WINDOW_S).slope
    half = ENERGY_WINDOW_S // 2
    whole = rate[half : len(rate) - half] if len(rate) > 3 * half else rate
    if np.isnan(whole).all():
        return 0.0, limit
    return float(np.nanmax(np.abs(whole - np.nanmean(whole)))), limit
