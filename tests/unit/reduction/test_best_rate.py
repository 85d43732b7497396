"""The speed of best rate of climb, and a climb brought to standard temperature."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.units import fpm, ft, hp, kt, lb
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.reduction.best_rate import Speed, best_rate
from flyoff.reduction.climb import PROPELLER_EFFICIENCY, at_standard_temperature, reduce_climbs, wind_rate
from flyoff.reduction.statistics import Estimate
from helpers.points import PLANE, by_hand, point_at


def speeds_of(rates, u_fpm=10.0, altitudes=None):
    return [
        Speed((i,), v * kt, (altitudes or {}).get(v, 5000.0) * ft, Estimate(r * fpm, u_fpm * fpm), True)
        for i, (v, r) in enumerate(rates.items())
    ]


def test_a_bend_beyond_its_uncertainty_gives_a_narrow_band():
    found = best_rate(speeds_of({60.0: 500.0, 75.0: 700.0, 90.0: 500.0}))
    assert found.speed.value == pytest.approx(75 * kt)
    assert found.rate.value == pytest.approx(700 * fpm)
    assert found.speed.u95 < 3 * kt
    assert not found.note


def test_a_slight_bend_gives_a_wide_band_that_says_so():
    found = best_rate(speeds_of({70.0: 690.0, 80.0: 700.0, 90.0: 685.0}, 20.0))
    assert 70 * kt < found.speed.value < 90 * kt
    assert found.speed.u95 >= 9 * kt
    assert "from 70 to 90 kt" in found.note


@pytest.mark.parametrize(
    ("rates", "why"),
    [
        ({70.0: 700.0, 90.0: 690.0}, "three speeds"),
        ({70.0: 700.0, 71.0: 705.0, 90.0: 690.0}, "three speeds"),
        ({70.0: 700.0, 80.0: 650.0, 90.0: 700.0}, "do not fall"),
        ({70.0: 700.0, 80.0: 650.0, 90.0: 560.0}, "beyond the slowest"),
        ({70.0: 500.0, 80.0: 590.0, 90.0: 640.0}, "beyond the fastest"),
        ({}, "three speeds"),
    ],
)
def test_no_answer_without_a_reason(rates, why):
    found = best_rate(speeds_of(rates))
    assert found.speed is None
    assert why in found.missing


def test_a_climb_flown_higher_does_not_move_the_best_speed():
    rates = {60.0: 500.0, 75.0: 700.0 - 27.5, 90.0: 500.0}
    found = best_rate(speeds_of(rates, 10.0, {75.0: 5500.0}))
    assert found.speed.value == pytest.approx(75 * kt)
    assert found.rate.value / fpm == pytest.approx(700 - 500 * 55 / 1000 / 3, abs=0.5)  # at the mean height


def test_the_interval_holds_the_best_speed_as_often_as_it_says():
    rng = np.random.default_rng(5)
    held, answers = 0, 0
    v = np.array([66.0, 74.0, 82.0, 90.0])
    for _ in range(400):
        rates = 700 - 0.5 * (v - 78) ** 2 + rng.normal(0, 20, 4)
        found = best_rate(speeds_of(dict(zip(v.tolist(), rates.tolist(), strict=True)), 20.0))
        if found.speed is not None:
            answers += 1
            held += abs(found.speed.value / kt - 78) <= found.speed.u95 / kt
    assert answers > 300
    assert held / answers >= 0.92


def _energy_rate(temperature_k, power_w, mass_kg, cas):
    """Return the rate of energy height of a parabolic airplane at 5,000 ft, worked out plainly."""
    density = 1.225 * float(density_ratio(5000 * ft, temperature_k))
    v = cas / math.sqrt(density / 1.225)  # at this speed equivalent airspeed is calibrated airspeed
    weight = mass_kg * 9.80665
    drag = density / 2 * v**2 * 0.5 + 2 * weight**2 / (math.pi * 100 * 0.8 * density * v**2)
    return (PROPELLER_EFFICIENCY.value * power_w - drag * v) / weight


@given(st.floats(-25.0, 30.0), st.booleans())
def test_a_climb_in_warm_or_cold_air_is_brought_to_standard_air(warmer, is_throttled):
    standard = float(temperature_at_altitude(5000 * ft))
    power, mass, cas = 140 * hp, 2400 * lb, 80 * kt
    day = power * math.sqrt(standard / (standard + warmer)) if is_throttled else power
    flown, expected = (
        _energy_rate(standard + warmer, day, mass, cas), _energy_rate(standard, power, mass, cas),
    )  # fmt: skip
    found = at_standard_temperature(
        Estimate(flown, 0.01), standard, Estimate(standard + warmer, 0.2), Estimate(day, 0.03 * day),
        mass * 9.80665, is_throttled,
    )  # fmt: skip
    assert found.value == pytest.approx(expected, abs=1e-9)
    assert found.u >= 0.2 / standard * (expected - 0.01)


def test_power_changes_by_a_hundredth_for_six_degrees():
    """SFTE Reference Handbook (2013), 10.2: 1 % for each 6 °C above standard; 140 hp at 2,400 lb, 75 %."""
    standard = float(temperature_at_altitude(0.0))
    thrust = PROPELLER_EFFICIENCY.value * 140 * hp / (2400 * lb * 9.80665)
    rates = [
        at_standard_temperature(
            Estimate(3.5, 0.0), standard, Estimate(standard + 6, 0.0), Estimate(140 * hp, 0.0),
            2400 * lb * 9.80665, is_throttled,
        ).value
        for is_throttled in (True, False)
    ]  # fmt: skip
    assert (rates[0] - rates[1]) / thrust == pytest.approx(0.01, abs=0.001)


def test_without_a_power_a_climb_is_not_brought_to_standard_temperature():
    climb = point_at("climb", 80.0, 5000.0, 15.0, 2200.0, 700.0)
    (one,) = reduce_climbs([climb], [type(by_hand(1))()], PLANE, None).climbs
    assert "not corrected for temperature" in one.missing
    assert "temperature and power" not in {c.name for c in one.corrections}


def test_a_wind_that_grows_along_the_course_is_taken_out():
    """4 kt in a thousand feet at 700 ft/min and 80 kt: (V / g) dW/dt is 20 ft/min."""
    growth_m_s2 = 4 * kt / (1000 * ft) * 700 * fpm
    still = point_at("climb", 80.0, 5000.0, 0.0, 2400.0, 700.0)
    point = point_at("climb", 80.0, 5000.0, 0.0, 2400.0, 700.0, wind_change=growth_m_s2 * 50.0)
    base = point_at("climb", 80.0, 5000.0, 0.0, 2400.0, 700.0, wind_change=0.0)
    assert wind_rate(still) is None
    gained = (wind_rate(point).value - wind_rate(base).value) / fpm
    assert gained == pytest.approx(80 * kt / 9.80665 * growth_m_s2 / fpm)
    assert gained == pytest.approx(20, abs=1)
    (one,) = reduce_climbs([point], [by_hand(140)], PLANE, None).climbs
    assert "wind gradient" in {c.name for c in one.corrections}


def test_the_curve_goes_through_the_climbs_and_has_its_top_at_the_best():
    found = best_rate(speeds_of({60.0: 500.0, 75.0: 700.0, 90.0: 500.0}))
    assert found.curve and found.speed and found.rate
    assert found.curve.speeds_m_s == pytest.approx((60.0 * kt, 90.0 * kt))
    for speed, rate in ((60.0, 500.0), (75.0, 700.0), (90.0, 500.0)):
        assert found.curve.rate_at(speed * kt).value == pytest.approx(rate * fpm, abs=1 * fpm)
    assert found.curve.rate_at(found.speed.value).value == pytest.approx(found.rate.value)
    assert found.curve.rate_at(found.speed.value + 1.0).value < found.rate.value
