"""Simulated legs: about 95 of 100 stated intervals hold the truth; a wind that changed is no answer."""

import math

import numpy as np
import pytest

from flyoff.core.units import degree, kt
from flyoff.reduction.legs import heading_conflict, solve_legs
from flyoff.reduction.statistics import coverage_factor, mean_of

TRIALS = 400


def _legs(rng, headings_deg, u_kt, wind_kt=20.0, tas_kt=130.0):
    headings = np.radians(headings_deg)
    from_deg = rng.uniform(0, 360)
    wind = -wind_kt * np.array([math.cos(math.radians(from_deg)), math.sin(math.radians(from_deg))])
    air = tas_kt * np.column_stack([np.cos(headings), np.sin(headings)])
    ground = air + wind + rng.normal(0, u_kt, air.shape)
    return ground * kt, np.tile(np.eye(2) * (u_kt * kt) ** 2, (len(headings), 1, 1)), wind * kt


@pytest.mark.parametrize(
    "headings", [(10, 130, 250), (0, 90, 180, 270), (20, 80, 200), (0, 90, 180, 200, 300)]
)
def test_intervals_of_airspeed_and_wind_hold_the_truth(headings):
    rng = np.random.default_rng(len(headings))
    tas, north = [], []
    for _ in range(TRIALS):
        ground, covariance, wind = _legs(rng, headings, 0.5)
        solution = solve_legs(ground, covariance)
        assert not solution.refused or solution.chance < 1e-3
        tas.append(abs(solution.true_airspeed.value - 130 * kt) <= solution.true_airspeed.u95)
        half = coverage_factor(solution.dof) * math.sqrt(solution.covariance[1, 1])
        north.append(abs(solution.wind_m_s[0] - wind[0]) <= half)
    for held in (tas, north):
        assert 0.92 <= np.mean(held) <= 0.985


@pytest.mark.parametrize("headings", [(10, 130, 250), (0, 90, 180, 270), (20, 80, 200)])
def test_intervals_of_the_mean_wind_hold_where_each_leg_has_its_own(headings):
    rng = np.random.default_rng(len(headings) + 1)
    tas, wind_held, u = [], [], []
    for _ in range(TRIALS):
        ground, covariance, wind = _legs(rng, headings, 0.1)
        departures = rng.normal(0, 0.5 * kt, ground.shape)
        solution = solve_legs(ground + departures, covariance, wander_m_s=0.5 * kt)
        tas.append(abs(solution.true_airspeed.value - 130 * kt) <= solution.true_airspeed.u95)
        u.append(math.sqrt(solution.covariance[2, 2]))
        wind_held.append(abs(solution.wind_m_s[1] - (wind + departures.mean(axis=0))[1]) <= 1.96 * u[-1])
    for held in (tas, wind_held):
        assert 0.92 <= np.mean(held) <= 0.985
    if headings == (10, 130, 250):  # evenly spread: each component by sigma over root three, worked by hand
        assert np.mean(u) / kt == pytest.approx(
            math.hypot(0.5 / math.sqrt(3), 0.1 * math.sqrt(2 / 3)), rel=0.05
        )


def test_a_wind_that_changed_is_refused_or_widened():
    rng = np.random.default_rng(5)
    passed = 0
    for _ in range(100):
        ground, covariance, _ = _legs(rng, (0, 90, 180, 270), 0.4)
        ground[2:] += np.array([6.0, -4.0]) * kt
        solution = solve_legs(ground, covariance)
        error = abs(solution.true_airspeed.value - 130 * kt)
        passed += not solution.refused and error > solution.true_airspeed.u95
    assert passed <= 5


def test_the_compass_shows_a_wind_that_changed_between_three_legs():
    rng = np.random.default_rng(7)
    headings = np.radians([10.0, 130.0, 250.0])
    chances = {}
    for change_kt in (0.0, 20.0):
        found = []
        for _ in range(50):
            ground, covariance, _ = _legs(rng, (10, 130, 250), 0.4)
            ground[2] += np.array([change_kt, 0.0]) * kt
            compass = headings + 5 * degree + rng.normal(0, 1.5 * degree, 3)
            true = solve_legs(ground, covariance).headings_rad(ground)
            found.append(heading_conflict(true, compass, 3 * degree))
        chances[change_kt] = np.array(found)
    assert (chances[0.0] > 1e-3).all()
    assert (chances[20.0] < 0.05).mean() > 0.3


def test_intervals_of_means_hold_the_truth_in_gusts_with_a_memory():
    rng = np.random.default_rng(11)
    held = []
    for _ in range(TRIALS):
        gust = np.zeros(240)
        for i in range(1, 240):
            gust[i] = 0.8 * gust[i - 1] + rng.normal(0, 0.6)
        rounded = np.round(100.3 + gust[120:] + rng.normal(0, 0.3, 120))
        estimate = mean_of(rounded, 1.0)
        held.append(abs(estimate.value - 100.3) <= estimate.u95)
    assert 0.9 <= np.mean(held) <= 0.99


def test_widening_by_the_residuals_keeps_what_was_known_of_the_scatter():
    # four legs leave one residual: what the scatter was known by beforehand counts on
    rng = np.random.default_rng(3)
    widths, held = [], []
    for _ in range(TRIALS):
        ground, covariance, _ = _legs(rng, (0, 90, 180, 270), 0.5)
        solution = solve_legs(ground, covariance, dof=12.0)
        if not solution.refused:
            widths.append(solution.true_airspeed.u95 / kt)
            held.append(abs(solution.true_airspeed.value - 130 * kt) <= solution.true_airspeed.u95)
    assert max(widths) < 2.0
    assert 0.92 <= np.mean(held) <= 0.985
