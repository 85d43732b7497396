r"""True airspeed from all seconds between a group's first and last leg, the turns between them too.

While an airplane turns from leg to leg at the height and near the airspeed of
the legs, its ground velocity less the wind keeps the length that the airspeed asks for:

.. math:: |\mathbf{v} - \mathbf{w}| = k V + \mathbf{a} \cdot \mathbf{g} + e

with k the indicated airspeed's ratio to the legs' mean, taken to their density, **a** the heading's unit
vector, **g** the wind's slow stray, each component alike, and e what gusts leave of the mean of a block of
seconds. Generalised least squares of such blocks; the size of e is that of the residuals and their memory.

References: JCGM 102:2011, 6. Block, memory and limits are common practice, no source.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import ft
from flyoff.flights.grid import Grid
from flyoff.physics.atmosphere import density_at_altitude
from flyoff.reduction.legs import WindSolution
from flyoff.reduction.statistics import Estimate, autocorrelation_time

BLOCK_S = 10
"""[s] Near the time that gusts are remembered."""
AIRSPEED_SHARE = 0.06
ALTITUDE_BAND_M = 150 * ft
MEMORY_S = 300.0
SLOPE_U = 0.05
"""How the airspeed's correction may change with the airspeed (see `flyoff.reduction.calibration`)."""
LEAST_BLOCKS = 10
_ROUNDS = 3
_NAMES = ("ground_speed", "ground_track", "indicated_airspeed", "pressure_altitude")


@dataclass(frozen=True)
class Blocks:
    """Seconds in blocks: when, and the airspeed's ratio, shape (n, s); `ground_m_s`, shape (n, s, 2)."""

    time_s: Array
    ratio: Array
    ground_m_s: Array


def with_seconds(
    solution: WindSolution,
    grid: Grid,
    spans_s: Sequence[tuple[float, float]],
    indicated: Estimate,
    altitude: Estimate,
    stray_m_s: float,
) -> WindSolution:
    """Return the legs' answer with the true airspeed of all seconds, where that is surer.

    `stray_m_s` is the standard deviation of each component of a leg's own wind. The wind stays.
    """
    blocks = _blocks(grid.between(spans_s[0][0], spans_s[-1][1]), indicated, altitude)
    if blocks is None:
        return solution
    found = _solved(blocks, solution, stray_m_s)
    if found is None or found.u > solution.true_airspeed.u:
        return solution
    shrunk = np.array([found.u / solution.true_airspeed.u, 1.0, 1.0])
    return replace(solution, true_airspeed=found, covariance=solution.covariance * np.outer(shrunk, shrunk))


def _blocks(grid: Grid, indicated: Estimate, altitude: Estimate) -> Blocks | None:
    channels = [values for name in _NAMES if (values := grid.get(name)) is not None]
    if len(channels) < len(_NAMES):
        return None
    speed, track, airspeed, height = channels
    known = ~np.isnan(channels).any(axis=0)
    known &= np.abs(np.nan_to_num(height) - altitude.value) < ALTITUDE_BAND_M
    thinner = np.ones_like(height)
    thinner[known] = np.sqrt(density_at_altitude(altitude.value) / density_at_altitude(height[known]))
    ratio = airspeed / indicated.value * thinner
    known &= np.abs(np.nan_to_num(ratio) - 1) < AIRSPEED_SHARE
    columns = np.column_stack([grid.time_s, ratio, speed * np.cos(track), speed * np.sin(track)])
    count = len(columns) // BLOCK_S
    whole = known[: count * BLOCK_S].reshape(count, BLOCK_S).all(axis=1)
    rows = columns[: count * BLOCK_S].reshape(count, BLOCK_S, -1)[whole]
    return Blocks(rows[..., 0], rows[..., 1], rows[..., 2:]) if len(rows) >= LEAST_BLOCKS else None


def _solved(blocks: Blocks, legs: WindSolution, stray_m_s: float) -> Estimate | None:
    answer = np.array([legs.true_airspeed.value, *legs.wind_m_s])
    middle = blocks.time_s.mean(axis=1)
    ratio = blocks.ratio.mean(axis=1)
    apart = np.abs(middle[:, None] - middle)
    drifting = stray_m_s**2 * np.exp(-apart / MEMORY_S)
    free = len(ratio) - len(answer)
    sloped = SLOPE_U * answer[0] * (ratio - 1)
    for _ in range(_ROUNDS):
        air = blocks.ground_m_s - answer[1:]
        # second by second: the mean of vectors that turn would be too short
        length = np.maximum(np.hypot(air[..., 0], air[..., 1]), 1e-9)
        along = (air / length[..., None]).mean(axis=1)
        residuals = (length - blocks.ratio * answer[0]).mean(axis=1)
        design = np.column_stack([ratio, along])
        shared = drifting * (along @ along.T) + np.outer(sloped, sloped)
        own = max(float((residuals**2).sum()) / free * autocorrelation_time(residuals), 1e-4)
        total = shared + own * np.eye(len(residuals))
        weighted = np.linalg.solve(total, design)
        covariance = np.linalg.inv(design.T @ weighted)
        answer = answer + covariance @ weighted.T @ residuals
    if not np.isfinite(answer).all():
        return None
    return Estimate(float(answer[0]), math.sqrt(float(covariance[0, 0])), free)
