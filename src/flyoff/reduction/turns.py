r"""True airspeed and wind from one continuous turn.

In a turn at one airspeed in one wind the tip of the ground velocity runs on a
circle whose centre is the wind and whose radius is the true airspeed: each
second is a leg of its own (see `legs`). What the airspeed did meanwhile is taken
from the airspeed indicator, where there is one. The covariance is that of the
residuals with their memory; a wind that wanders over the turn widens it.

Reference: SFTE Reference Handbook, 2013, ch. 4, the method of legs carried to
its limit; JCGM 100:2008. The limits are common practice, no source.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import kt
from flyoff.flights.grid import Grid
from flyoff.flights.manoeuvres import Manoeuvre
from flyoff.reduction.legs import WindSolution, solve_legs
from flyoff.reduction.statistics import Estimate, autocorrelation_time, mean_of

LEAST_SECONDS = 15
MOST_SCATTER = 0.05
"""Scatter of the residuals over the true airspeed, above which one airspeed and one wind do not hold."""
AIRSPEED_BAND = 0.15
MOST_DRIFT_M_S = 6 * kt
"""[m/s] Change of the true airspeed from a turn's first half to its second that is no longer one airspeed."""


@dataclass(frozen=True)
class TurnWind:
    """A turn solved from `seconds` readings; `lines` are its first and last in the log."""

    turn: Manoeuvre
    log: str
    lines: tuple[int, int]
    solution: WindSolution
    seconds: int
    scatter_m_s: float
    pressure_altitude: Estimate | None
    indicated_airspeed: Estimate | None

    @property
    def refused(self) -> str:
        """Why the answer is not given, empty where it is."""
        return self.solution.refused


def solve_turn(grid: Grid, turn: Manoeuvre, log: str, lines: tuple[int, int]) -> TurnWind | None:
    """Return true airspeed and wind from a turn; None where the log has no ground velocity in it.

    Parameters
    ----------
    grid
        The log's second means.
    turn
        The turn, as found.
    log, lines
        The log's name, and the turn's first and last line in it.

    Returns
    -------
    TurnWind
        The answer; `refused` says where it is none.
    """
    part = grid.between(turn.start_s, turn.end_s)
    speed, course = part.get("ground_speed"), part.get("ground_track")
    if speed is None or course is None:
        return None
    ground = np.column_stack([speed * np.cos(course), speed * np.sin(course)])
    airspeed = part.get("indicated_airspeed", "true_airspeed")
    known = ~np.isnan(ground).any(axis=1)
    if airspeed is not None:
        known &= ~np.isnan(airspeed)
    if int(known.sum()) < LEAST_SECONDS:
        return None
    ground = ground[known]
    ratio = np.ones(len(ground)) if airspeed is None else airspeed[known] / airspeed[known].mean()
    solution, scatter = _solved(ground, ratio)
    altitude, indicated = part.get("pressure_altitude"), part.get("indicated_airspeed")
    return TurnWind(
        turn, log, lines, solution, len(ground), scatter,
        None if altitude is None else mean_of(altitude),
        None if indicated is None else mean_of(indicated),
    )  # fmt: skip


def _solved(ground: Array, ratio: Array) -> tuple[WindSolution, float]:
    count = len(ground)
    unit = np.broadcast_to(np.eye(2), (count, 2, 2))
    first = solve_legs(ground, unit, ratio)
    if not math.isfinite(first.true_airspeed.value):
        return first, math.nan
    residuals = first.residuals_m_s
    scatter = math.sqrt(float((residuals**2).sum()) / (count - 3))
    # noise with a memory: n seconds are worth n / tau, at least one part in three of a circle
    memory = min(autocorrelation_time(residuals), count / 6)
    dof = max(count / memory - 3, 3.0)
    solution = solve_legs(ground, unit * scatter**2 * memory, ratio, dof)
    # the chance of the residuals is their own here: they made the covariance
    solution = replace(solution, chance=1.0, widened=1.0, refused=_why_not(solution, ground, ratio, scatter))
    return solution, scatter


def _why_not(solution: WindSolution, ground: Array, ratio: Array, scatter: float) -> str:
    airspeed = solution.true_airspeed.value
    if scatter > MOST_SCATTER * airspeed:
        return (
            f"the ground velocity runs on no circle: residuals of {scatter / kt:.1f} kt "
            f"where {MOST_SCATTER * airspeed / kt:.1f} kt may be"
        )
    if float(np.abs(ratio - 1).max()) > AIRSPEED_BAND:
        return f"the airspeed changed by {100 * float(np.ptp(ratio)):.0f} % in the turn"
    half = len(ground) // 2
    air = np.hypot(*(ground - np.array(solution.wind_m_s)).T) / ratio
    drift = float(air[half:].mean() - air[:half].mean())
    if abs(drift) > MOST_DRIFT_M_S:
        changed = f"{abs(drift) / kt:.1f} kt"
        return f"true airspeed or wind changed by {changed} from one half of the turn to the other"
    return ""
