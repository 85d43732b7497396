"""Levels share a wind profile where Akaike's criterion says so, and gain by it."""

import numpy as np
import pytest

from flyoff.core.units import ft, kt
from flyoff.reduction.legs import WindSolution
from flyoff.reduction.profile import DEPARTURE_M_S, share_profile
from flyoff.reduction.statistics import Estimate

HEIGHTS = np.array([2000.0, 4000.0, 6000.0, 8000.0]) * ft
# True airspeed and wind of three legs are correlated when the legs do not share the circle evenly.
COVARIANCE = np.array([[0.4, 0.3, 0.0], [0.3, 0.5, 0.0], [0.0, 0.0, 0.4]]) * kt**2


def levels(winds_kt, rng=None):
    found = []
    for wind in winds_kt:
        error = np.zeros(3) if rng is None else rng.multivariate_normal(np.zeros(3), COVARIANCE)
        tas = Estimate(120 * kt + error[0], float(np.sqrt(COVARIANCE[0, 0])), 10.0)
        found.append(WindSolution(tas, (wind[0] * kt + error[1], wind[1] * kt + error[2]), COVARIANCE,
                                  np.zeros(3), 10.0, 1.0, 0.6))  # fmt: skip
    return found


@pytest.mark.parametrize(
    ("winds", "kind"),
    [
        ([(10, 5)] * 4, "constant"),
        ([(10, 5), (14, 6), (18, 7), (22, 8)], "linear"),
        ([(10, 5), (22, -9), (8, 12), (25, 3)], None),
    ],
)
def test_the_profile_that_fits_is_taken(winds, kind):
    given = levels(winds)
    shared, profile = share_profile(given, HEIGHTS)
    assert (profile and profile.kind) == kind
    if kind is None:
        assert shared == given
    else:
        assert profile.preferred_by > 0
        for own, before in zip(shared, given, strict=True):
            assert own.true_airspeed.value == pytest.approx(before.true_airspeed.value)
            assert own.wind_m_s == pytest.approx(before.wind_m_s)
            assert own.true_airspeed.u < before.true_airspeed.u


def test_two_levels_share_one_wind_at_most():
    assert share_profile(levels([(10, 5), (22, 8)]), HEIGHTS[:2])[1] is None
    assert share_profile(levels([(10, 5), (10, 5)]), HEIGHTS[:2])[1].kind == "constant"


def test_sharing_brings_true_airspeed_nearer_and_its_intervals_hold():
    rng = np.random.default_rng(6)
    before, after, held = [], [], []
    winds = np.array([(10, 5), (14, 6), (18, 7), (22, 8)], float)
    wind_held, ratios = [], []
    for _ in range(300):
        departures = rng.normal(0, DEPARTURE_M_S / kt, winds.shape)
        given = levels(winds + departures, rng)
        shared, profile = share_profile(given, HEIGHTS)
        if profile is None:
            continue
        before += [s.true_airspeed.value / kt - 120 for s in given]
        after += [s.true_airspeed.value / kt - 120 for s in shared]
        held += [abs(s.true_airspeed.value / kt - 120) <= 1.96 * s.true_airspeed.u / kt for s in shared]
        for own, level, wind in zip(given, shared, winds + departures, strict=True):
            u = np.sqrt(level.covariance[1, 1])
            wind_held.append(abs(level.wind_m_s[0] - wind[0] * kt) <= 1.96 * u)
            ratios.append(u / np.sqrt(own.covariance[1, 1]))
    assert len(after) > 800
    assert 0.92 <= np.mean(wind_held) <= 0.98
    assert max(ratios) < 1  # a profile adds to what a level knows of its own wind
    assert np.std(after) < 0.95 * np.std(before)
    assert np.mean(held) >= 0.92
