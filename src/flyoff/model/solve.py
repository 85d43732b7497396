"""Maximum a posteriori by robust least squares, with its covariance and the model's own error.

Residuals are in standard uncertainties; a parameter's distance from its prior
is one more residual. A value far off pulls no harder than one two standard
uncertainties off (P. J. Huber, Robust Estimation of a Location Parameter,
Annals of Mathematical Statistics 35, 1964, in its smooth form). What the
measurements' uncertainty leaves unexplained is the model's own error,
estimated for each kind and added to it (M. C. Kennedy and A. O'Hagan, Bayesian
Calibration of Computer Models, J. R. Statist. Soc. B 63, 2001, in its simplest
form: from memory).
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from flyoff.core.typing import Array
from flyoff.model.evidence import Observation, equivalent
from flyoff.model.parameters import Known, Model, Parameter
from flyoff.model.predict import Batch, batches_of, predictions

ROBUST_AT = 2.0
BAD_AT = 4.0
_STEP = 1e-4
_ROUNDS = 3
_LOST = 8.0
_GROUPS = {
    "speed at power": "speed",
    "speed at fuel flow": "speed",
    "full-throttle speed": "speed",
    "rate at fuel flow": "rate of climb",
    "climb time": "climb sums",
    "climb fuel": "climb sums",
    "sink rate": "glide",
    "glide ratio": "glide",
}


TYPICAL_ERROR: Mapping[str, float] = {
    "speed": 0.002,
    "fuel flow": 0.005,
    "rate of climb": 0.006,
    "glide": 0.01,
}
"""Relative error to expect of a model of so few parameters before any of it is seen, by group.

Common practice, no source; held to simulation by tests/recovery/test_model_recovery.py.
"""
PRINTED_ERROR: Mapping[str, float] = {**TYPICAL_ERROR, "rate of climb": 0.002}
"""The same where all is printed: climbs then are at one speed for each altitude, in still air."""
OTHER_ERROR = 0.01
_TRIED = np.geomspace(1e-5, 0.3, 200)
_ALIKE_ALTITUDE_M = 2500.0
_ALIKE_SPEED_RATIO = 0.15


def group_of(kind: str) -> str:
    """Return the group of kinds whose model error is one number."""
    return _GROUPS.get(kind, kind)


@dataclass(frozen=True)
class FitProblem:
    """What is to be fitted: observations as arrays, and the parameters."""

    known: Known
    parameters: tuple[Parameter, ...]
    observations: tuple[Observation, ...]
    batches: tuple[Batch, ...]
    values: Array
    u: Array
    shared: Array
    shared_names: tuple[str, ...]
    scale: Array
    groups: tuple[str, ...]
    alikeness: Array

    def model(self, distances: Array) -> Model:
        """Return the model at distances from the priors, shape (parameters,) or (parameters, draws)."""
        values = {p.name: p.value(distances[i]) for i, p in enumerate(self.parameters)}
        return Model(self.known, values)

    def predicted(self, distances: Array) -> Array:
        """Return what is foretold of each observation, errors in common too, shape (observations, draws)."""
        columns, count = distances.reshape(len(distances), -1), len(self.parameters)
        model = self.model(columns[:count])
        return predictions(model, self.batches, len(self.values)) + self.errors(columns[count:])

    def errors(self, distances: Array) -> Array:
        """Return what the errors in common add to each observation, shape (observations, draws)."""
        return (
            np.asarray(self.shared[:, : len(distances)] @ distances) if len(distances) else np.zeros((1, 1))
        )


@dataclass(frozen=True)
class Solution:
    """The fit: distances from the priors, covariance, model error by group, residuals and sensitivities.

    `standardised` are residuals over `sigma`: measurement uncertainty and model error together.
    """

    distances: Array
    covariance: Array
    model_error: Mapping[str, float]
    predicted: Array
    standardised: Array
    jacobian: Array
    weights: Array
    sigma: Array


def make_problem(
    known: Known, parameters: Sequence[Parameter], observations: Sequence[Observation]
) -> FitProblem:
    """Return observations and parameters as one problem."""
    values = np.array([o.value for o in observations])
    # rates of climb end in nothing at the ceiling: their error is no share of them
    largest = max((abs(o.value) for o in observations if group_of(o.kind) == "rate of climb"), default=1.0)
    scale = np.array([largest if group_of(o.kind) == "rate of climb" else abs(o.value) for o in observations])
    return FitProblem(
        known, tuple(parameters), tuple(observations), tuple(batches_of(observations)), values,
        _own_doubt(observations), _shared(observations), _shared_names(observations), scale,
        tuple(group_of(o.kind) for o in observations), _alikeness(observations),
    )  # fmt: skip


def _own_doubt(observations: Sequence[Observation]) -> Array:
    """Return standard uncertainties, larger where one rounded value is printed again and again.

    A fuel flow that hangs on power alone is rounded once, however many altitudes it is printed for.
    """
    printed = [o.kind == "fuel flow" and o.half_digit > 0 for o in observations]
    same = [(o.value, o.power_ratio, o.configuration) for o in observations]
    often = Counter(s for s, is_printed in zip(same, printed, strict=True) if is_printed)
    repeats = [often[s] if is_printed else 1 for s, is_printed in zip(same, printed, strict=True)]
    return np.array([o.u for o in observations]) * np.sqrt(repeats)


def _shared_names(observations: Sequence[Observation]) -> tuple[str, ...]:
    return tuple(sorted({name for o in observations for name, _ in o.shared}))


def _shared(observations: Sequence[Observation]) -> Array:
    """Return what one standard uncertainty of each error in common adds, shape (observations, errors)."""
    names = _shared_names(observations)
    effects = [[dict(o.shared).get(name, 0.0) for name in names] for o in observations]
    return np.array(effects, dtype=np.float64).reshape(len(observations), len(names))


def _alikeness(observations: Sequence[Observation]) -> Array:
    """Return how alike the model's error is for each pair: 1 at one condition, 0 far apart."""
    groups = np.array([group_of(o.kind) for o in observations])
    altitude = np.array([o.pressure_altitude_m for o in observations])
    speed = np.array([np.nan_to_num(equivalent(o), nan=1.0) for o in observations])
    apart = np.square((altitude[:, None] - altitude) / _ALIKE_ALTITUDE_M)
    apart = apart + np.square(np.log(speed[:, None] / speed) / _ALIKE_SPEED_RATIO)
    return np.asarray((groups[:, None] == groups) * np.exp(-apart / 2))


def solve(
    problem: FitProblem, start: Array | None = None, model_error: Mapping[str, float] | None = None
) -> Solution:
    """Return the fit; with `model_error` given, it is not estimated anew."""
    count = len(problem.parameters) + problem.shared.shape[1]
    z = np.zeros(count) if start is None else start[:count]
    z = np.append(z, np.zeros(count - len(z)))
    error = dict.fromkeys(problem.groups, 0.0) if model_error is None else dict(model_error)
    for _ in range(_ROUNDS if model_error is None else 1):
        z = _minimise(problem, z, _sigma(problem, error))
        if model_error is None:
            error = _model_error(problem, z, error)
    if model_error is None:
        z = _minimise(problem, z, _sigma(problem, error))
    sigma = _sigma(problem, error)
    residual, jacobian = _linearised(problem, z, sigma)
    weights = (1 + np.square(residual / ROBUST_AT)) ** -0.5
    covariance = _sandwiched(problem, jacobian, weights, sigma, error)
    predicted = problem.values - residual * sigma
    return Solution(z, covariance, error, predicted, residual, jacobian, weights, sigma)


def twice_unlikelihood(solution: Solution) -> float:
    """Return minus twice the logarithm of the likelihood and the priors at a fit, but for a constant."""
    misfit = np.sum(np.square(_softened(solution.standardised)[0]))
    return float(misfit + np.sum(np.square(solution.distances)) + 2 * np.sum(np.log(solution.sigma)))


def _sigma(problem: FitProblem, error: Mapping[str, float]) -> Array:
    relative = np.array([error[group] for group in problem.groups])
    return np.hypot(problem.u, relative * problem.scale)


def _linearised(problem: FitProblem, z: Array, sigma: Array) -> tuple[Array, Array]:
    """Return residuals and sensitivities in standard uncertainties: one call for all of the differences."""
    count = len(z)
    steps = np.concatenate([np.zeros((count, 1)), _STEP * np.eye(count)], axis=1)
    predicted = problem.predicted(z[:, None] + steps)
    residual = (problem.values - predicted[:, 0]) / sigma
    jacobian = (predicted[:, 1:] - predicted[:, :1]) / _STEP / sigma[:, None]
    lost = ~np.isfinite(residual) | ~np.all(np.isfinite(jacobian), axis=1)
    residual[lost], jacobian[lost] = _LOST, 0.0
    return residual, jacobian


def _softened(residual: Array) -> tuple[Array, Array]:
    """Return residuals whose squares are the robust loss, and their slopes."""
    grown = np.sqrt(1 + np.square(residual / ROBUST_AT))
    soft = np.sign(residual) * ROBUST_AT * np.sqrt(2 * np.maximum(grown - 1, 0.0))
    near = np.abs(residual) < 1e-6
    slope = np.where(near, 1.0, residual / np.where(near, 1.0, grown * soft))
    return np.where(near, residual, soft), slope


def _minimise(problem: FitProblem, start: Array, sigma: Array) -> Array:
    memory: dict[bytes, tuple[Array, Array]] = {}

    def linear(z: Array) -> tuple[Array, Array]:
        if z.tobytes() not in memory:
            memory.clear()
            memory[z.tobytes()] = _linearised(problem, z, sigma)
        return memory[z.tobytes()]

    def residuals(z: Array) -> Array:
        return np.concatenate([_softened(linear(z)[0])[0], z])

    def jacobian(z: Array) -> Array:
        residual, slopes = linear(z)
        return np.concatenate([-_softened(residual)[1][:, None] * slopes, np.eye(len(z))])

    limits = [p.bounds for p in problem.parameters] + [(-8.0, 8.0)] * (len(start) - len(problem.parameters))
    low, high = np.array(limits).T
    inside = np.clip(start, low + 1e-6, high - 1e-6)
    return np.asarray(
        least_squares(residuals, inside, jacobian, bounds=(low, high), xtol=1e-9, ftol=1e-9, max_nfev=60).x
    )


def _model_error(problem: FitProblem, z: Array, error: Mapping[str, float]) -> dict[str, float]:
    """Return for each group the error that makes its residuals as large as they should be."""
    sigma = _sigma(problem, error)
    standard, jacobian = _linearised(problem, z, sigma)
    weights = (1 + np.square(standard / ROBUST_AT)) ** -0.5
    information = (jacobian * weights[:, None]).T @ jacobian + np.eye(len(z))
    leverage = np.einsum("ij,jk,ik->i", jacobian, np.linalg.inv(information), jacobian) * weights
    residual = standard * sigma
    found: dict[str, float] = {}
    is_printed = all(o.evidence == "handbook" for o in problem.observations)
    usual = PRINTED_ERROR if is_printed else TYPICAL_ERROR
    for group in dict.fromkeys(problem.groups):
        rows = np.array([g == group for g in problem.groups]) & (np.abs(standard) < 2 * BAD_AT)
        free = float(np.sum(1 - leverage[rows]))
        typical = usual.get(group, OTHER_ERROR)
        found[group] = _likeliest_error(residual[rows], problem.u[rows], problem.scale[rows], free, typical)
    return found


def _likeliest_error(residual: Array, u: Array, scale: Array, free: float, typical: float) -> float:
    """Return the most probable relative error beside u.

    A prior proportional to s exp(-s / typical) keeps it off 0, where few or
    coarsely rounded values would put it: an error that cannot be seen is not
    an error that is not there (Y. Chung and others, Psychometrika 78, 2013:
    from memory).
    """
    variance = np.square(u) + np.square(_TRIED[:, None] * scale)
    squares = np.minimum(np.square(residual) / variance, BAD_AT**2)
    share = free / max(residual.size, 1)
    chance = -0.5 * (squares.sum(axis=1) + share * np.log(variance).sum(axis=1))
    return float(_TRIED[np.argmax(chance + np.log(_TRIED) - _TRIED / typical)])


def _sandwiched(
    problem: FitProblem, jacobian: Array, weights: Array, sigma: Array, error: Mapping[str, float]
) -> Array:
    """Return the covariance of the distances where neighbouring values share the model's error.

    Residuals of one misfit are alike at neighbouring conditions, so many values are worth
    few (the sandwich of P. J. Huber, 1967: from memory).
    """
    information = (jacobian * weights[:, None]).T @ jacobian + np.eye(jacobian.shape[1])
    bread = np.linalg.inv(information)
    own = np.array([error[group] for group in problem.groups]) * problem.scale / sigma
    together = problem.alikeness * np.outer(own, own)
    np.fill_diagonal(together, 1.0)
    weighted = jacobian * weights[:, None]
    return np.asarray(bread @ (weighted.T @ together @ weighted + np.eye(len(bread))) @ bread)
