"""True airspeed and wind from one continuous turn, against made-up turns and two real ones."""

import math

import numpy as np
import pytest

from flyoff.core.units import degree, kt
from flyoff.flights.grid import make_grid
from flyoff.flights.manoeuvres import find_manoeuvres
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import reduce_flight
from flyoff.reduction.turns import solve_turn
from helpers.flights import REAL, made_log


def turning(seed=0, tas_kt=100.0, wind_kt=(12.0, -7.0), seconds=75, rate=5.0, noise=0.4, ias=True, gain=0.0):
    """Return a log that turns: air velocity plus wind, gusts with a memory, an airspeed that may change."""
    rng = np.random.default_rng(seed)
    heading = np.radians(rate * np.arange(seconds) + rng.uniform(0, 360))
    tas = tas_kt + gain * np.arange(seconds)
    gust = np.zeros((2, seconds))
    for i in range(1, seconds):
        gust[:, i] = 0.8 * gust[:, i - 1] + rng.normal(0, noise * 0.6, 2)
    north = tas * np.cos(heading) + wind_kt[0] + gust[0]
    east = tas * np.sin(heading) + wind_kt[1] + gust[1]
    more = {"indicated_airspeed": (0.95 * tas + rng.normal(0, 0.3, seconds)) * kt} if ias else {}
    return made_log(
        seconds,
        ground_speed=np.hypot(north, east) * kt,
        ground_track=np.degrees(np.arctan2(east, north)) % 360 * degree,
        **more,
    )


def solved(log):
    grid = make_grid(log)
    [turn] = [m for m in find_manoeuvres(grid) if m.kind == "turn"]
    return solve_turn(grid, turn, log.name, (2, 9))


@pytest.mark.parametrize("rate", [5.0, -5.0, 8.0])
def test_a_clean_turn_comes_back(rate):
    turn = solved(turning(noise=0.0, rate=rate))
    assert not turn.refused
    assert turn.solution.true_airspeed.value == pytest.approx(100 * kt, abs=0.15 * kt)
    assert np.array(turn.solution.wind_m_s) / kt == pytest.approx([12, -7], abs=0.3)


def test_an_airspeed_that_changes_is_taken_from_the_indicator():
    turn = solved(turning(noise=0.0, gain=0.1))
    assert not turn.refused
    assert np.array(turn.solution.wind_m_s) / kt == pytest.approx([12, -7], abs=0.4)


def test_intervals_hold_the_truth():
    tas, north = [], []
    for seed in range(200):
        turn = solved(turning(seed, ias=False))
        assert not turn.refused
        tas.append(abs(turn.solution.true_airspeed.value / kt - 100) <= turn.solution.true_airspeed.u95 / kt)
        wind_u95 = 2 * math.sqrt(turn.solution.covariance[1, 1]) / kt
        north.append(abs(turn.solution.wind_m_s[0] / kt - 12) <= wind_u95)
    assert np.mean(tas) >= 0.92
    assert np.mean(north) >= 0.92


def test_what_is_no_circle_is_refused():
    assert "a drift of +18" in solved(turning(noise=0.0, gain=0.25, ias=False)).refused
    assert "% in the turn" in solved(turning(noise=0.0, gain=0.6)).refused
    assert "no circle" in solved(turning(noise=12.0, ias=False)).refused


@pytest.mark.skipif(not REAL.is_dir(), reason="the real logs are not here")
def test_two_real_turns_agree_with_a_plain_circle():
    """A two-seat trainer's two steep turns: 93.4 ± 0.6 and 93.9 ± 0.1 kt by a plain least-squares circle."""
    path = REAL / "da20_phone_gps_1hz.csv"
    left, right = reduction_data(reduce_flight(parse_flight(propose(path), path.name, REAL)))["turns"]
    assert left["tas_kt"] == pytest.approx(93.4, abs=0.6)
    assert right["tas_kt"] == pytest.approx(93.9, abs=0.2)
    assert left["turned_deg"] < -270 and right["turned_deg"] > 270
    assert abs(left["tas_kt"] - right["tas_kt"]) < math.hypot(left["tas_kt_u95"], right["tas_kt_u95"])
    assert (left["method"], left["ias_kt"], left["refused"]) == ("turn", None, None)
