"""Turns, accelerations and glides are told from steady level flight, climbs and descents."""

import numpy as np
import pytest

from flyoff.core.units import degree, fpm, ft, kt, rpm
from flyoff.flights.grid import make_grid
from flyoff.flights.manoeuvres import find_manoeuvres
from flyoff.flights.steady import Condition, engine_reference, find_conditions, judged
from helpers.flights import made_log


def log_of(course, ias=None, height=None, **more):
    count = len(course)
    rng = np.random.default_rng(4)
    return made_log(
        count,
        ground_speed=100 * kt,
        ground_track=np.asarray(course) % 360 * degree,
        indicated_airspeed=(np.full(count, 100.0) if ias is None else ias) * kt + rng.normal(0, 0.2, count),
        pressure_altitude=(np.full(count, 3000.0) if height is None else height) * ft
        + rng.normal(0, 1, count),
        **more,
    )


def kinds(log):
    return [m.kind for m in find_manoeuvres(make_grid(log))]


@pytest.mark.parametrize("sign", [1, -1])
def test_a_continuous_turn_has_its_sense_and_size(sign):
    course = np.concatenate([np.full(60, 90.0), 90 + sign * 6.0 * np.arange(61), np.full(60, 90.0)])
    [turn] = find_manoeuvres(make_grid(log_of(course)))
    assert turn.kind == "turn"
    assert turn.rate == pytest.approx(sign * 6 * degree, rel=0.1)
    assert turn.change == pytest.approx(sign * 360 * degree, rel=0.05)


def test_a_half_turn_and_a_drifting_course_are_none():
    assert kinds(log_of(np.concatenate([np.full(60, 0.0), 3.0 * np.arange(61), np.full(60, 180.0)]))) == []
    assert kinds(log_of(0.5 * np.arange(900))) == []


def test_a_turn_ends_where_its_height_is_left():
    course = 6.0 * np.arange(180)
    height = 3000 - np.maximum(np.arange(180) - 90, 0) * 20.0
    [turn] = find_manoeuvres(make_grid(log_of(course, height=height)))
    assert turn.end_s - turn.start_s < 130


def test_speed_that_builds_or_falls():
    ias = np.concatenate(
        [np.full(60, 90.0), np.linspace(90, 120, 45), np.full(60, 120.0), np.linspace(120, 95, 40)]
    )
    found = find_manoeuvres(make_grid(log_of(np.full(len(ias), 45.0), ias)))
    assert [m.kind for m in found] == ["acceleration", "deceleration"]
    assert found[0].rate == pytest.approx(40 * kt / 60, rel=0.15)
    assert found[1].change == pytest.approx(-25 * kt, rel=0.25)


def test_nothing_is_done_on_the_ground():
    count = 200
    log = made_log(count, ground_speed=12 * kt, ground_track=(6 * np.arange(count)) % 360 * degree)
    assert kinds(log) == []
    assert find_conditions(log) == []


@pytest.mark.parametrize("speed_kt", [0.0, 10.0, 20.0])
def test_standing_and_taxiing_are_no_steady_condition(speed_kt):
    log = made_log(600, ground_speed=speed_kt * kt, ground_track=90 * degree, gps_altitude=500 * ft,
                   indicated_airspeed=speed_kt * kt)  # fmt: skip
    assert find_conditions(log) == []


def _descent(**engine):
    """Level at power for five minutes, then down at 700 ft/min for two."""
    height = np.concatenate([np.full(300, 6000.0), 6000 - 700 / 60 * np.arange(120)])
    at = np.arange(420) < 300
    more = {name: np.where(at, *values) for name, values in engine.items()}
    log = log_of(np.full(420, 90.0), height=height, **more)
    grid = make_grid(log)
    condition = Condition("descent", float(grid.time_s[310]), float(grid.time_s[410]))
    return judged(condition, grid, engine_reference(grid))


def test_a_glide_is_a_descent_without_power():
    assert _descent(fuel_flow=(1e-5, 1e-6)).phase == "glide"
    assert _descent(rpm=(2400 * rpm, 0.0)).phase == "glide"
    assert _descent(noise_level=(0.8, 0.1)).phase == "glide"
    assert _descent(fuel_flow=(1e-5, 6e-6), rpm=(2400 * rpm, 2000 * rpm)).phase == "descent"
    assert _descent().phase == "descent, engine not recorded"
    assert _descent(rpm=(2400 * rpm, 0.0)).kind == "descent"


def _judged(ias, height):
    log = log_of(np.full(len(ias), 90.0), ias, height)
    grid = make_grid(log)
    return judged(Condition("level", float(grid.time_s[0]), float(grid.time_s[-1])), grid, {}).flags


def test_rough_and_rising_air_are_flagged_with_their_number():
    rng = np.random.default_rng(8)
    smooth = _judged(np.full(120, 100.0), np.full(120, 3000.0))
    assert smooth == ()
    [rough] = _judged(100 + rng.normal(0, 2.0, 120), np.full(120, 3000.0))[:1]
    assert rough.startswith("rough air: airspeed scatters by 2.")
    wave = 3000 + 30 * np.sin(2 * np.pi * np.arange(240) / 120)
    [rising] = _judged(np.full(240, 100.0), wave)
    strays = float(rising.rsplit(" ", 2)[1])
    assert strays * fpm == pytest.approx(30 * ft * 2 * np.pi / 120, rel=0.25)
