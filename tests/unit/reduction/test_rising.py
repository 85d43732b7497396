"""Air that rose or sank under a point, found by the balance of power of all points."""

import math

import numpy as np
import pytest

from flyoff.core.units import fpm, ft, hp, kt, lb
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.reduction.climb import constant_airspeed_factor, reduce_climbs
from flyoff.reduction.cruise import speed_power
from flyoff.reduction.glide import glide_polar
from flyoff.reduction.rising import flag_rising_air, glides_apart, rising_air
from helpers.points import PLANE, by_hand, point_at

WEIGHT_N = 2400 * lb * 9.80665
PLATE_M2, PROPELLER_M2, SPAN_EFFICIENCY = 0.45, 0.05, 0.8
GLIDES = (("descent", 75.0), ("descent", 85.0), ("descent", 95.0), ("descent", 80.0))
FLOWN = (
    *(("level", v) for v in (85.0, 95.0, 105.0, 118.0, 126.0, 100.0, 112.0)),
    *(("climb", v) for v in (78.0, 78.0, 90.0, 90.0)),
    *GLIDES,
)


def flown(kind, tas, rising_fpm, noise_fpm, altitude=5000.0):
    """Return a point and its power of an airplane whose laws are a parabola's, in air that rises."""
    density = 1.225 * float(density_ratio(altitude * ft, float(temperature_at_altitude(altitude * ft))))
    v = tas * kt
    plate = PLATE_M2 + (PROPELLER_M2 if kind == "descent" else 0.0)
    induced = 2 * WEIGHT_N**2 / (math.pi * PLANE.span_m**2 * SPAN_EFFICIENCY * density * v)
    drag_w = density / 2 * v**3 * plate + induced
    efficiency = 0.76 + 0.15 * (v - 50) / 50
    moved = (rising_fpm + noise_fpm) * fpm
    if kind == "level":
        power_hp = (drag_w - WEIGHT_N * moved) / efficiency / hp
        return point_at(kind, tas, altitude, 0.0, 2400.0, 0.0, flow=power_hp / 13.0), by_hand(power_hp)
    power_hp = 140.0 if kind == "climb" else 0.0
    energy = (power_hp * hp * efficiency - drag_w) / WEIGHT_N
    flow, rpm = (11.0, 45.0) if kind == "climb" else (1.0, 15.0)

    def at(rate_m_s):
        return point_at(kind, tas, altitude, 0.0, 2400.0, rate_m_s / fpm, flow=flow, rpm=rpm)

    factor = constant_airspeed_factor(at(energy))
    return at(energy / (1 + factor) + moved), by_hand(max(power_hp, 1.0))


def flight(rising=None, noise_fpm=8.0, seed=1, conditions=FLOWN):
    rng = np.random.default_rng(seed)
    pairs = [
        flown(kind, tas, (rising or {}).get(i, 0.0), float(rng.normal(0, noise_fpm)))
        for i, (kind, tas) in enumerate(conditions)
    ]
    return [point for point, _ in pairs], [power for _, power in pairs]


@pytest.mark.parametrize("index", [2, 3, 7, 10, 12])
@pytest.mark.parametrize("rate_fpm", [-170.0, 180.0])
def test_one_point_in_moving_air_is_flagged_with_its_rate(index, rate_fpm):
    points, powers = flight({index: rate_fpm})
    found = flag_rising_air(points, powers, PLANE)
    assert [i for i, point in enumerate(found) if point.in_moving_air] == [index]
    (flag,) = found[index].flags
    assert ("rose" in flag) == (rate_fpm > 0)
    rate = rising_air(points, powers, PLANE)[index].rate
    assert abs(rate.value / fpm - rate_fpm) < rate.u95 / fpm < 130


def test_two_points_of_several_are_told():
    points, powers = flight({1: -160.0, 9: 170.0})
    flagged = [i for i, p in enumerate(flag_rising_air(points, powers, PLANE)) if p.in_moving_air]
    assert flagged == [1, 9]


TWO_GLIDES = FLOWN[:-2]


@pytest.mark.parametrize("rate_fpm", [-85.0, 85.0])
@pytest.mark.parametrize("moved", [len(TWO_GLIDES) - 2, len(TWO_GLIDES) - 1])
def test_of_two_glides_that_disagree_each_is_doubted(moved, rate_fpm):
    """Nothing but glides tells the propeller's drag in them, and what is assumed of it tells little."""
    points, powers = flight({moved: rate_fpm}, 2.0, conditions=TWO_GLIDES)
    found = flag_rising_air(points, powers, PLANE)
    for point in found[-2:]:
        (flag,) = point.flags
        assert "disagrees with the other glide" in flag
        assert "one of the two" in flag
    assert not any(point.flags for point in found[:-2])
    apart = glides_apart(points, powers, PLANE)
    sign = 1 if moved == apart.first else -1
    assert abs(apart.rate.value / fpm - sign * rate_fpm) < apart.rate.u95 / fpm < 150


@pytest.mark.parametrize("moved", [len(TWO_GLIDES) - 2, len(TWO_GLIDES) - 1])
def test_of_two_glides_the_one_that_no_airplane_could_fly_is_named(moved):
    found = flag_rising_air(*flight({moved: 220.0}, 2.0, conditions=TWO_GLIDES), PLANE)
    assert [i for i, point in enumerate(found) if point.in_moving_air] == [moved]


def test_two_glides_in_even_air_seldom_disagree():
    found = [glides_apart(*flight(None, 15.0, seed, TWO_GLIDES), PLANE) for seed in range(100)]
    assert np.mean([apart.is_significant for apart in found]) < 0.05
    assert glides_apart(*flight(None), PLANE) is None


def test_even_air_is_seldom_called_moving():
    flags = [p.in_moving_air for seed in range(40) for p in flag_rising_air(*flight(None, 15.0, seed), PLANE)]
    assert np.mean(flags) < 0.02


def test_rough_air_widens_what_a_point_is_held_to():
    calm, rough = (rising_air(*flight(None, noise, 4), PLANE)[0].rate.u for noise in (5.0, 60.0))
    assert rough > 1.5 * calm


def test_few_points_say_nothing_of_each_other():
    assert rising_air(*flight({0: 300.0}, conditions=FLOWN[:3]), PLANE) == ()


def test_points_without_a_power_are_not_judged():
    points, powers = flight({2: -300.0})
    powers[2] = type(powers[2])()
    assert 2 not in {found.point for found in rising_air(points, powers, PLANE)}


def test_what_flew_in_moving_air_makes_no_polar_and_no_best_rate():
    points, powers = flight({12: 180.0, 8: -170.0}, 2.0)
    flagged = flag_rising_air(points, powers, PLANE)
    polar, all_glides = glide_polar(flagged, PLANE), glide_polar(points, PLANE)
    assert [g.point for g in polar.glides] == [g.point for g in all_glides.glides]
    expected = (PLATE_M2 + PROPELLER_M2) / PLANE.wing_area_m2
    assert abs(polar.coefficients[0] - expected) < abs(all_glides.coefficients[0] - expected)
    level = flag_rising_air(*(flown := flight({2: 180.0}, 2.0)), PLANE)
    curve = speed_power(level, flown[1], PLANE)
    assert [i for i, p in enumerate(curve.points) if any("rose" in flag for flag in p.flags)] == [2]
    without = [p for i, p in enumerate(level) if i != 2], [p for i, p in enumerate(flown[1]) if i != 2]
    assert np.allclose(curve.coefficients, speed_power(*without, PLANE).coefficients)
    climbs = reduce_climbs(flagged, powers, PLANE, None)
    assert len(climbs.climbs) == 4
    assert 8 not in {member for speed in climbs.speeds for member in speed.members}
