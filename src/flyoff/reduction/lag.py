r"""The temperature probe's time constant, from how climbs and descents through the same air differ.

A first-order probe follows the temperature late by its time constant: at one
height it shows warmer air in a climb and colder air in a descent, apart by time constant times
lapse times the difference of the rates. The recorded temperature is fitted by

.. math:: \tau \dot T_p + T_p = T(h, t) (1 + 0.2 K M^2)

with the air's temperature straight between nodes of height and drifting linearly
with time, by least squares over the whole flight for each time constant, and the
best of these. The uncertainty is that of the residuals with their memory (JCGM 102:2011, 6).

Reference: SFTE Reference Handbook, 2013, ch. 4, the recovery; a first-order instrument's
response to a ramp is common textbook knowledge. The nodes and limits are common practice, no source.
"""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from scipy import linalg, optimize, signal

from flyoff.core.typing import Array, Mask
from flyoff.core.units import ft, kt
from flyoff.flights.grid import Grid
from flyoff.flights.read import Flight
from flyoff.physics.airspeed import mach_number
from flyoff.reduction.airdata import ASSUMED_LAG_U_S, GIVEN_LAG_U, Probe
from flyoff.reduction.statistics import Estimate, autocorrelation_time

NODES_M = 300 * ft
MOST_NODES = 40
LEAST_SPAN_M = 500 * ft
FLYING_M_S = 40 * kt
SETTLED_S = 120
"""[s] What a probe shows so soon after takeoff is still the ground's."""
LONGEST_S = 90.0
CLOCK_U_S = 0.5
"""[s] How far temperature and altitude may be apart in the recorder, as a standard uncertainty."""
LEAST_SECONDS = 600
BLOCK_S = 5
HEIGHT_S = 30
_RIDGE = 1e-10


def probe_lag(grids: Iterable[Grid]) -> Estimate | None:
    """Return the time constant that one of several logs of a flight shows best; None where none does.

    A log shows it if its climbs and descents make it surer than what is assumed beforehand, or, if long, as
    sure as what a flight file gives.
    """
    found = [lag for grid in grids if (lag := _lag_of(grid)) is not None]
    best = min(found, key=lambda lag: lag.u, default=None)
    if best is None or best.u > max(ASSUMED_LAG_U_S, GIVEN_LAG_U * best.value):
        return None
    return best


def with_lag(probe: Probe, flight: Flight, found: Estimate | None) -> Probe:
    """Return a probe with the flight's own time constant, unless the flight file gives one."""
    if found is None or flight.card.instruments.oat_lag is not None:
        return probe
    return replace(probe, lag_s=found.value, u_lag_s=found.u)


def lag_remarks(flight: Flight, found: Estimate | None) -> list[str]:
    """Return what is to be said of the time constant found."""
    if found is None:
        return []
    by = f"climbs and descents show a probe's time constant of {found.value:.0f} ± {found.u95:.0f} s"
    given = flight.card.instruments.oat_lag
    if given is None:
        return [f"the probe's time constant is not given: {by}"]
    apart = Estimate(found.value - given.si, found.u).widened(GIVEN_LAG_U * given.si)
    return [f"{by}, the flight file gives {given.si:.0f} s"] if abs(apart.value) > apart.u95 else []


def _lag_of(grid: Grid) -> Estimate | None:
    shown, height = grid.get("outside_air_temperature"), grid.get("pressure_altitude", "gps_altitude")
    speed = grid.get("indicated_airspeed", "true_airspeed", "ground_speed")
    if shown is None or height is None or speed is None:
        return None
    with np.errstate(invalid="ignore"):
        flying = speed > FLYING_M_S
    usable = flying & ~np.isnan(shown) & ~np.isnan(height)
    usable[: int(np.argmax(flying)) + SETTLED_S] = False
    if int(usable.sum()) < LEAST_SECONDS or min(_up_and_down(height[usable])) < LEAST_SPAN_M:
        return None
    columns = _columns(grid, _filled(height), shown[usable].mean())
    seen = _block_means(shown, usable)

    def residuals(lag_s: float) -> Array:
        design = _block_means(_lagging(columns, lag_s), usable)
        # by the normal equations; heights that nothing was seen at have no say, and get none
        normal = design.T @ design
        normal[np.diag_indices_from(normal)] += _RIDGE * normal.diagonal().max()
        result: Array = seen - design @ linalg.solve(normal, design.T @ seen, assume_a="pos")
        return result

    best = optimize.minimize_scalar(
        lambda lag_s: float((residuals(lag_s) ** 2).sum()),
        bounds=(0.0, LONGEST_S), method="bounded", options={"xatol": 0.05},
    )  # fmt: skip
    left = residuals(best.x)
    # what the other unknowns cannot make up for of a second more, by the difference of what they leave
    slope = (residuals(best.x + 1.0) - residuals(max(best.x - 1.0, 0.0))) / (min(best.x, 1.0) + 1.0)
    memory = autocorrelation_time(left)
    variance = float(left @ left) / max(len(left) - columns.shape[1] - 1, 1) * memory
    told = float(slope @ slope)
    return None if told == 0 else Estimate(float(best.x), (variance / told) ** 0.5).widened(CLOCK_U_S)


def _up_and_down(height_m: Array) -> tuple[float, float]:
    """Return by how much a flight climbed and descended in all: one alone tells no lag from a lapse."""
    steps = np.diff(height_m[::HEIGHT_S])
    return float(steps[steps > 0].sum()), float(-steps[steps < 0].sum())


def _columns(grid: Grid, height_m: Array, temperature_k: float) -> Array:
    """Return what the air's temperature and the ram rise may be made of, shape (n, unknowns)."""
    span = float(np.ptp(height_m))
    count = min(2 + int(span / NODES_M), MOST_NODES)
    nodes = np.linspace(height_m.min(), height_m.max(), count)
    columns = [np.interp(height_m, nodes, one) for one in np.eye(len(nodes))]
    columns.append((grid.time_s - grid.time_s.mean()) / 3600)
    speed = grid.get("indicated_airspeed")
    if speed is not None:
        mach = mach_number(calibrated_airspeed_m_s=_filled(speed), pressure_altitude_m=height_m)
        columns.append(0.2 * np.asarray(mach) ** 2 * temperature_k)
    return np.column_stack(columns)


def _block_means(values: Array, usable: Mask) -> Array:
    """Return the means of blocks that are usable throughout: the fit is linear, and fast on fewer rows."""
    count = len(values) // BLOCK_S * BLOCK_S
    whole = usable[:count].reshape(-1, BLOCK_S).all(axis=1)
    means: Array = values[:count].reshape(-1, BLOCK_S, *values.shape[1:])[whole].mean(axis=1)
    return means


def _filled(values: Array) -> Array:
    known = np.flatnonzero(~np.isnan(values))
    filled: Array = np.interp(np.arange(len(values)), known, values[known])
    return filled


def _lagging(columns: Array, lag_s: float) -> Array:
    """Return what a probe shows of columns that run straight from second to second, settled at the first."""
    if lag_s < 0.05:
        return columns
    keep = float(np.exp(-1 / lag_s))
    # the exact response to straight pieces: a ramp is followed late by just the time constant
    now, before = 1 - (1 - keep) * lag_s, (1 - keep) * lag_s - keep
    late, _ = signal.lfilter([now, before], [1, -keep], columns, axis=0, zi=(1 - now) * columns[:1])
    result: Array = late
    return result
