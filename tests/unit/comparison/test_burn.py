"""Cruise with falling weight against a closed form, a general solver and plain sums."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from flyoff.comparison.burn import Rates, burnt, fuel_for, rates_through
from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.physics.cruise import constant_speed_range

SPEED, EFFICIENCY, CONSUMPTION, AREA, SPAN = 60.0, 0.8, 7.6e-8, 0.4, 9.8


def held(speed):
    return speed


def flow_at(mass_kg):
    """Fuel flow at constant speed: parabolic drag at sea level."""
    q = SEA_LEVEL_DENSITY_KG_M3 / 2 * SPEED**2
    drag = q * AREA + (mass_kg * STANDARD_GRAVITY_M_S2 / SPAN) ** 2 / (np.pi * q)
    return CONSUMPTION * drag * SPEED / EFFICIENCY


def at_constant_speed():
    masses = np.array([1100.0, 1220.0, 1340.0])
    return rates_through(masses, np.full((3, 1), SPEED), flow_at(masses)[:, None])


def test_constant_speed_is_the_closed_form():
    distance, _ = burnt(at_constant_speed(), held, np.array([1338.0]), np.array([166.0]))
    exact = constant_speed_range(
        equivalent_airspeed_m_s=SPEED, efficiency=EFFICIENCY, specific_consumption_kg_j=CONSUMPTION,
        drag_area_m2=AREA, effective_span_m=SPAN, start_mass_kg=1338.0, end_mass_kg=1172.0,
    )  # fmt: skip
    assert distance[0] == pytest.approx(exact, rel=1e-6)


def test_constant_lift_coefficient_is_breguets_range():
    """Speed as the root of weight, flow as its 1.5th power, given by their quadratics."""
    masses = np.array([1100.0, 1220.0, 1340.0])
    speeds, flows = 1.6 * np.sqrt(masses), 2.2e-7 * masses**1.5
    rates = rates_through(masses, speeds[:, None], flows[:, None])
    distance, time = burnt(rates, held, np.array([1330.0]), np.array([220.0]))
    assert distance[0] == pytest.approx(1.6 / 2.2e-7 * np.log(1330 / 1110), rel=1e-3)
    assert time[0] == pytest.approx(2 / 2.2e-7 * (1110**-0.5 - 1330**-0.5), rel=1e-3)


def test_a_general_solver_agrees_on_the_fuel():
    rates = rates_through(
        np.array([1100.0, 1220.0, 1340.0]),
        np.array([[62.5], [61.2], [59.4]]), np.array([[0.0101], [0.0102], [0.0104]]),
    )  # fmt: skip

    def ground(speed):
        return np.sqrt(speed**2 - 6.0**2) - 9.0

    fuel, time = fuel_for(rates, ground, np.array([1335.0]), np.array([700e3]))

    def slope(_, state):
        speed, flow = rates.at(np.array([1335.0 - state[0]]))
        return [float(flow[0] / ground(speed)[0]), float(1 / ground(speed)[0])]

    solved = solve_ivp(slope, (0.0, 700e3), [0.0, 0.0], rtol=1e-10, atol=1e-10)
    assert fuel[0] == pytest.approx(solved.y[0, -1], rel=1e-6)
    assert time[0] == pytest.approx(solved.y[1, -1], rel=1e-6)


def test_without_weight_it_is_a_sum_on_a_card():
    rates = Rates(1000.0, np.full((1, 3), 60.0), np.full((1, 3), 0.01))
    fuel, time = fuel_for(rates, lambda v: v - 10.0, np.full(3, 1000.0), np.full(3, 500e3))
    assert fuel == pytest.approx(np.full(3, 100.0))
    assert time == pytest.approx(np.full(3, 10_000.0))


@given(st.floats(1.0, 200.0), st.floats(0.1, 100.0))
def test_more_fuel_goes_farther(fuel, more):
    near, far = (
        burnt(at_constant_speed(), held, np.array([1340.0]), np.array([kg]))[0][0]
        for kg in (fuel, fuel + more)
    )
    assert far > near


def test_no_way_made_has_no_fuel():
    rates = Rates(1000.0, np.full((1, 1), 60.0), np.full((1, 1), 0.01))
    fuel, _ = fuel_for(rates, lambda v: np.where(v > 70.0, v, np.nan), np.array([1000.0]), np.array([1e5]))
    assert np.isnan(fuel[0])
