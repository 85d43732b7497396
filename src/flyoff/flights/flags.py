"""What is not right with one condition, with the number that says so: gaps, rough air, uneven air."""

import math

import numpy as np

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.units import fpm, kt
from flyoff.flights.grid import Grid, rolling_fits
from flyoff.flights.log import runs_of

ROUGH_M_S = 1.2 * kt
WAVE_M_S = 70 * fpm
"""Scatter of the airspeed, and straying of the rate of energy height, that smooth air stays below;
common practice, no source."""
ENERGY_WINDOW_S = 30
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
        density_ratio = math.exp(-float(np.nanmean(height)) / SCALE_HEIGHT_M)
        energy = height + speed**2 / density_ratio / (2 * STANDARD_GRAVITY_M_S2)
        rate = rolling_fits(energy, ENERGY_WINDOW_S).slope
        half = ENERGY_WINDOW_S // 2
        whole = rate[half : len(rate) - half] if len(rate) > 3 * half else rate
        wander = float(np.nanmax(np.abs(whole - np.nanmean(whole)))) if not np.isnan(whole).all() else 0.0
        if wander > WAVE_M_S:
            flags.append(
                f"rising or sinking air: the rate of energy height strays by {wander / fpm:.0f} ft/min"
            )
    return flags
