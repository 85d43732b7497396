"""True airspeed by all seconds of a leg group: nearer than by the legs alone in gusts, and rightly sure."""

import numpy as np
import pytest
from scipy import signal

from flyoff.core.units import degree, ft, kt
from flyoff.flights.grid import Grid
from flyoff.reduction.legs import solve_legs
from flyoff.reduction.seconds import with_seconds
from flyoff.reduction.statistics import Estimate

TAS_M_S, STRAY_M_S = 120 * kt, 0.3 * kt
SPANS = ((0.0, 79.0), (120.0, 199.0), (240.0, 319.0))
INDICATED = Estimate(112 * kt, 0.1 * kt)
ALTITUDE = Estimate(4000 * ft, 5.0)


def remembered(rng, size_m_s, memory_s, seconds):
    """Return a first-order noise, each component alike, shape (seconds, 2)."""
    keep = np.exp(-1 / memory_s)
    kicks = rng.normal(0, size_m_s * np.sqrt(1 - keep**2), (seconds, 2))
    kicks[0] = rng.normal(0, size_m_s, 2)
    return signal.lfilter([1.0], [1.0, -keep], kicks, axis=0)


def flown(rng, gust_m_s=1.2 * kt):
    """Return the seconds of three legs and the two turns between them."""
    turning = np.concatenate([np.zeros(80), np.full(40, 3 * degree), np.zeros(80), np.full(40, 3 * degree)])
    heading = np.cumsum(np.concatenate([turning, np.zeros(80)])) + rng.uniform(0, 6)
    count = len(heading)
    gusts = remembered(rng, gust_m_s, 5.0, count) + remembered(rng, STRAY_M_S, 300.0, count)
    air = TAS_M_S * np.column_stack([np.cos(heading), np.sin(heading)])
    ground = air + gusts + np.array([12 * kt, -7 * kt])
    return Grid(
        np.arange(count, dtype=float),
        {
            "ground_speed": np.hypot(*ground.T),
            "ground_track": np.arctan2(ground[:, 1], ground[:, 0]),
            "indicated_airspeed": INDICATED.value + rng.normal(0, 0.5 * kt, count),
            "pressure_altitude": ALTITUDE.value + rng.normal(0, 2.0, count),
        },
    ), ground


def by_legs(ground):
    members = [ground[int(start) : int(end) + 1] for start, end in SPANS]
    means = np.array([leg.mean(axis=0) for leg in members])
    gust_m_s = 1.2 * kt * np.sqrt(10 / 80)  # eighty seconds of gusts worth ten each
    return solve_legs(means, np.tile(np.eye(2) * gust_m_s**2, (3, 1, 1)), wander_m_s=STRAY_M_S)


def test_all_seconds_come_nearer_and_their_intervals_hold():
    rng = np.random.default_rng(17)
    errors, before, held = [], [], []
    for _ in range(150):
        grid, ground = flown(rng)
        legs = by_legs(ground)
        found = with_seconds(legs, grid, SPANS, INDICATED, ALTITUDE, STRAY_M_S)
        assert found.wind_m_s == legs.wind_m_s
        before.append(legs.true_airspeed.value - TAS_M_S)
        errors.append(found.true_airspeed.value - TAS_M_S)
        held.append(abs(errors[-1]) <= found.true_airspeed.u95)
    assert np.std(errors) < 0.95 * np.std(before)
    assert 0.92 <= np.mean(held) <= 0.99


def test_a_turn_in_still_air_is_no_slower():
    grid, ground = flown(np.random.default_rng(1), gust_m_s=0.0)
    found = with_seconds(by_legs(ground), grid, SPANS, INDICATED, ALTITUDE, STRAY_M_S)
    assert found.true_airspeed.value / kt == pytest.approx(120, abs=0.25)


@pytest.mark.parametrize("lacking", ["indicated_airspeed", "pressure_altitude", "ground_track"])
def test_without_a_channel_the_legs_answer_stays(lacking):
    grid, ground = flown(np.random.default_rng(2))
    legs = by_legs(ground)
    del grid.channels[lacking]
    assert with_seconds(legs, grid, SPANS, INDICATED, ALTITUDE, STRAY_M_S) is legs


def test_too_few_seconds_near_the_legs_airspeed_say_nothing():
    grid, ground = flown(np.random.default_rng(3))
    legs = by_legs(ground)
    grid.channels["indicated_airspeed"][40:] = 60 * kt
    assert with_seconds(legs, grid, SPANS, INDICATED, ALTITUDE, STRAY_M_S) is legs
