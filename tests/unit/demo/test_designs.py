"""The invented airplanes obey physics: power against drag, at every height they can reach."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.units import fpm, ft, kt
from flyoff.demo.designs import DESIGNS, VADMEL_AS_FLOWN
from flyoff.demo.flight import (
    ALTIMETER_SETTING_PA,
    FIELD_ELEVATION_M,
    ISA_DEVIATION_K,
    Flown,
    fly,
    true_altitude,
    wind_at,
)
from flyoff.demo.handbook import best_climb, cruise_power, takeoff_distances
from flyoff.physics.altimetry import pressure_altitude
from flyoff.physics.atmosphere import density_at_altitude, density_ratio, temperature_at_altitude

keys = st.sampled_from(sorted(DESIGNS))


@pytest.fixture(scope="module")
def flown() -> Flown:
    return fly()


@given(keys, st.floats(0.5, 1.0), st.floats(0, 12_000), st.floats(0.8, 1.0))
def test_level_speed_balances_power(key: str, share: float, altitude_ft: float, loading: float) -> None:
    design = DESIGNS[key]
    density = float(density_at_altitude(altitude_ft * ft))
    mass_kg, power_w = loading * design.takeoff_mass_kg, share * design.rated_power_w
    speed = float(design.level_speed(power_w, density, mass_kg))
    thrust_power_w = power_w * float(design.efficiency(power_w, density, speed))
    drag_n = float(design.drag_force(speed * np.sqrt(density / 1.225), mass_kg))
    assert thrust_power_w == pytest.approx(drag_n * speed, rel=1e-4)


@given(keys, st.floats(0.3, 1.2), st.floats(1800, 2700), st.floats(0, 20_000))
def test_no_engine_gives_more_than_it_has(key: str, share: float, rpm: float, altitude_ft: float) -> None:
    design = DESIGNS[key]
    kelvin = float(temperature_at_altitude(altitude_ft * ft))
    power_w = float(cruise_power(design, share, rpm, altitude_ft * ft, kelvin))
    assert np.isnan(power_w) or power_w <= float(design.full_power(altitude_ft * ft, kelvin)) * 1.0001


@given(keys, st.floats(0, 8000), st.floats(-20, 20), st.floats(0.75, 0.98))
def test_lighter_and_colder_leaves_the_runway_sooner(
    key: str, altitude_ft: float, deviation: float, loading: float
) -> None:
    design = DESIGNS[key]
    kelvin = float(temperature_at_altitude(altitude_ft * ft)) + deviation
    heavy = takeoff_distances(design, design.takeoff_mass_kg, altitude_ft * ft, kelvin)
    light = takeoff_distances(design, loading * design.takeoff_mass_kg, altitude_ft * ft, kelvin)
    cold = takeoff_distances(design, design.takeoff_mass_kg, altitude_ft * ft, kelvin - 5)
    assert light[0] < heavy[0] and light[1] < heavy[1]
    assert cold[0] < heavy[0] and cold[1] < heavy[1]


def test_turbocharging_holds_the_climb() -> None:
    gain = {
        key: best_climb(DESIGNS[key], DESIGNS[key].takeoff_mass_kg, 12_000 * ft)[0] / fpm for key in DESIGNS
    }
    assert max(gain, key=lambda key: gain[key]) == "damast"


def test_level_flight_is_at_the_speed_of_its_power(flown: Flown) -> None:
    for step, begin, end in flown.steps:
        if step.kind != "level":
            continue
        at = slice(begin + int(step.settle_s), end - 3)
        density = density_at_altitude(flown["pressure_altitude_m"][at], ISA_DEVIATION_K)
        power_w = flown["power_ratio"][at] * VADMEL_AS_FLOWN.rated_power_w
        steady = VADMEL_AS_FLOWN.level_speed(power_w, density, flown["mass_kg"][at])
        assert np.abs(flown["true_airspeed_m_s"][at] - steady).mean() / kt < 0.6, step.name


def test_climb_has_the_excess_power(flown: Flown) -> None:
    for step, begin, end in flown.steps:
        if step.kind != "climb":
            continue
        at = slice(begin + int(step.settle_s), end - 3)
        altitude, speed, mass = (
            flown[name][at] for name in ("pressure_altitude_m", "true_airspeed_m_s", "mass_kg")
        )
        kelvin = np.asarray(temperature_at_altitude(altitude, ISA_DEVIATION_K))
        sigma = np.asarray(density_ratio(altitude, kelvin))
        power_w = flown["power_ratio"][at] * VADMEL_AS_FLOWN.rated_power_w
        thrust_power_w = power_w * VADMEL_AS_FLOWN.efficiency(power_w, 1.225 * sigma, speed)
        excess_w = thrust_power_w - VADMEL_AS_FLOWN.drag_force(speed * np.sqrt(sigma), mass) * speed
        # Tapeline rate, less what goes into gathering speed, seen on a pressure altimeter in warm air.
        gathering = np.gradient(speed) * speed / STANDARD_GRAVITY_M_S2
        rate = (excess_w / (mass * STANDARD_GRAVITY_M_S2) - gathering) * (kelvin - ISA_DEVIATION_K) / kelvin
        assert flown["climb_m_s"][at].mean() / fpm == pytest.approx(float(rate.mean()) / fpm, abs=8), (
            step.name
        )


def test_warm_air_stands_taller() -> None:
    sea_level = float(pressure_altitude(0.0, ALTIMETER_SETTING_PA))
    assert float(true_altitude(sea_level)) == pytest.approx(0.0, abs=0.01)
    field = float(pressure_altitude(FIELD_ELEVATION_M, ALTIMETER_SETTING_PA))
    assert float(true_altitude(field)) == pytest.approx(FIELD_ELEVATION_M, rel=0.04)
    # Common practice, no source: 4 % for each 10 °C, here 3.2 % of some 2,300 m.
    assert float(true_altitude(2300.0)) - (2300.0 - sea_level) == pytest.approx(0.03 * 2300, rel=0.1)


def test_wind_blows_from_where_it_comes() -> None:
    east, north = (float(part) / kt for part in wind_at(4000 * ft))
    assert np.hypot(east, north) == pytest.approx(20)
    assert np.degrees(np.arctan2(-east, -north)) % 360 == pytest.approx(262)
