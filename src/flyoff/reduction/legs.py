r"""True airspeed and wind from ground velocities on several headings.

On each leg the ground velocity is the air velocity plus the wind; on legs
flown at one airspeed the tips of the ground velocities therefore lie on a
circle whose centre is the wind and whose radius is the true airspeed. Three
unknowns, one equation for each leg: three legs decide, more can be checked.

.. math:: |\mathbf{v}_i - \mathbf{w}| = k_i V

with :math:`k_i` the ratio of a leg's indicated airspeed to the mean of all.
Solved by weighted least squares (Gauss-Newton) from the algebraic circle.

References: D. Gray, Using GPS to accurately establish true airspeed, 1998; R. T. Birge, The calculation
of errors by the method of least squares, Physical Review 40 (1932), from memory;
SFTE Reference Handbook, 2013, ch. 4; JCGM 100:2008 and JCGM 102:2011, 6.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from flyoff.core.typing import Array
from flyoff.core.units import kt
from flyoff.reduction.statistics import Estimate

LEAST_LEGS = 3
WORST_DILUTION = 2.0
"""Uncertainty of the true airspeed over that of one leg, above which headings lie too close; at best 0.58."""
REFUSED_BELOW = 1e-3
WIDENED_BELOW = 0.05
"""Chances of residuals so large, below which an answer is refused or widened."""
_ITERATIONS = 50


@dataclass(frozen=True)
class WindSolution:
    """True airspeed and wind of one group of legs: their means over the legs.

    `wind_m_s` is where the wind blows to, north and east; `covariance` is
    that of (true airspeed, north, east). `residuals_m_s` are those of each
    leg, `residuals_u_m_s` the standard uncertainty of one leg that they are judged by;
    `chance` that of residuals so large. `refused` says why the answer
    should not be used, empty where it may.
    """

    true_airspeed: Estimate
    wind_m_s: tuple[float, float]
    covariance: Array
    residuals_m_s: Array
    dof: float
    chance: float
    dilution: float
    widened: float = 1.0
    refused: str = ""
    residuals_u_m_s: Array = field(default_factory=lambda: np.zeros(0))

    @property
    def wind_speed(self) -> Estimate:
        """The wind's speed, [m/s]."""
        speed = math.hypot(*self.wind_m_s)
        if speed == 0:
            return Estimate(0.0, float(np.sqrt(np.trace(self.covariance[1:, 1:]) / 2)), self.dof)
        along = np.array(self.wind_m_s) / speed
        return Estimate(speed, float(np.sqrt(along @ self.covariance[1:, 1:] @ along)), self.dof)

    @property
    def wind_from_rad(self) -> float:
        """The direction the wind blows from, 0 to a full turn, [rad]."""
        north, east = self.wind_m_s
        return math.atan2(-east, -north) % (2 * math.pi)

    @property
    def wind_from_u_rad(self) -> float:
        """The standard uncertainty of the wind's direction, [rad]."""
        speed = math.hypot(*self.wind_m_s)
        if speed == 0:
            return math.pi
        across = np.array([-self.wind_m_s[1], self.wind_m_s[0]]) / speed
        return min(float(np.sqrt(across @ self.covariance[1:, 1:] @ across)) / speed, math.pi)

    def headings_rad(self, ground_m_s: Array) -> Array:
        """Return the true heading of each ground velocity, shape (n,), [rad]."""
        air = ground_m_s - np.array(self.wind_m_s)
        headings: Array = np.arctan2(air[:, 1], air[:, 0]) % (2 * np.pi)
        return headings


def solve_legs(
    ground_m_s: Array,
    covariance_m2_s2: Array,
    airspeed_ratio: Array | None = None,
    dof: float = math.inf,
    wander_m_s: float = 0.0,
) -> WindSolution:
    """Return true airspeed and wind from the mean ground velocities of legs.

    Parameters
    ----------
    ground_m_s
        North and east ground velocity of each leg, shape (n, 2). [m/s]
    covariance_m2_s2
        Their covariances, shape (n, 2, 2). [m²/s²]
    airspeed_ratio
        Each leg's airspeed over the mean of all, shape (n,); ones if None. [-]
    dof
        Degrees of freedom of the covariances. [-]
    wander_m_s
        Standard deviation of each component of a leg's own wind about that of all; not part of
        `covariance_m2_s2`. [m/s]

    Returns
    -------
    WindSolution
        The answer; `refused` says where it is none.

    Raises
    ------
    ValueError
        If there are fewer than three legs, or shapes do not agree.

    Notes
    -----
    Exact for one airspeed and one wind. With three legs there is no residual
    left to show that the wind changed between them. The wind asked for is the mean over
    the legs: what each leg's own wind departs by moves that mean too, so that part of it cancels.
    """
    ground = np.asarray(ground_m_s, dtype=float)
    count = len(ground)
    ratio = np.ones(count) if airspeed_ratio is None else np.asarray(airspeed_ratio, dtype=float)
    if ground.shape != (count, 2) or count < LEAST_LEGS:
        raise ValueError(f"ground_m_s must have shape (n, 2) with n at least 3; got {ground.shape}")
    if covariance_m2_s2.shape != (count, 2, 2) or ratio.shape != (count,):
        raise ValueError("covariance_m2_s2 and airspeed_ratio must have one entry for each leg")
    answer = _circle(ground)
    each = covariance_m2_s2 + np.eye(2) * wander_m_s**2
    jacobian, residuals, weight = _linearised(answer, ground, each, ratio)
    for _ in range(_ITERATIONS):
        step, *_ = np.linalg.lstsq(jacobian * weight[:, None], -residuals * weight, rcond=1e-10)
        answer = answer + step
        jacobian, residuals, weight = _linearised(answer, ground, each, ratio)
        if np.abs(step).max() < 1e-10:
            break
    normal = (jacobian * weight[:, None]).T @ (jacobian * weight[:, None])
    if not np.isfinite(answer).all() or np.linalg.cond(normal) > 1e10:
        return _refusal(ground, "the headings do not tell airspeed and wind apart")
    if answer[0] < 0:
        answer = answer * np.array([-1.0, 1.0, 1.0])
        jacobian, residuals, weight = _linearised(answer, ground, each, ratio)
    covariance = _propagated(
        jacobian, weight, np.asarray(np.linalg.inv(normal), float), covariance_m2_s2, wander_m_s
    )
    return _judged(answer, covariance, jacobian, residuals, weight, dof)


def _propagated(
    jacobian: Array, weight: Array, unscaled: Array, covariance: Array, wander_m_s: float
) -> Array:
    """Return the covariance of airspeed and mean wind from that of each leg (JCGM 102:2011, 6.2.1.3)."""
    gain = unscaled @ (jacobian * weight[:, None] ** 2).T
    moved = np.einsum("pn,nc->npc", gain, jacobian[:, 1:])  # by what each leg's ground velocity is off
    own = moved - np.vstack([np.zeros(2), np.eye(2)]) / len(jacobian)  # by what its wind departs
    known = np.einsum("npc,ncd,nqd->pq", moved, covariance, moved)
    result: Array = known + wander_m_s**2 * np.einsum("npc,nqc->pq", own, own)
    return result


def _circle(ground: Array) -> Array:
    """Return (radius, north, east) of the algebraic least-squares circle."""
    centre = ground.mean(axis=0)
    local = ground - centre
    matrix = np.column_stack([2 * local, np.ones(len(local))])
    solution, *_ = np.linalg.lstsq(matrix, (local**2).sum(axis=1), rcond=1e-10)
    radius = math.sqrt(max(solution[2] + solution[0] ** 2 + solution[1] ** 2, 1e-6))
    return np.array([radius, *(solution[:2] + centre)])


def _linearised(answer: Array, ground: Array, covariance: Array, ratio: Array) -> tuple[Array, Array, Array]:
    """Return the Jacobian, residuals and weights (1 / standard uncertainty) of each leg's equation."""
    air = ground - answer[1:]
    speed = np.maximum(np.hypot(air[:, 0], air[:, 1]), 1e-9)
    along = air / speed[:, None]
    residuals = speed - ratio * answer[0]
    jacobian = np.column_stack([-ratio, -along])
    variance = np.einsum("ni,nij,nj->n", along, covariance, along)
    return jacobian, residuals, 1 / np.sqrt(np.maximum(variance, 1e-12))


def _judged(
    answer: Array, covariance: Array, jacobian: Array, residuals: Array, weight: Array, dof: float
) -> WindSolution:
    spare = len(residuals) - 3
    chi2 = float(((residuals * weight) ** 2).sum())
    chance = float(stats.chi2.sf(chi2, spare)) if spare > 0 else 1.0
    one_leg = 1 / np.sqrt((weight**2).mean())
    unit = np.linalg.inv(jacobian.T @ jacobian)
    dilution = math.sqrt(unit[0, 0])
    refused = ""
    widened = 1.0
    if dilution > WORST_DILUTION:
        refused = (
            f"headings too close together: an error on one leg grows {dilution:.1f} times in true airspeed"
        )
    elif chance < REFUSED_BELOW:
        worst = float(np.abs(residuals).max())
        refused = (
            f"the legs do not fit one airspeed and one wind: residuals up to {worst / kt:.1f} kt "
            f"where about {one_leg / kt:.1f} kt is expected"
        )
    if chance < WIDENED_BELOW:
        # by the ratio of Birge; the degrees of freedom known before stay, and the residuals add theirs
        widened = math.sqrt(chi2 / spare)
        covariance = covariance * widened**2
        dof = dof + spare
    true_airspeed = Estimate(float(answer[0]), float(np.sqrt(covariance[0, 0])), dof)
    wind = (float(answer[1]), float(answer[2]))
    return WindSolution(
        true_airspeed, wind, covariance, residuals, dof, chance, dilution, widened, refused, 1 / weight
    )


def _refusal(ground: Array, why: str) -> WindSolution:
    nothing = Estimate(math.nan, math.nan)
    blank = np.full((3, 3), np.nan)
    residuals = np.full(len(ground), np.nan)
    return WindSolution(nothing, (math.nan, math.nan), blank, residuals, 1.0, 0.0, math.inf, 1.0, why)


def heading_conflict(true_heading_rad: Array, magnetic_heading_rad: Array, u_heading_rad: float) -> float:
    """Return the chance that headings differ so much from those that the wind solution asks for.

    One constant difference, the magnetic variation, is allowed for.

    Parameters
    ----------
    true_heading_rad, magnetic_heading_rad
        By the solution and by the compass, shape (n,). [rad]
    u_heading_rad
        Standard uncertainty of one compass heading. [rad]

    Returns
    -------
    float
        The chance by the chi-squared distribution with n - 1 degrees of freedom.
    """
    difference = np.asarray(true_heading_rad) - np.asarray(magnetic_heading_rad)
    mean = math.atan2(float(np.sin(difference).sum()), float(np.cos(difference).sum()))
    apart: NDArray[np.float64] = np.angle(np.exp(1j * (difference - mean)))
    return float(stats.chi2.sf(float((apart**2).sum()) / u_heading_rad**2, len(apart) - 1))
