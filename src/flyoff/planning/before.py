"""What is known of the airplane to be flown before it flies: its handbook, and how far one may differ."""

import numpy as np

from flyoff.core.draws import Draws
from flyoff.dossier.read import Dossier
from flyoff.model.fit import Fit, fit_handbook
from flyoff.model.parameters import known_of, parameters_of, two_evidences
from flyoff.model.solve import Solution, make_problem, solve

TABLES = {"cruise", "climb", "glide"}
"""The handbook tables that tell of drag, power and consumption."""


def known_before(dossier: Dossier, fuel_density_kg_m3: float) -> Fit:
    """Return the airplane to be flown, from its handbook; without tables from its class alone.

    Raises
    ------
    Problems
        If the handbook contradicts physics.
    """
    if not TABLES & set(dossier.tables):
        return _class_alone(dossier)
    book = fit_handbook(dossier, fuel_density_kg_m3=fuel_density_kg_m3)
    problem = make_problem(book.known, (*book.parameters, *two_evidences()), book.observations)
    start = np.concatenate([book.solution.distances[: len(book.parameters)], np.zeros(2)])
    return Fit(book.known, problem, solve(problem, start, book.solution.model_error), book.draws)


def _class_alone(dossier: Dossier) -> Fit:
    known = known_of(dossier)
    parameters = parameters_of(known)
    count, none = len(parameters), np.zeros(0)
    solution = Solution(np.zeros(count), np.eye(count), {}, none, none, np.zeros((0, count)), none, none)
    return Fit(known, make_problem(known, parameters, ()), solution, Draws())
