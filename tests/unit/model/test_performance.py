"""The airplane at any condition, against slow twins, the demo's designs and common sense."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from flyoff.core.units import ft, hp, kt
from flyoff.demo.designs import DESIGNS
from flyoff.demo.handbook import best_climb
from flyoff.model import envelope, performance, propulsion
from flyoff.model.parameters import Model, parameters_of
from flyoff.model.performance import Air, standard_air
from flyoff.physics import propeller
from helpers.airplanes import KEYS, true_model

MASS_KG = 1250.0


def fixed_pitch(**values):
    known = replace(true_model("kattun").known, propeller="fixed pitch", blades=2)
    return Model(known, {**{p.name: p.prior for p in parameters_of(known)}, **values})


def with_draws(model, count=3):
    """Return the model with draws of its drag about the nominal."""
    area = model["drag_area_m2"] * np.linspace(1.0, 1.1, count)
    return Model(model.known, {**model.values, "drag_area_m2": area})


@pytest.mark.parametrize("key", KEYS)
def test_level_speed_and_full_power_are_those_of_the_design(key):
    design, model = DESIGNS[key], true_model(key)
    for altitude_m in (0.0, 1500.0, 4000.0):
        for deviation_k in (-20.0, 0.0, 20.0):
            air = standard_air(altitude_m, MASS_KG, deviation_k)
            power_w = 0.6 * design.rated_power_w
            speed = performance.level_speed(model, power_w, air)
            assert speed == pytest.approx(design.level_speed(power_w, air.density_kg_m3, MASS_KG), rel=1e-9)
            full = performance.full_power(model, air)
            assert full == pytest.approx(design.full_power(altitude_m, air.temperature_k), rel=1e-9)


@pytest.mark.parametrize("key", KEYS)
def test_best_climb_is_that_of_the_design(key):
    design, model = DESIGNS[key], true_model(key)
    for altitude_m in (0.0, 2500.0):
        rate, speed = envelope.best_rate_of_climb(model, standard_air(altitude_m, design.takeoff_mass_kg))
        known_rate, known_speed, _ = best_climb(design, design.takeoff_mass_kg, altitude_m)
        assert rate == pytest.approx(known_rate, rel=1e-4)
        assert speed == pytest.approx(known_speed, rel=3e-3)


def _slow_twin(model, power_w, air, rotation_hz):
    """Return the level speed by a bracketing search on thrust power less drag power."""
    density = float(air.density_kg_m3)

    def excess(v):
        thrust = propulsion.thrust_power(model, power_w, density, v, rotation_hz)
        return float(thrust - performance.drag_force(model, v, density, air.mass_kg) * v)

    speeds = np.linspace(150.0, 30.0, 241)
    first = next(i for i, v in enumerate(speeds) if excess(v) > 0)
    return brentq(excess, speeds[first], speeds[first - 1], xtol=1e-11)


@pytest.mark.parametrize("make", [lambda: true_model("kattun", blade_drag_ratio=0.05), fixed_pitch])
def test_level_speed_is_that_of_a_slow_twin(make):
    model = make()
    for altitude_m in (0.0, 3000.0):
        for share in (0.45, 0.75):
            air, power_w = standard_air(altitude_m, MASS_KG), share * model.known.rated_power_w
            assert performance.level_speed(model, power_w, air, 42.0) == pytest.approx(
                _slow_twin(model, power_w, air, 42.0), rel=1e-8
            )


def test_explicit_propeller_undoes_the_closed_form_of_physics():
    model = true_model("kattun")
    v, density, power_w = 60.0, 1.0, 120e3
    ideal = propeller.ideal_efficiency(power_w, density, v, model.known.diameter_m)
    drag = np.asarray(power_w * ideal * model["figure_of_merit"] / v)
    needed = propulsion.shaft_power_needed(model, drag, np.zeros(1), density, np.asarray(v), 45.0)
    assert needed.power_w == pytest.approx(power_w, rel=1e-12)


@pytest.mark.parametrize("make", [lambda: true_model("musselin", blade_drag_ratio=0.04), fixed_pitch])
def test_power_needed_and_level_speed_undo_each_other(make):
    model, air = make(), standard_air(2000.0, MASS_KG)
    powers = np.linspace(0.5, 0.8, 7) * model.known.rated_power_w
    speeds = performance.level_speed(model, powers, air)
    assert performance.power_needed(model, speeds, air) == pytest.approx(powers, rel=1e-6)


def test_slope_of_needed_power_is_its_derivative():
    model = true_model("kattun", blade_drag_ratio=0.04)
    air = standard_air(1000.0, MASS_KG)

    def needed(v):
        q = air.density_kg_m3 / 2
        drag = performance.drag_force(model, v, air.density_kg_m3, MASS_KG)
        parasite = q * v**2 * model["drag_area_m2"]
        slope = 2 * parasite / v - 2 * (drag - parasite) / v
        return propulsion.shaft_power_needed(model, drag, slope, air.density_kg_m3, np.asarray(v), 42.0)

    difference = (needed(60.001).power_w - needed(59.999).power_w) / 0.002
    assert needed(60.0).slope == pytest.approx(difference, rel=1e-6)


def test_too_little_power_is_nan_and_draws_come_last():
    model = with_draws(true_model("kattun"))
    powers = np.array([[20.0], [150.0]]) * hp
    speeds = performance.level_speed(model, powers, standard_air(2000.0, MASS_KG))
    assert speeds.shape == (2, 3)
    assert np.isnan(speeds[0]).all()
    assert (np.diff(speeds[1]) < 0).all()


def test_large_arrays_are_the_same_as_single_values():
    model = true_model("kattun")
    powers = np.linspace(100, 220, 40_000) * hp
    speeds = performance.level_speed(model, powers, standard_air(1000.0, MASS_KG))
    one = performance.level_speed(model, powers[12_345], standard_air(1000.0, MASS_KG))
    assert speeds[12_345] == pytest.approx(float(one), rel=1e-12)


def test_full_throttle_with_fixed_pitch_balances_thrust_and_drag():
    model, air = fixed_pitch(), standard_air(1500.0, MASS_KG)
    v = performance.full_throttle_speed(model, air)
    density = air.density_kg_m3
    thrust = propulsion.full_throttle_thrust(model, performance.full_power(model, air), density, v)
    assert thrust == pytest.approx(performance.drag_force(model, v, density, MASS_KG), rel=1e-9)


def test_fuel_flow_and_power_undo_each_other():
    model = true_model("damast")
    powers = np.linspace(0.4, 0.9, 11) * model.known.rated_power_w
    flow = performance.cruise_fuel_flow(model, powers)
    assert performance.power_at_fuel_flow(model, flow) == pytest.approx(powers, rel=1e-6)


def test_a_turn_costs_speed_and_a_climb_at_one_airspeed_costs_rate():
    model, air = true_model("kattun"), standard_air(2000.0, MASS_KG)
    level = performance.level_speed(model, 120e3, air)
    assert performance.level_speed(model, 120e3, air, load_factor=1.4) < level - 2.0
    steady = performance.rate_of_climb(model, 45.0, air)
    assert 0.97 < performance.rate_of_climb(model, 45.0, air, accelerating=True) / steady < 0.995


def test_speeds_stand_in_their_order():
    model, air = true_model("kattun"), standard_air(2000.0, MASS_KG)
    endurance = envelope.endurance_speed(model, air).true_airspeed_m_s
    distance = envelope.range_speed(model, air).true_airspeed_m_s
    trade = envelope.trade_speed(model, air).true_airspeed_m_s
    assert endurance < distance < trade
    steepest = envelope.best_angle_of_climb(model, air).true_airspeed_m_s
    assert steepest < envelope.best_rate_of_climb(model, air).true_airspeed_m_s


def test_ceilings_and_climb_sums():
    model, mass_kg = with_draws(true_model("kattun")), 1400.0
    service, absolute = envelope.ceilings(model, mass_kg)
    assert (service < absolute).all()
    at_service = envelope.best_rate_of_climb(model, standard_air(service, mass_kg)).value
    assert at_service / (ft / 60) == pytest.approx(100.0, abs=1.0)
    altitudes_m = np.linspace(0, 3000, 11)
    kelvin = np.asarray(standard_air(altitudes_m, mass_kg).temperature_k)
    climb = envelope.climb_path(model, altitudes_m, kelvin, mass_kg)
    assert climb.time_s.shape == (11, 3)
    rate = envelope.best_rate_of_climb(model, standard_air(np.array([[0.0], [3000.0]]), mass_kg)).value
    assert (climb.time_s[-1] > 3000 / rate[0]).all()
    assert (climb.time_s[-1] < 3000 / rate[1]).all()


def test_glide_and_sink_agree_and_stall_goes_with_the_root_of_weight():
    model = true_model("kattun")
    ratio, speed = performance.best_glide(model, MASS_KG)
    air = standard_air(0.0, MASS_KG)
    assert speed / performance.sink_rate(model, speed, air) == pytest.approx(float(ratio), rel=1e-3)
    assert performance.stall_speed(30.0, 1000.0, 810.0) == pytest.approx(27.0)


@settings(max_examples=60, deadline=None)
@given(
    share=st.floats(0.5, 0.9), altitude_m=st.floats(0.0, 3000.0), mass_kg=st.floats(1000.0, 1400.0),
    ratio=st.floats(-0.02, 0.08),
)  # fmt: skip
def test_what_must_hold_of_any_airplane(share, altitude_m, mass_kg, ratio):
    model = true_model("kattun", blade_drag_ratio=ratio)
    power_w, air = share * model.known.rated_power_w, standard_air(altitude_m, mass_kg)
    speed = performance.level_speed(model, power_w, air)
    assert performance.level_speed(model, 1.02 * power_w, air) > speed
    assert (
        performance.level_speed(
            model, power_w, Air(air.pressure_altitude_m, air.temperature_k, 1.05 * mass_kg)
        )
        < speed
    )
    dirty = true_model("kattun", blade_drag_ratio=ratio, drag_area_m2=1.05 * model["drag_area_m2"])
    assert performance.level_speed(dirty, power_w, air) < speed
    assert 40 * kt < speed < 250 * kt
