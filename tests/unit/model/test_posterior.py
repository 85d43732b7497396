"""Draws of a fit: as wide as its covariance says, and moving with the rounding of what was printed."""

import numpy as np
import pytest

from flyoff.core.units import ft
from helpers.airplanes import KEYS, dossier_of, handbook_fit


@pytest.mark.parametrize("key", KEYS)
def test_draws_have_the_covariance_of_the_fit(key):
    fit = handbook_fit(key)
    count = len(fit.parameters)
    wanted = fit.solution.covariance[:count, :count]
    scale = np.sqrt(np.diag(wanted))
    found = np.cov(fit.distances[:, 1:])
    assert np.allclose(found / np.outer(scale, scale), wanted / np.outer(scale, scale), atol=0.12)
    # a critical altitude is a bend: what rounding does to it is not quite even to both sides
    assert np.allclose(fit.distances[:, 1:].mean(axis=1) / scale, fit.distances[:, 0] / scale, atol=0.2)


@pytest.mark.parametrize("key", KEYS)
def test_the_rounding_of_a_printed_value_moves_fit_and_handbook_together(key):
    """What the fit says of the printed values that weigh most follows the streams of their rounding."""
    fit = handbook_fit(key)
    said = fit.problem.predicted(fit.distances)[:, 1:]
    solution, found = fit.solution, []
    weighted = solution.jacobian * solution.weights[:, None]
    bread = np.linalg.inv(weighted.T @ solution.jacobian + np.eye(len(solution.distances)))
    leverage = np.einsum("ij,jk,ik->i", solution.jacobian, bread, weighted)
    u = np.sqrt(np.einsum("ij,jk,ik->i", solution.jacobian, solution.covariance, solution.jacobian))
    for row in np.argsort(-leverage)[:12]:
        observation = fit.observations[row]
        rounding = fit.draws.rectangular(observation.stream)
        share = observation.half_digit / 3**0.5 / solution.sigma[row]
        found.append((np.corrcoef(said[row], rounding)[0, 1], leverage[row] * share / u[row]))
    got, wanted = np.array(found).T
    assert np.all(got > 0)
    assert np.median(np.abs(got - wanted)) < 0.05


def test_a_printed_value_has_one_stream_in_fit_and_handbook():
    fit, dossier = handbook_fit("kattun"), dossier_of("kattun")
    table = dossier.tables["cruise"]
    streams = {o.stream for o in fit.observations if o.kind == "speed at power"}
    corners = table.corners(
        "true airspeed", pressure_altitude=6000 * ft, ISA_deviation=0.0, percent_power=0.65
    )
    assert corners
    assert {f"{table.file}#true airspeed#{c.where}" for c in corners} <= streams
