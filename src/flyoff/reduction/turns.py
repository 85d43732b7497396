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
from flyoff.reduction.statistics import Estimate, autocorrelation_time, reading_mean_of

LEAST_SECONDS = 15
MOST_SCATTER = 0.05
"""Scatter of the residuals over the true airspeed, above which one airspeed and one wind do not hold."""
WANDER_M_S = 0.3 * kt
"""[m/s] Assumed standard deviation of a wind that wanders over the turn; common practice, no source."""
AIRSPEED_BAND = 0.15
MOST_DRIFT_M_S = 12 * kt
"""[m/s] Linear change of the true airspeed over a turn that is no longer one airspeed."""


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
    probe_temperature: Estimate | None = None

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
    means = [
        None if (values := part.get(name)) is None else reading_mean_of(values)
        for name in ("pressure_altitude", "indicated_airspeed", "outside_air_temperature")
    ]
    return TurnWind(turn, log, lines, solution, len(ground), scatter, *means)


def _solved(ground: Array, ratio: Array) -> tuple[WindSolution, float]:
    count = len(ground)
    unit = np.broadcast_to(np.eye(2), (count, 2, 2))
    first = solve_legs(ground, unit, ratio)
    if not math.isfinite(first.true_airspeed.value):
        return first, math.nan
    residuals = first.residuals_m_s
    scatter = math.sqrt(float((residuals**2).sum()) / (count - 3))
    memory = min(max(autocorrelation_time(residuals), _first_order_memory(residuals)), count / 6)
    dof = max(count / memory - 3, 3.0)
    solution = solve_legs(ground, unit * scatter**2 * memory, ratio, dof)
    covariance = solution.covariance + np.eye(3) * WANDER_M_S**2
    airspeed = replace(solution.true_airspeed, u=math.sqrt(float(covariance[0, 0])))
    refused = _why_not(solution, ground, ratio, scatter)
    # their own scatter made the covariance: the chance of the residuals says nothing
    solution = replace(
        solution, true_airspeed=airspeed, covariance=covariance, chance=1.0, widened=1.0, refused=refused
    )
    return solution, scatter


def _first_order_memory(residuals: Array) -> float:
    """Return the autocorrelation time of a first-order process, in samples.

    Fitting a circle takes slow noise out of so short a series; the coefficient's
    bias by that is mended (F. H. C. Marriott and J. A. Pope, Bias in the estimation of
    autocorrelations, Biometrika 41, 1954, from memory: (1 + 3 rho) / n; one more rho for each parameter).
    """
    count = len(residuals)
    centred = residuals - residuals.mean()
    total = float((centred**2).sum())
    if total == 0:
        return 1.0
    rho = float((centred[1:] * centred[:-1]).sum()) / total
    rho = min(max(rho + (1 + 3 * rho + 3 * (1 + rho)) / count, 0.0), 0.95)
    return (1 + rho) / (1 - rho)


def _drift(solution: WindSolution, ground: Array, ratio: Array) -> float:
    """Return the linear change of the true airspeed from the turn's beginning to its end, [m/s]."""
    count = len(ground)
    t = np.linspace(-0.5, 0.5, count)
    answer = np.array([solution.true_airspeed.value, 0.0, *solution.wind_m_s])
    for _ in range(10):
        air = ground - answer[2:]
        speed = np.maximum(np.hypot(air[:, 0], air[:, 1]), 1e-9)
        residuals = speed - ratio * (answer[0] + answer[1] * t)
        jacobian = np.column_stack([-ratio, -ratio * t, -air / speed[:, None]])
        step, *_ = np.linalg.lstsq(jacobian, -residuals, rcond=1e-10)
        answer = answer + step
    return float(answer[1])


def _why_not(solution: WindSolution, ground: Array, ratio: Array, scatter: float) -> str:
    airspeed = solution.true_airspeed.value
    if scatter > MOST_SCATTER * airspeed:
        return (
            f"the ground velocity runs on no circle: residuals of {scatter / kt:.1f} kt "
            f"where {MOST_SCATTER * airspeed / kt:.1f} kt may be"
        )
    if float(np.abs(ratio - 1).max()) > AIRSPEED_BAND:
        return f"the airspeed changed by {100 * float(np.ptp(ratio)):.0f} % in the turn"
    drift = _drift(solution, ground, ratio)
    if abs(drift) > MOST_DRIFT_M_S:
        return f"true airspeed or wind changed: a drift of {drift / kt:+.1f} kt over the turn fits better"
    return ""
