"""Drag, optimum speeds, generalised speed-power, cruise, climb and glide: one airplane's performance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.units import ft, hour, hp, kt, mi
from flyoff.physics import climb, cruise, drag, generalised, glide, optimum

POLAR = {"drag_area_m2": 0.45, "effective_span_m": 10.0}
TEXTBOOK = {"drag_area_m2": 0.025 * 16.165, "effective_span_m": 10.912 * 0.8**0.5}
START_KG, END_KG = 13127.5 / STANDARD_GRAVITY_M_S2, (13127.5 - 1632.5) / STANDARD_GRAVITY_M_S2
CONSUMPTION = 2.0025 / STANDARD_GRAVITY_M_S2 / (hp * hour)


@given(
    st.floats(0.5, 1.3),
    st.floats(400.0, 2500.0),
    st.floats(0.2, 1.0),
    st.floats(7.0, 14.0),
    st.floats(1.0, 8.0),
)
def test_level_speeds_solve_the_power_balance(density, mass, area, span, surplus):
    polar = {"drag_area_m2": area, "effective_span_m": span}
    power = surplus * optimum.minimum_power(density, mass, **polar)
    slow, fast = drag.level_speeds(thrust_power_w=power, density_kg_m3=density, mass_kg=mass, **polar)
    for speed in (slow, fast):
        needed = drag.level_power(true_airspeed_m_s=speed, density_kg_m3=density, mass_kg=mass, **polar)
        assert needed == pytest.approx(power, rel=1e-6)
    assert slow <= fast * (1 + 1e-9)


def test_too_little_power_is_no_speed():
    least = optimum.minimum_power(1.225, 1200.0, **POLAR)
    powers = np.array([0.0, 0.99, 1.01, np.nan]) * least
    speeds = drag.level_speed(thrust_power_w=powers, density_kg_m3=1.225, mass_kg=1200.0, **POLAR)
    assert np.isnan(speeds).tolist() == [True, True, False, True]


def test_optimum_speeds_are_optima():
    """An independent way: search over speeds."""
    speeds = np.linspace(20.0, 90.0, 70001)
    force = drag.level_drag(equivalent_airspeed_m_s=speeds, mass_kg=1200.0, **POLAR)
    for optimum_speed, cost in (
        (optimum.best_lift_to_drag_speed, force),
        (optimum.minimum_power_speed, force * speeds),
        (optimum.carson_speed, force / speeds),
    ):
        assert optimum_speed(1200.0, **POLAR) == pytest.approx(speeds[np.argmin(cost)], abs=0.002)
    assert 1200.0 * STANDARD_GRAVITY_M_S2 / force.min() == pytest.approx(
        optimum.best_lift_to_drag(**POLAR), rel=1e-6
    )


def test_constructed_textbook_numbers():
    """Constructed from the textbook's airplane by another hand: 50.1 hp and 110.0 ft/s, 144.8 ft/s."""
    assert optimum.minimum_power(1.225, START_KG, **TEXTBOOK) / hp == pytest.approx(50.1, abs=0.1)
    assert optimum.minimum_power_speed(START_KG, **TEXTBOOK) / ft == pytest.approx(110.0, abs=0.1)
    assert optimum.best_lift_to_drag_speed(START_KG, **TEXTBOOK) / ft == pytest.approx(144.8, abs=0.1)


@pytest.mark.parametrize(("speed_ft_s", "miles"), [(144.806, 1201.54), (200.0, 952.77)])
def test_constant_speed_range_by_integration(speed_ft_s, miles):
    """Integrated in 20,000 steps; miles as constructed by another hand from the inputs in U.S. units."""
    speed = speed_ft_s * ft
    found = cruise.constant_speed_range(
        equivalent_airspeed_m_s=speed,
        efficiency=0.8,
        specific_consumption_kg_j=CONSUMPTION,
        start_mass_kg=START_KG,
        end_mass_kg=END_KG,
        **TEXTBOOK,
    )
    edges = np.linspace(END_KG, START_KG, 20001)
    mass = (edges[1:] + edges[:-1]) / 2
    force = drag.level_drag(equivalent_airspeed_m_s=speed, mass_kg=mass, **TEXTBOOK)
    distance = np.sum(np.diff(edges) * 0.8 / (CONSUMPTION * force))
    assert found == pytest.approx(distance, rel=1e-7)
    assert found / mi == pytest.approx(miles, rel=1.2e-3)


def test_range_of_little_fuel_tends_to_the_specific_range():
    """The form that lacks a factor of two fails here."""
    speed = optimum.best_lift_to_drag_speed(START_KG, **TEXTBOOK)
    case = {"efficiency": 0.8, "specific_consumption_kg_j": CONSUMPTION, "start_mass_kg": START_KG}
    little = START_KG * (1 - 1e-6)
    constant = cruise.constant_speed_range(
        equivalent_airspeed_m_s=speed, end_mass_kg=little, **case, **TEXTBOOK
    )
    breguet = cruise.breguet_range(
        lift_to_drag=optimum.best_lift_to_drag(**TEXTBOOK), end_mass_kg=little, **case
    )
    assert constant == pytest.approx(breguet, rel=1e-5)


def test_endurance_by_integration():
    power = optimum.minimum_power(1.225, START_KG, **TEXTBOOK) / 0.8
    found = cruise.constant_lift_endurance(
        start_power_w=power, specific_consumption_kg_j=CONSUMPTION, start_mass_kg=START_KG, end_mass_kg=END_KG
    )
    edges = np.linspace(END_KG, START_KG, 20001)
    mass = (edges[1:] + edges[:-1]) / 2
    rate = CONSUMPTION * optimum.minimum_power(1.225, mass, **TEXTBOOK) / 0.8
    assert found == pytest.approx(np.sum(np.diff(edges) / rate), rel=1e-7)


def test_reserve_that_does_not_fit():
    left = cruise.cruise_fuel(
        usable_fuel_kg=np.array([100.0, 20.0]),
        reserve_time_s=2700.0,
        reserve_fuel_flow_kg_s=0.01,
        climb_fuel_kg=5.0,
    )
    np.testing.assert_allclose(left, [68.0, np.nan])
    distance = cruise.range_with_reserve(
        cruise_fuel_kg=left, specific_range_m_kg=8000.0, climb_distance_m=1e4
    )
    np.testing.assert_allclose(distance, [554000.0, np.nan])


@given(st.floats(40.0, 120.0), st.floats(0.5, 1.0), st.floats(0.8, 1.2))
def test_generalised_form_collapses_a_parabolic_polar(speed, sigma, mass_ratio):
    """Any weight and density fall on one line: the power balance at the standard ones."""
    mass = 1000.0 * mass_ratio
    power = drag.level_power(true_airspeed_m_s=speed, density_kg_m3=1.225 * sigma, mass_kg=mass, **POLAR)
    at = {"mass_kg": mass, "standard_mass_kg": 1000.0, "density_ratio": sigma}
    viw, piw = generalised.generalised_speed(speed, **at), generalised.generalised_power(power, **at)
    expected = drag.level_power(true_airspeed_m_s=viw, density_kg_m3=1.225, mass_kg=1000.0, **POLAR)
    assert piw == pytest.approx(expected, rel=1e-4)
    assert generalised.speed_at_condition(viw, **at) == pytest.approx(speed)
    assert generalised.power_at_condition(piw, **at) == pytest.approx(power)


def test_generalised_constructed_case():
    at = {"mass_kg": 2200.0, "standard_mass_kg": 2400.0, "density_ratio": 0.835860}
    assert generalised.generalised_speed(118 * kt, **at) / kt == pytest.approx(112.68, abs=0.005)
    assert generalised.generalised_power(97.5 * hp, **at) / hp == pytest.approx(101.57, abs=0.005)


def test_climb_time_against_the_logarithm():
    altitude = np.linspace(0.0, 3000.0, 7)
    ceiling_m, rate0 = 5000.0, 5.0
    rate = rate0 * (1 - altitude / ceiling_m)
    draws = np.stack([rate, 2 * rate], axis=-1)
    profile = climb.climb_profile(altitude, draws, np.full(7, 0.01), np.full(7, 45.0))
    exact = ceiling_m / rate0 * np.log(ceiling_m / (ceiling_m - altitude))
    np.testing.assert_allclose(profile.time_s[:, 0], exact, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(profile.time_s[:, 1], exact / 2, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(profile.fuel_kg, 0.01 * profile.time_s)
    assert (profile.distance_m[-1] < 45.0 * profile.time_s[-1]).all()
    assert climb.ceiling(altitude, draws[:, 0]).item() != climb.ceiling(
        altitude, draws[:, 0]
    )  # NaN: above the table


def test_ceilings_and_climbs_that_end():
    altitude = np.array([0.0, 2000.0, 4000.0])
    rates = np.array([[4.0, 4.0, -1.0], [2.0, 2.0, -2.0], [-2.0, 1.0, -3.0]])
    np.testing.assert_allclose(climb.ceiling(altitude, rates), [3000.0, np.nan, np.nan])
    service = climb.ceiling(altitude, rates[:, 0], climb.SERVICE_CEILING_RATE_M_S)
    assert service == pytest.approx(3000.0 - climb.SERVICE_CEILING_RATE_M_S / 4 * 2000)
    time = climb.climb_profile(altitude, rates[:, 0], np.ones(3), np.full(3, 50.0)).time_s
    assert np.isfinite(time[:2]).all()
    assert np.isnan(time[2])
    with pytest.raises(ValueError, match="altitudes that rise"):
        climb.climb_profile(altitude[::-1], rates[:, 0], np.ones(3), np.ones(3))


def test_climb_corrections():
    rate = climb.rate_of_climb_at_mass(
        rate_of_climb_m_s=5.0,
        mass_kg=1100.0,
        standard_mass_kg=1100.0,
        true_airspeed_m_s=45.0,
        density_kg_m3=1.0,
        effective_span_m=9.5,
    )
    assert rate == pytest.approx(5.0)
    # an independent way: the difference of two power balances
    power = 60000.0
    rates = []
    for mass in (1100.0, 1200.0):
        needed = drag.level_power(true_airspeed_m_s=45.0, density_kg_m3=1.0, mass_kg=mass, **POLAR)
        rates.append(float(climb.rate_of_climb(power - needed, mass)))
    corrected = climb.rate_of_climb_at_mass(
        rate_of_climb_m_s=rates[0],
        mass_kg=1100.0,
        standard_mass_kg=1200.0,
        true_airspeed_m_s=45.0,
        density_kg_m3=1.0,
        effective_span_m=10.0,
    )
    assert corrected == pytest.approx(rates[1], rel=1e-9)
    assert climb.geometric_rate_of_climb(700.0, 293.244, 278.244) == pytest.approx(737.7, abs=0.05)
    assert np.isnan(climb.climb_angle(60.0, 50.0))
    assert climb.rate_of_climb(1000.0, 100.0, 0.1) < climb.rate_of_climb(1000.0, 100.0)


def test_glide_agrees_with_drag():
    speed = float(optimum.best_lift_to_drag_speed(1200.0, **POLAR))
    ratio = glide.glide_ratio(equivalent_airspeed_m_s=speed, mass_kg=1200.0, **POLAR)
    assert ratio == pytest.approx(optimum.best_lift_to_drag(**POLAR))
    sink = glide.sink_rate(true_airspeed_m_s=speed, density_kg_m3=1.225, mass_kg=1200.0, **POLAR)
    assert speed / sink == pytest.approx(ratio, rel=1e-6)
    assert glide.glide_range(1000.0, ratio, speed, speed / 2) == pytest.approx(500.0 * ratio)
    assert np.isnan(glide.glide_range(1000.0, ratio, speed, speed))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: drag.effective_span(10.0, 1.5), r"span_efficiency must not exceed 1\.2; got 1\.5"),
        (lambda: optimum.carson_speed(-1.0, **POLAR), "mass_kg must be above 0; got -1"),
        (
            lambda: drag.level_drag(equivalent_airspeed_m_s=0.0, mass_kg=1.0, **POLAR),
            "equivalent_airspeed_m_s must be above 0",
        ),
        (lambda: cruise.specific_range(50.0, 0.0), "fuel_flow_kg_s must be above 0 kg/s"),
        (
            lambda: cruise.breguet_range(
                efficiency=0.8,
                specific_consumption_kg_j=7e-8,
                lift_to_drag=10.0,
                start_mass_kg=1.0,
                end_mass_kg=2.0,
            ),
            "end_mass_kg / start_mass_kg must not exceed 1; got 2",
        ),
        (lambda: cruise.endurance(-1.0, 1.0), "fuel_kg must not be below 0 kg"),
        (lambda: climb.rate_of_climb(1.0, 0.0), "mass_kg must be above 0"),
        (lambda: glide.glide_angle(0.0), "glide_ratio must be above 0"),
    ],
)
def test_errors(call, message):
    with pytest.raises(ValueError, match=message):
        call()
