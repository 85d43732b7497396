"""Whether one wind and one airspeed hold second by second, in the legs and in the turns between them.

Three legs leave no residual that could show a changed wind. The turns between
them do: in a turn the ground velocity, less the wind, must keep the length
that the indicated airspeed asks for, whatever the heading. Means of ten
seconds are compared with how much such means scatter within the legs.
"""

from dataclasses import dataclass

import numpy as np
from scipy import stats

from flyoff.core.typing import Array, Mask
from flyoff.core.units import ft, kt
from flyoff.flights.grid import Grid
from flyoff.flights.log import runs_of
from flyoff.reduction.legs import WindSolution
from flyoff.reduction.statistics import Estimate

BLOCK_S = 10
LEAST_BLOCKS = 4
LEAST_SCATTER_M_S = 0.6 * kt
"""[m/s] What ten-second means scatter at least, in turns with their lags; common practice, no source."""
AIRSPEED_SHARE = 0.1
ALTITUDE_BAND_M = 300 * ft
REFUSED_BELOW = 0.01


@dataclass(frozen=True)
class Kept:
    """How large the residuals are, what they should be, and the chance that they are so large."""

    residual_m_s: float
    expected_m_s: float
    chance: float

    @property
    def conflict(self) -> str:
        """Why the answer cannot be right, empty where it can."""
        if self.chance >= REFUSED_BELOW:
            return ""
        return (
            f"one wind does not hold in the legs and the turns between them: residuals of "
            f"{self.residual_m_s / kt:.1f} kt where {self.expected_m_s / kt:.1f} kt is expected"
        )


def wind_kept(
    grid: Grid,
    spans_s: list[tuple[float, float]],
    solution: WindSolution,
    indicated: Estimate,
    altitude: Estimate | None,
) -> Kept | None:
    """Return how well a solution holds from the first leg to the last; None where the log cannot tell.

    `spans_s` are the legs' beginnings and ends.
    """
    needed = [grid.get(name) for name in ("ground_speed", "ground_track", "indicated_airspeed")]
    if any(values is None for values in needed):
        return None
    speed, track, airspeed = (values for values in needed if values is not None)
    north = speed * np.cos(track) - solution.wind_m_s[0]
    east = speed * np.sin(track) - solution.wind_m_s[1]
    ratio = airspeed / indicated.value
    residual = np.hypot(north, east) - ratio * solution.true_airspeed.value
    usable = ~np.isnan(residual) & (np.abs(ratio - 1) < AIRSPEED_SHARE)
    height = grid.get("pressure_altitude")
    if height is not None and altitude is not None:
        usable &= np.abs(height - altitude.value) < ALTITUDE_BAND_M
    in_legs = [(grid.time_s >= start) & (grid.time_s <= end) for start, end in spans_s]
    legs = [_blocks(residual, mask & usable) for mask in in_legs]
    inside = (grid.time_s >= spans_s[0][0]) & (grid.time_s <= spans_s[-1][1])
    between = inside & ~np.any(in_legs, axis=0) & usable
    turns = [_blocks(residual, _only(between, run)) for run in runs_of(between) if run[1] - run[0] >= BLOCK_S]
    blocks = np.concatenate([*legs, *turns])
    spare = sum(max(len(leg) - 1, 0) for leg in legs)
    if sum(map(len, turns)) < LEAST_BLOCKS or spare < LEAST_BLOCKS:
        return None
    # the median leg: a leg in which the wind changed must not excuse the others
    scatter = float(np.median([leg.std(ddof=1) for leg in legs if len(leg) > 1]))
    expected = max(scatter, LEAST_SCATTER_M_S)
    size = float(np.sqrt((blocks**2).mean()))
    chance = float(stats.f.sf((size / expected) ** 2, len(blocks), spare))
    return Kept(size, expected, chance)


def _only(mask: Mask, run: tuple[int, int]) -> Mask:
    one = np.zeros_like(mask)
    one[run[0] : run[1]] = mask[run[0] : run[1]]
    return one


def _blocks(values: Array, mask: Mask) -> Array:
    """Return means of ten readings each of what a mask leaves."""
    kept = values[mask]
    count = len(kept) // BLOCK_S
    means: Array = kept[: count * BLOCK_S].reshape(count, BLOCK_S).mean(axis=1)
    return means
