"""Extra drag in climbs at full power, of cooling flaps and trim: fitted only where the data ask for it.

Level speeds tell the drag without it, climbs at full power the drag with it. A climb at one
speed alone cannot tell it from an engine that gives less than its rating: drag takes of a rate
as the cube of the speed, an engine hardly more than in proportion to it.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import format_number
from flyoff.core.typing import Array
from flyoff.model.evidence import equivalent
from flyoff.model.parameters import Known, Parameter
from flyoff.model.solve import FitProblem, Solution, solve, twice_unlikelihood

_STEP = 1e-3
_LEAST = 4
"""Level speeds, and climbs at full power, below which nothing is told apart."""
_COUNTS = 0.5
"""What a parameter that cannot be negative counts as."""
_ASKED = 0.25
"""Share of what the parameter costs at which a fit is made again: the score foretells too little."""
_SPREAD = 1.1
"""Least ratio of the fastest full-power climb to the slowest that parts drag from power."""


class Taken(NamedTuple):
    """A fit as it is kept, and what is said of an extra drag in it."""

    problem: FitProblem
    solution: Solution
    remarks: tuple[str, ...] = ()


def climb_drag(known: Known) -> Parameter:
    """Return the extra drag area, nothing by its prior."""
    area_m2 = known.wing_area_m2
    return Parameter(
        "climb_drag_area_m2", "extra drag area in climbs at full power", "m²", 0.0, 0.006 * area_m2, 0.0,
        0.03 * area_m2,
        "S. J. Miley and others, SAE 770467, and NASA CR-3405 (from memory): cooling takes 5 to 27 % of the "
        "cruise drag of light airplanes, here a fifth of CD0 0.03",
        logarithmic=False,
    )  # fmt: skip


def with_climb_drag(problem: FitProblem, solution: Solution) -> Taken:
    """Return the fit with an extra drag in climbs where it lowers the information criterion, else as it is.

    The residuals are asked first, by the score that the parameter would have (C. R. Rao,
    1948: from memory), so that most fits are made once.
    """
    threshold = _threshold(problem, solution)
    if not score_drop(problem, solution) > _ASKED * threshold:
        return Taken(problem, solution)
    larger, start = _larger(problem, solution)
    found = solve(larger, start)
    if not twice_unlikelihood(solution) - twice_unlikelihood(found) > threshold:
        return Taken(problem, solution)
    return Taken(larger, found, (_said(larger, found),))


def score_drop(problem: FitProblem, solution: Solution) -> float:
    """Return by how much twice the objective would fall with an extra drag, to first order; 0 for none."""
    if not _can_tell(problem):
        return 0.0
    larger, start = _larger(problem, solution)
    moved = start.copy()
    moved[len(problem.parameters)] = _STEP
    both = larger.predicted(np.stack([start, moved], axis=1))
    slope = (both[:, 1] - both[:, 0]) / _STEP / solution.sigma
    weighted = solution.jacobian * solution.weights[:, None]
    information = weighted.T @ solution.jacobian + np.eye(weighted.shape[1])
    across = weighted.T @ slope
    score = float(slope @ (solution.weights * solution.standardised))
    left = float(slope @ (solution.weights * slope) + 1 - across @ np.linalg.solve(information, across))
    return score**2 / left if score > 0 else 0.0


def _can_tell(problem: FitProblem) -> bool:
    """Tell whether there are level speeds, and climbs at full power at speeds apart.

    With a fixed pitch the bend of the propeller's polar, straight in the model, looks alike.
    """
    if problem.known.propeller == "fixed pitch":
        return False
    levels = sum(group == "speed" for group in problem.groups)
    speeds = [equivalent(o) for o in problem.observations if o.kind == "rate of climb"]
    climbs = [v for v in speeds if np.isfinite(v)]
    return levels >= _LEAST and len(climbs) >= _LEAST and max(climbs) > _SPREAD * min(climbs)


def _threshold(problem: FitProblem, solution: Solution) -> float:
    """Return what the parameter costs by the information criterion for few values.

    Of H. Akaike, IEEE Trans. Automatic Control 19, 1974, as K. P. Burnham and D. R. Anderson,
    Sociological Methods & Research 33, 2004, give it for few values. Parameters that priors hold
    count by what the evidence moves them (C. M. Hurvich and others, J. R. Statist. Soc. B 60,
    1998), one that cannot be negative counts half (R. M. Kuiper and others, Biometrika 98, 2011;
    all from memory).
    """
    count = len(problem.values)
    information = (solution.jacobian * solution.weights[:, None]).T @ solution.jacobian
    moved = float(np.trace(np.linalg.solve(information + np.eye(len(information)), information)))
    if count <= moved + 2:
        return float("inf")
    fewer, more = (2 * k * count / (count - k - 1) for k in (moved, moved + _COUNTS))
    return more - fewer


def _larger(problem: FitProblem, solution: Solution) -> tuple[FitProblem, Array]:
    """Return the problem with an extra drag, and distances at which it is nothing."""
    count = len(problem.parameters)
    larger = replace(problem, parameters=(*problem.parameters, climb_drag(problem.known)))
    return larger, np.insert(solution.distances, count, 0.0)


def _said(problem: FitProblem, solution: Solution) -> str:
    place = len(problem.parameters) - 1
    extra = problem.parameters[place]
    area_m2 = float(extra.value(solution.distances[place]))
    u95_m2 = COVERAGE_95 * extra.u_prior * float(solution.covariance[place, place]) ** 0.5
    clean_m2 = float(problem.model(solution.distances)["drag_area_m2"])
    extra_area = f"{format_number(area_m2, 3)} ± {format_number(u95_m2, 3)} m²"
    share = f"{format_number(100 * area_m2 / clean_m2, 0)} %"
    return (
        f"climbs at full power show an extra drag area, as of cooling flaps or trim: {extra_area}, {share} "
        "of the zero-lift drag area in level flight"
    )
