r"""Several levels that share a smooth wind profile, where that fits better than a wind of its own for each.

Each level's answer (true airspeed, wind north, wind east) with its covariance
is taken as an observation. One wind for all levels, or one that changes
linearly with height, is fitted to all at once by generalised least squares;
the levels' true airspeeds gain through their correlation with the wind. A
profile is taken only if Akaike's criterion, chi-squared plus twice the number
of unknowns, prefers it to separate winds, and if its chi-squared has a chance of 5 % or more.

References: H. Akaike, A new look at the statistical model identification,
IEEE Transactions on Automatic Control 19 (1974) (from memory); JCGM 102:2011, 6.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy import stats

from flyoff.core.typing import Array
from flyoff.core.units import kt
from flyoff.reduction.legs import WindSolution
from flyoff.reduction.statistics import Estimate

LEAST_CHANCE = 0.05
DEPARTURE_M_S = 0.5 * kt
"""[m/s] How far a level's wind may depart from a smooth profile; common practice, no source."""


@dataclass(frozen=True)
class Profile:
    """Which profile the levels share, and by how much Akaike's criterion prefers it to separate winds."""

    kind: str
    preferred_by: float
    chance: float

    def __str__(self) -> str:
        """Return it in words."""
        how = "one wind" if self.kind == "constant" else "a wind changing linearly with height"
        return (
            f"{how} at all levels, preferred to separate winds by {self.preferred_by:.1f} "
            f"in Akaike's criterion (chance of its residuals {self.chance:.2f})"
        )


def share_profile(
    solutions: list[WindSolution], altitude_m: Array
) -> tuple[list[WindSolution], Profile | None]:
    """Return the levels' answers, on a shared wind profile where that fits better.

    Parameters
    ----------
    solutions
        The answer of each level, none of them refused.
    altitude_m
        The level of each, shape (n,). [m]

    Returns
    -------
    tuple
        The answers, and the profile they share; as given and None where winds of their own fit better.
    """
    count = len(solutions)
    best: tuple[float, str, float, Array, Array, Array] | None = None
    for kind, terms in (("constant", 1), ("linear", 2)):
        if count < terms + 1:
            continue
        design = _design(np.asarray(altitude_m, float), terms)
        answer, covariance, chi2 = _fitted(solutions, design)
        spare = 3 * count - design.shape[1]
        chance = float(stats.chi2.sf(chi2, spare))
        gain = 2 * spare - chi2
        if chance >= LEAST_CHANCE and gain > 0 and (best is None or gain > best[0]):
            best = gain, kind, chance, answer, covariance, design
    if best is None:
        return solutions, None
    gain, kind, chance, answer, covariance, design = best
    return _placed(solutions, design, answer, covariance), Profile(kind, gain, chance)


def _design(altitude_m: Array, terms: int) -> Array:
    """Return what each level's airspeed and wind are of the unknowns: airspeeds, then wind by height."""
    count = len(altitude_m)
    height = (altitude_m - altitude_m.mean()) / 1000.0
    design = np.zeros((3 * count, count + 2 * terms))
    for i in range(count):
        design[3 * i, i] = 1.0
        for term in range(terms):
            design[3 * i + 1, count + 2 * term] = height[i] ** term
            design[3 * i + 2, count + 2 * term + 1] = height[i] ** term
    return design


def _fitted(solutions: list[WindSolution], design: Array) -> tuple[Array, Array, float]:
    observed = np.concatenate([[s.true_airspeed.value, *s.wind_m_s] for s in solutions])
    weight = np.zeros((len(observed), len(observed)))
    for i, solution in enumerate(solutions):
        own = solution.covariance + np.diag([0.0, DEPARTURE_M_S**2, DEPARTURE_M_S**2])
        weight[3 * i : 3 * i + 3, 3 * i : 3 * i + 3] = np.linalg.inv(own)
    covariance: Array = np.asarray(np.linalg.inv(design.T @ weight @ design), np.float64)
    answer = covariance @ design.T @ weight @ observed
    residual = observed - design @ answer
    return answer, covariance, float(residual @ weight @ residual)


def _placed(
    solutions: list[WindSolution], design: Array, answer: Array, covariance: Array
) -> list[WindSolution]:
    """Return each level's answer between its own and what the profile says, by the weight of each.

    The profile's word on one level rests on that level too: best linear unbiased prediction.
    """
    apart = np.diag([0.0, DEPARTURE_M_S**2, DEPARTURE_M_S**2])
    placed = []
    for i, solution in enumerate(solutions):
        rows = design[3 * i : 3 * i + 3]
        smooth = rows @ answer
        gain = apart @ np.linalg.inv(solution.covariance + apart)
        own = np.array([solution.true_airspeed.value, *solution.wind_m_s])
        airspeed, north, east = (float(v) for v in smooth + gain @ (own - smooth))
        left = (np.eye(3) - gain) @ rows
        spread = left @ covariance @ left.T + gain @ solution.covariance
        estimate = Estimate(airspeed, float(np.sqrt(spread[0, 0])), solution.dof)
        placed.append(replace(solution, true_airspeed=estimate, wind_m_s=(north, east), covariance=spread))
    return placed
