"""Runway, balance, turning and geodesy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.physics import balance, geodesy, manoeuvre, runway

ARMS = np.array([1.90, 2.20, 2.20, 2.00, 1.90])
MASSES = np.array([500.0, 500.0, 1000.0, 1000.0, 800.0])


def test_factors_multiply():
    factors = (runway.TAKEOFF_FACTORS["dry_short_grass"], runway.TAKEOFF_FACTORS["safety"])
    assert runway.factored_distance(500.0, factors) == pytest.approx(500 * 1.2 * 1.33)
    assert runway.factored_distance(500.0, ()) == 500.0


def test_published_exponents():
    """Constructed from the handbook's exponents by another hand."""
    assert runway.takeoff_roll_at_condition(1.0, 1.0, 0.9) == pytest.approx(1.288, abs=5e-4)
    assert runway.ground_roll_in_wind(1.0, 0.1, 1.0) == pytest.approx(0.823, abs=5e-4)
    assert runway.ground_roll_in_wind(1.0, 2.0, 1.0) == 0.0
    assert runway.takeoff_air_distance_at_condition(100.0, 1.1, 1.0) == pytest.approx(100 * 1.1**2.2)
    with pytest.raises(ValueError, match="lift_off_speed_m_s must be above 0"):
        runway.ground_roll_in_wind(1.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="density_ratio must be above 0"):
        runway.landing_roll_at_condition(1.0, 1.0, 0.0)


@given(
    st.lists(st.tuples(st.floats(1.0, 500.0), st.floats(-2.0, 6.0)), min_size=1, max_size=8),
    st.floats(1.0, 200.0),
    st.floats(-2.0, 6.0),
)
def test_adding_and_taking_out_undo_each_other(items, extra_kg, extra_arm):
    masses, arms = (np.array(column) for column in zip(*items, strict=True))
    total, cg = masses.sum(), balance.centre_of_gravity(masses, arms)
    assert arms.min() - 1e-9 <= cg <= arms.max() + 1e-9
    loaded = balance.arm_after_change(total, cg, extra_kg, extra_arm)
    both = balance.centre_of_gravity(np.append(masses, extra_kg), np.append(arms, extra_arm))
    assert loaded == pytest.approx(both, abs=1e-9)
    assert balance.arm_after_change(total + extra_kg, loaded, -extra_kg, extra_arm) == pytest.approx(
        cg, abs=1e-6
    )


def test_balance_over_draws():
    masses = np.array([[700.0, 710.0], [80.0, 80.0]])
    cg = balance.centre_of_gravity(masses, np.array([2.0, 1.5]))
    assert cg.shape == (2,)
    assert cg[1] > cg[0]
    with pytest.raises(ValueError, match="total mass_kg must be above 0 kg"):
        balance.centre_of_gravity(np.array([0.0]), np.array([1.0]))


@given(st.floats(1.7, 2.4), st.floats(400.0, 1100.0))
def test_envelope_by_half_planes(arm, mass):
    """An independent way, for this convex envelope: on the inner side of every edge."""
    edges = zip(ARMS, MASSES, np.roll(ARMS, -1), np.roll(MASSES, -1), strict=True)
    sides = [(x2 - x1) * (mass - y1) - (y2 - y1) * (arm - x1) for x1, y1, x2, y2 in edges]
    if min(abs(side) for side in sides) > 1e-5:
        assert bool(balance.inside_envelope(arm, mass, ARMS, MASSES)) == (min(sides) > 0)
    forward, aft = balance.arm_limits(mass, ARMS, MASSES)
    margin = balance.envelope_margin(arm, mass, ARMS, MASSES)
    if margin > 1e-6:
        assert forward < arm < aft


def test_envelope_margin_is_signed_and_the_border_is_inside():
    arms = np.array([2.17, 2.20, 2.23, np.nan])
    np.testing.assert_allclose(
        balance.envelope_margin(arms, 750.0, ARMS, MASSES), [0.1, 0.0, -0.1, np.nan], atol=1e-9
    )
    assert balance.inside_envelope(arms, 750.0, ARMS, MASSES).tolist() == [True, True, False, False]
    assert all(balance.inside_envelope(ARMS, MASSES, ARMS, MASSES))
    forward, aft = balance.arm_limits(np.array([900.0, 1100.0]), ARMS, MASSES)
    np.testing.assert_allclose(forward, [1.95, np.nan])
    np.testing.assert_allclose(aft, [2.20, np.nan])
    with pytest.raises(ValueError, match="at least 3 corners, equally long; got 2 and 2"):
        balance.envelope_margin(2.0, 700.0, ARMS[:2], MASSES[:2])


def test_turns():
    bank = manoeuvre.bank_at_turn_rate(50.0, manoeuvre.turn_rate(50.0, 0.5))
    assert bank == pytest.approx(0.5)
    assert manoeuvre.turn_radius(50.0, 0.5) * manoeuvre.turn_rate(50.0, 0.5) == pytest.approx(50.0)
    assert manoeuvre.stall_speed(50.0, 900.0, 1000.0) / 50 == pytest.approx(0.9487, abs=5e-5)
    with pytest.raises(ValueError, match="bank_rad must be below"):
        manoeuvre.load_factor_in_turn(math.pi / 2)


@given(st.floats(-1.5, 1.5), st.floats(-3.1, 3.1), st.floats(0.0, 6.28), st.floats(10.0, 5e6))
def test_destination_is_where_distance_and_course_say(latitude, longitude, course, distance):
    end = geodesy.destination(latitude, longitude, course, distance)
    assert geodesy.geodesic_distance(latitude, longitude, *end) == pytest.approx(distance, abs=1e-3)
    back = geodesy.initial_course(latitude, longitude, *end)
    assert math.cos(back - course) == pytest.approx(1.0, abs=1e-6)


def test_geodesy_shapes_missing_values_and_errors():
    latitudes = np.array([0.1, np.nan])
    distance = geodesy.geodesic_distance(latitudes, 0.0, 0.2, 0.0)
    assert distance.shape == (2,)
    assert np.isnan(distance[1])
    latitude, longitude = geodesy.points_along(0.0, 0.0, 0.0, 0.2, np.linspace(0, 1, 3))
    np.testing.assert_allclose(longitude, [0.0, 0.1, 0.2], atol=1e-12)
    np.testing.assert_allclose(latitude, 0.0, atol=1e-12)
    with pytest.raises(ValueError, match="latitude_1_rad must not exceed"):
        geodesy.geodesic_distance(50.0, 8.0, 0.0, 0.0)
