"""Each fault that real logs have, injected: found, listed where it is, and nothing else touched."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flyoff.core.units import degree, ft, kt
from flyoff.flights.log import Log
from flyoff.flights.repairs import repair
from helpers.flights import made_log

RNG = np.random.default_rng(1)
COUNT = 400


def flying(**changed) -> Log:
    t = np.arange(COUNT)
    noise = RNG.normal(0, 1, (5, COUNT))
    channels = {
        "latitude": 0.8 + t * 1e-5,
        "longitude": 0.15 + t * 1e-5,
        "ground_speed": 60.0 + 0.2 * noise[0],
        "ground_track": 0.8 + 0.01 * noise[1],
        "indicated_airspeed": 60.0 + 0.3 * noise[2],
        "pressure_altitude": 1200 + 2 * noise[3],
        "outside_air_temperature": np.round(285 + 0.1 * noise[4], 1),
    }
    return made_log(COUNT, **{**channels, **changed})


def with_values(log, channel, where, value):
    values = log.channels[channel].copy()
    values[where] = value
    return Log(log.name, log.time_s, log.lines, {**log.channels, channel: values}, {})


def kinds(log):
    return sorted({(r.kind, r.channel) for r in log.repairs})


def test_a_good_log_is_left_alone():
    log = flying()
    fixed = repair(log)
    assert fixed.repairs == ()
    for name, values in log.channels.items():
        assert np.array_equal(fixed.channels[name], values)


@pytest.mark.parametrize(
    ("channel", "value", "kind"),
    [
        ("indicated_airspeed", 999.9 * kt, "impossible value"),
        ("indicated_airspeed", 95.0, "spike"),
        ("pressure_altitude", 1500.0, "spike"),
        ("pressure_altitude", -9999.0, "impossible value"),
        ("outside_air_temperature", 320.0, "spike"),
        ("outside_air_temperature", 0.0, "impossible value"),
        ("ground_track", -1 * degree, "no course"),
        ("latitude", 2.0, "impossible value"),
    ],
)
def test_single_readings(channel, value, kind):
    fixed = repair(with_values(flying(), channel, 200, value))
    assert kinds(fixed) == [(kind, channel)]
    assert fixed.repairs[0].lines == (202, 202)
    assert fixed.repairs[0].count == 1
    assert np.isnan(fixed.channels[channel]).sum() == 1
    assert np.isnan(fixed.channels[channel][200])


def test_a_step_is_no_spike():
    t = np.arange(COUNT)
    log = flying(pressure_altitude=np.where(t < 200, 1200.0, 1500.0) + RNG.normal(0, 2, COUNT))
    assert repair(log).repairs == ()


def test_a_frozen_position_takes_speed_and_course_with_it():
    log = flying()
    for name in ("latitude", "longitude", "ground_speed", "ground_track"):
        log = with_values(log, name, slice(100, 130), log.channels[name][100])
    fixed = repair(log)
    assert {r.kind for r in fixed.repairs} == {"frozen position"}
    assert {r.channel for r in fixed.repairs} == {"latitude", "longitude", "ground_speed", "ground_track"}
    assert fixed.repairs[0].lines == (102, 131)


def test_a_parked_airplane_is_not_frozen():
    log = flying(latitude=0.8, longitude=0.15, ground_speed=0.0, indicated_airspeed=0.0)
    assert not any(r.kind == "frozen position" for r in repair(log).repairs)


def test_a_stuck_sensor_is_found_and_a_coarse_one_is_not():
    stuck = with_values(flying(), "indicated_airspeed", slice(100, 200), 60.0)
    assert kinds(repair(stuck)) == [("stuck sensor", "indicated_airspeed")]
    coarse = flying(outside_air_temperature=np.round(285 + 0.002 * np.arange(COUNT)))
    assert repair(coarse).repairs == ()


def test_a_sensor_stuck_for_most_of_a_flight_is_found():
    rng = np.random.default_rng(5)
    true = np.concatenate([np.linspace(1000, 6000, 300), np.linspace(6000, 1000, 300)])
    air = np.round((15 - 0.00198 * true + rng.normal(0, 0.1, 600)) * 10) / 10
    air[60:460] = air[60]
    mended = repair(made_log(600, pressure_altitude=true * ft, outside_air_temperature=273.15 + air))
    (found,) = (r for r in mended.repairs if r.kind == "stuck sensor")
    assert 400 <= found.count <= 402  # a reading beside it may be the same by chance


def test_duplicated_rows_are_left_out():
    log = flying()
    order = np.sort(np.append(np.arange(COUNT), [50, 51, 300]))
    doubled = Log(
        log.name,
        log.time_s[order],
        np.arange(2, COUNT + 5),
        {k: v[order] for k, v in log.channels.items()},
        {},
    )
    fixed = repair(doubled)
    assert {r.kind for r in fixed.repairs} == {"duplicated row"}
    assert sum(r.count for r in fixed.repairs) == 3
    assert len(fixed) == COUNT


def test_a_repeated_and_skipped_second_is_spread():
    log = flying()
    time_s = log.time_s.copy()
    time_s[101] = time_s[100]
    fixed = repair(Log(log.name, time_s, log.lines, log.channels, {}))
    assert [r.kind for r in fixed.repairs] == ["repeated time"]
    assert len(fixed) == COUNT
    assert fixed.time_s == pytest.approx(log.time_s)


def test_a_clock_of_whole_seconds_under_fast_rows_is_spread():
    log = flying()
    fixed = repair(Log(log.name, np.floor(log.time_s[0] + np.arange(COUNT) / 5), log.lines, log.channels, {}))
    assert [r.kind for r in fixed.repairs] == ["repeated time"]
    assert np.diff(fixed.time_s) == pytest.approx(0.2, abs=1e-6)


def test_a_clock_that_runs_backwards():
    log = flying()
    time_s = log.time_s.copy()
    time_s[150:153] -= 20.0
    fixed = repair(Log(log.name, time_s, log.lines, log.channels, {}))
    assert "clock backwards" in {r.kind for r in fixed.repairs}
    assert (np.diff(fixed.time_s) > 0).all()
    assert len(fixed) == COUNT - 3


def test_gaps_are_listed_and_not_filled():
    log = flying().where(np.r_[np.ones(100, bool), np.zeros(20, bool), np.ones(COUNT - 120, bool)])
    fixed = repair(log)
    assert [(r.kind, r.lines) for r in fixed.repairs] == [("gap", (101, 122))]
    assert "21 s" in fixed.repairs[0].why
    assert len(fixed) == COUNT - 20


def test_blanks_are_listed_by_stretch():
    fixed = repair(with_values(flying(), "pressure_altitude", [3, 10, 11, 12], np.nan))
    assert [(r.kind, r.lines, r.count) for r in fixed.repairs] == [
        ("blank", (5, 5), 1),
        ("blank", (12, 14), 3),
    ]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, COUNT - 1), st.floats(-1e6, 1e6)), max_size=10), st.integers(0, 9))
def test_only_listed_readings_change(changes, seed):
    log = flying()
    for where, value in changes:
        log = with_values(log, "pressure_altitude", where, value * ft)
    fixed = repair(log)
    changed = np.isnan(fixed.channels["pressure_altitude"])
    listed = [r for r in fixed.repairs if r.channel == "pressure_altitude"]
    assert changed.sum() == sum(r.count for r in listed)
    assert np.array_equal(
        fixed.channels["pressure_altitude"][~changed], log.channels["pressure_altitude"][~changed]
    )


def _flying(count=300, **more):
    t = np.arange(count)
    rng = np.random.default_rng(2)
    values = {
        "latitude": 0.8 + t * 8e-6,
        "longitude": 0.1 + t * 1e-6,
        "ground_speed": (100 + rng.normal(0, 0.5, count)) * kt,
        "ground_track": np.radians(90 + rng.normal(0, 0.5, count)),
        "indicated_airspeed": (100 + rng.normal(0, 0.5, count)) * kt,
        **more,
    }
    return made_log(count, **values)


def test_a_date_that_leaps_is_put_back():
    log = _flying()
    late = replace(log, time_s=log.time_s + np.where(np.arange(300) >= 120, 86400.0, 0.0))
    mended = repair(late)
    assert np.diff(mended.time_s) == pytest.approx(1.0)
    [said] = [r for r in mended.repairs if r.kind == "date leap"]
    assert said.count == 120
    assert "moved by +1 days" in said.why
    assert mended.time_s[-1] == late.time_s[-1]


def test_a_date_set_at_the_first_fix():
    log = _flying()
    before = np.arange(300) < 20
    mended = repair(replace(log, time_s=log.time_s - np.where(before, 86400.0 * 5000, 0.0)))
    assert np.diff(mended.time_s) == pytest.approx(1.0)
    assert [r.count for r in mended.repairs if r.kind == "date leap"] == [20]


def test_a_fix_repeated_until_the_next_is_said_once():
    fixes = _flying()
    twice = {name: np.repeat(values, 2) for name, values in fixes.channels.items()}
    rng = np.random.default_rng(1)
    twice["indicated_airspeed"] = (100 + rng.normal(0, 0.5, 600)) * kt
    log = made_log(600, 0.5, **twice)
    mended = repair(log)
    stale = [r for r in mended.repairs if r.kind == "stale reading"]
    assert stale
    assert "repeats the last fix" in stale[0].why
    assert np.isnan(mended.channels["ground_speed"][1::2]).all()
    assert not np.isnan(mended.channels["ground_speed"][::2]).any()
    assert not np.isnan(mended.channels["indicated_airspeed"]).any()


def test_fixes_that_come_slowly_are_kept_and_said():
    fixes = _flying(100)
    slow = {name: np.repeat(values, 5) for name, values in fixes.channels.items()}
    mended = repair(made_log(500, **slow))
    assert any(r.kind == "stale reading" and "kept" in r.why for r in mended.repairs)
    assert not np.isnan(mended.channels["ground_speed"]).all()


def test_a_track_alone_freezes_too():
    log = _flying()
    track = replace(log, channels={k: log.channels[k].copy() for k in ("latitude", "longitude")})
    for values in track.channels.values():
        values[100:120] = values[100]
    mended = repair(track)
    assert np.isnan(mended.channels["latitude"][101:119]).all()
    assert any(r.kind == "frozen position" for r in mended.repairs)


def test_a_coarse_altitude_in_level_flight_is_not_stuck():
    rng = np.random.default_rng(3)
    true = np.concatenate([np.full(200, 3003.0), np.linspace(3003, 5005, 200), np.full(200, 5005.0)])
    log = made_log(
        600,
        pressure_altitude=np.round(true / 20) * 20 * ft,
        gps_altitude=(true + rng.normal(0, 6, 600)) * ft,
        outside_air_temperature=288.0 - np.round(true * ft * 0.0065),
    )
    mended = repair(replace(log, resolution={"pressure_altitude": 20 * ft, "outside_air_temperature": 1.0}))
    assert not [r for r in mended.repairs if r.kind == "stuck sensor"]


def test_a_stuck_altitude_in_a_climb_is():
    rng = np.random.default_rng(3)
    true = np.linspace(3000, 6000, 600)
    pressure = np.round(true + rng.normal(0, 4, 600))
    pressure[200:320] = pressure[200]
    mended = repair(made_log(600, pressure_altitude=pressure * ft, gps_altitude=(true + 150) * ft))
    assert [r.count for r in mended.repairs if r.kind == "stuck sensor"] == [120]
