"""Draws of a fitted airplane, that share the rounding of the printed values it was fitted to.

Each draw is where the fit would be had the printed values been other ones within their rounding,
the readings others within their doubt, and the priors centred elsewhere in their spread (the
randomised maximum a posteriori of J. M. Bardsley and others, SIAM J. Sci. Comput. 36, 2014, of a
linear model: from memory). The rounding comes from the streams that the handbook itself draws
from, so that the fit less the handbook is as sure as it is.
"""

import numpy as np

from flyoff.core.draws import Draws
from flyoff.core.typing import Array
from flyoff.model.solve import FitProblem, Solution

_LEAST_VARIANCE = 1e-12


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
    z = solution.distances[:, None]
    return np.concatenate([z, z + drawn], axis=1)[: len(problem.parameters)]


def _gain(solution: Solution) -> Array:
    """Return how far each value, one standard uncertainty higher, moves the fit."""
    weighted = solution.jacobian * solution.weights[:, None]
    information = weighted.T @ solution.jacobian + np.eye(solution.jacobian.shape[1])
    return np.asarray(np.linalg.solve(information, weighted.T))
