"""Steady conditions in made-up flights: what is steady is found, what is not is not."""

from dataclasses import replace

import numpy as np
import pytest

from flyoff.core.units import degree, fpm, ft, inhg, kt, rpm
from flyoff.flights.flags import gap_flags
from flyoff.flights.grid import make_grid, rolling_fits
from flyoff.flights.log import runs_of
from flyoff.flights.read import parse_flight
from flyoff.flights.steady import Criteria, find_conditions, flight_conditions
from helpers.flights import FOLDER, made_log, seconds

START_S = 1.0e9


class Maker:
    """Puts a flight together from stretches."""

    def __init__(self, seed=3):
        self.rng = np.random.default_rng(seed)
        self.parts = []
        self.height = 4000.0

    def fly(self, seconds_, ias=110.0, to=None, rate=0.0, turn=0.0, speed=2300.0, heading=None):
        count = int(seconds_)
        t = np.arange(count)
        track = (self.parts[-1]["track"][-1] if self.parts else 90.0) if heading is None else heading
        part = {
            "ias": np.linspace(ias, ias if to is None else to, count),
            "height": self.height + rate * t / 60,
            "track": track + turn * t,
            "rpm": np.full(count, speed),
        }
        self.height += rate * count / 60
        self.parts.append(part)
        return self

    def log(self, step_s=1.0):
        whole = {key: np.concatenate([part[key] for part in self.parts]) for key in self.parts[0]}
        repeat = round(1 / step_s)
        whole = {key: np.repeat(values, repeat) for key, values in whole.items()}
        count = len(whole["ias"])

        def noise(size):
            return self.rng.normal(0, size, count)

        return made_log(
            count,
            step_s,
            indicated_airspeed=(whole["ias"] + noise(0.6)) * kt,
            pressure_altitude=(whole["height"] + noise(5)) * ft,
            ground_track=(whole["track"] + noise(0.5)) % 360 * degree,
            rpm=(whole["rpm"] + noise(4)) * rpm,
            manifold_pressure=(24 + noise(0.05)) * inhg,
        )


def spans(log):
    return [(c.kind, c.start_s - START_S, c.end_s - START_S) for c in find_conditions(log)]


def check_spans(found, expected, within=12):
    assert [kind for kind, *_ in found] == [kind for kind, *_ in expected]
    for (_, start, end), (_, expected_start, expected_end) in zip(found, expected, strict=True):
        assert abs(start - expected_start) <= within
        assert abs(end - expected_end) <= within


def test_level_climb_and_descent_are_told_apart():
    log = Maker().fly(120).fly(90, ias=80, rate=700).fly(90, ias=90, rate=-800).log()
    check_spans(spans(log), [("level", 0, 119), ("climb", 120, 209), ("descent", 210, 299)], within=16)


def test_a_climb_leaves_out_its_beginning_where_the_speed_still_bleeds():
    log = Maker().fly(16, ias=88, to=82, rate=950).fly(90, ias=82, rate=800).log()
    (found,) = find_conditions(log)
    assert found.start_s - START_S >= 16
    assert abs(found.drift_m_s2) < 0.5 * kt / 60


def _with_gap(maker, start_s, seconds_, after_deg=0.0):
    log = maker.log()
    inside = (log.time_s >= START_S + start_s) & (log.time_s < START_S + start_s + seconds_)
    channels = {name: values[~inside].copy() for name, values in log.channels.items()}
    later = log.time_s[~inside] > START_S + start_s
    channels["ground_track"][later] += after_deg * degree
    return replace(log, time_s=log.time_s[~inside], lines=log.lines[~inside], channels=channels)


def test_a_leg_with_a_short_gap_is_kept_and_the_gap_is_said():
    log = _with_gap(Maker().fly(80), 33, 14)
    check_spans(spans(log), [("level", 0, 79)], within=4)
    part = make_grid(log)
    assert gap_flags(part) == ["14 s without readings within it"]
    assert gap_flags(make_grid(Maker().fly(80).log())) == []


def test_a_leg_whose_sides_of_a_gap_disagree_is_not_kept():
    assert spans(_with_gap(Maker().fly(80), 33, 14, after_deg=12.0)) == []


def test_a_gap_that_is_long_parts_two_legs():
    log = _with_gap(Maker().fly(170), 65, 40)
    check_spans(spans(log), [("level", 0, 65), ("level", 105, 169)], within=8)


def test_a_turn_parts_two_legs():
    log = Maker().fly(90).fly(40, turn=3.0).fly(90).log()
    check_spans(spans(log), [("level", 0, 89), ("level", 130, 219)], within=8)


def test_a_change_of_power_parts_two_conditions():
    log = Maker().fly(90, speed=2400).fly(90, speed=2350).log()
    check_spans(spans(log), [("level", 0, 89), ("level", 90, 179)], within=12)


def test_speed_that_builds_is_not_steady():
    assert spans(Maker().fly(120, ias=80, to=120).log()) == []


def test_speed_that_settles_loses_its_beginning():
    found = spans(Maker().fly(40, ias=95, to=110).fly(120).log())
    assert len(found) == 1
    assert found[0][1] >= 25


def test_a_slow_drift_is_flagged_with_its_number():
    found = find_conditions(Maker().fly(60, ias=100, to=103).log())
    assert len(found) == 1
    assert found[0].flags[0].startswith("airspeed drifts by +")


def test_a_turning_climb_is_flagged():
    found = find_conditions(Maker().fly(90, ias=80, rate=700, turn=1.2).log())
    assert [c.kind for c in found] == ["climb"]
    assert any("turn" in flag for flag in found[0].flags)


@pytest.mark.parametrize(
    "maker",
    [
        Maker().fly(300, turn=6.0),
        Maker().fly(30),
        Maker().fly(300, ias=10.0),
        Maker().fly(20, ias=100).fly(20, ias=70).fly(20, ias=120).fly(20, ias=80),
    ],
)
def test_what_is_not_steady_is_not_found(maker):
    assert spans(maker.log()) == []


def test_a_slow_sink_is_not_level():
    assert spans(Maker().fly(200, rate=-150).log()) == []


@pytest.mark.parametrize("step_s", [0.02, 0.2, 1.0])
def test_the_clock_counts_not_the_rows(step_s):
    log = Maker().fly(100).fly(40, turn=3.0).fly(100).log(step_s)
    check_spans(spans(log), [("level", 0, 99), ("level", 140, 239)], within=8)


def test_a_log_without_height_or_airspeed_still_gives_what_it_can():
    log = Maker().fly(100).log()
    bare = made_log(
        100, ground_speed=log.channels["indicated_airspeed"], ground_track=log.channels["ground_track"]
    )
    assert [c.kind for c in find_conditions(bare)] == ["level"]
    assert find_conditions(made_log(100, rpm=log.channels["rpm"])) == []


def test_three_hours_take_seconds_at_most():
    import time

    maker = Maker()
    for _ in range(45):
        maker.fly(180).fly(60, turn=3.0)
    log = maker.log()
    assert len(log) == 10800
    began = time.perf_counter()
    found = find_conditions(log)
    assert time.perf_counter() - began < 2.0
    assert len(found) == 45


def test_the_hand_accepts_rejects_and_moves():
    from flyoff.flights.propose import propose

    edits = (
        '[[conditions]]\nstart = "09:15:10"\nend = "09:17:16"\ndecision = "reject"\nwhy = "traffic"\n'
        '[[conditions]]\nstart = "09:18:50"\nend = "09:20:00"\ndecision = "accept"\n'
        '[[conditions]]\nstart = "09:21:00"\nend = "09:21:40"\ndecision = "accept"\nkind = "climb"\n'
    )
    flight = parse_flight(propose(FOLDER / "sample.csv") + edits, "f", FOLDER)
    found = flight_conditions(flight, flight.logs[0])
    by_start = {c.start_s: c for c in found}
    moved = by_start[seconds("2026-05-14T09:18:50Z")]
    assert (moved.origin, moved.kind, moved.end_s) == (
        "accepted by hand",
        "level",
        seconds("2026-05-14T09:20:00Z"),
    )
    assert by_start[seconds("2026-05-14T09:21:00Z")].kind == "climb"
    assert seconds("2026-05-14T09:15:12Z") not in by_start
    assert sum(c.start_s < moved.end_s and c.end_s > moved.start_s for c in found) == 1


def test_rolling_fits_agree_with_plain_fits():
    rng = np.random.default_rng(0)
    values = 1000 + np.cumsum(rng.normal(0, 1, 200))
    values[50:53] = np.nan
    fits = rolling_fits(values, 20)
    for centre in (30, 51, 120):
        t = np.arange(centre - 10, centre + 11)
        known = ~np.isnan(values[t])
        slope, middle = np.polyfit(t[known], values[t][known], 1)
        residual = values[t][known] - slope * t[known] - middle
        assert fits.slope[centre] == pytest.approx(slope, rel=1e-6)
        assert fits.scatter[centre] == pytest.approx(np.sqrt((residual**2).mean()), rel=1e-6)


def test_a_leap_of_the_clock_keeps_the_grid_small():
    log = made_log(100, indicated_airspeed=60.0)
    log.time_s[50:] += 3.0e8
    grid = make_grid(log)
    assert len(grid.time_s) < 400
    assert runs_of(~np.isnan(grid.channels["indicated_airspeed"])) == [(0, 50), (169, 219)]


def test_a_gap_parts_conditions():
    log = Maker().fly(200).log()
    keep = np.ones(200, bool)
    keep[90:120] = False
    check_spans(spans(log.where(keep)), [("level", 0, 89), ("level", 120, 199)], within=14)


def test_level_means_level():
    assert Criteria().level_rate_m_s == pytest.approx(100 * fpm)
