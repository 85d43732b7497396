"""Draws of a fitted airplane, that share the rounding of the printed values it was fitted to.

Each draw is where the fit would be had the printed values been other ones within their rounding,
the readings others within their doubt, and the priors centred elsewhere in their spread (the
randomised maximum a posteriori of J. M. Bardsley and others, SIAM J. Sci. Comput. 36, 2014, of a
linear model: from memory). The rounding comes from the streams that the handbook itself draws
from, so that the fit less the handbook is as sure as it is.
"""

import itertools

import numpy as np

from flyoff.core.draws import Draws
from flyoff.core.typing import Array
from flyoff.model.solve import FitProblem, Solution

_LEAST_VARIANCE = 1e-12
_WIDE = 0.25
_REACH = 1.2
_FARTHEST = 2.5


def drawn_distances(problem: FitProblem, solution: Solution, draws: Draws, key: str) -> Array:
    """Return distances from the priors, nominal first and draws after, shape (parameters, 1 + draws)."""
    gain = _gain(solution)
    rounded = [i for i, o in enumerate(problem.observations) if o.stream]
    size = np.array([problem.observations[i].half_digit for i in rounded]) / solution.sigma[rounded]
    by_rounding = gain[:, rounded] * size
    rest = solution.covariance - by_rounding @ by_rounding.T / 3
    variance, directions = np.linalg.eigh((rest + rest.T) / 2)
    root = directions * np.sqrt(np.maximum(variance, _LEAST_VARIANCE)) @ directions.T
    names = [*(p.name for p in problem.parameters), *problem.shared_names]
    drawn = root @ np.stack([draws.normal(f"{key}#model#{name}") for name in names])
    if rounded:
        drawn = drawn + by_rounding @ np.stack(
            [draws.rectangular(problem.observations[i].stream) for i in rounded]
        )
    drawn = drawn - gain @ (_bends(problem, solution, drawn) / solution.sigma[:, None])
    z = solution.distances[:, None]
    return np.concatenate([z, z + drawn], axis=1)[: len(problem.parameters)]


def _bends(problem: FitProblem, solution: Solution, drawn: Array) -> Array:
    """Return how far predictions bend away from straight lines, shape (observations, draws).

    To second order along the directions that the evidence leaves wide: a draw far along one of
    them would otherwise leave the values that it was fitted to.
    """
    variance, directions = np.linalg.eigh(solution.covariance)
    wide = np.flatnonzero(variance > _WIDE**2)
    spread = np.sqrt(variance[wide])
    steps = directions[:, wide] * spread * _REACH
    pairs = list(itertools.combinations(range(len(wide)), 2))
    both = np.array([steps[:, k] + steps[:, m] for k, m in pairs]).reshape(len(pairs), -1).T
    moved = np.concatenate([np.zeros((len(variance), 1)), steps, -steps, both], axis=1)
    found = problem.predicted(solution.distances[:, None] + moved)
    here, up, down, joint = np.split(found, np.cumsum([1, len(wide), len(wide)]), axis=1)
    along = np.clip((directions[:, wide].T @ drawn) / spread[:, None] / _REACH, -_FARTHEST, _FARTHEST)
    bends = (up + down - 2 * here) / 2 @ np.square(along)
    for column, (k, m) in enumerate(pairs):
        twist = joint[:, column] - up[:, k] - up[:, m] + here[:, 0]
        bends += twist[:, None] * (along[k] * along[m])
    return np.asarray(np.where(np.isfinite(bends), bends, 0.0))


def _gain(solution: Solution) -> Array:
    """Return how far each value, one standard uncertainty higher, moves the fit."""
    weighted = solution.jacobian * solution.weights[:, None]
    information = weighted.T @ solution.jacobian + np.eye(solution.jacobian.shape[1])
    return np.asarray(np.linalg.solve(information, weighted.T))
