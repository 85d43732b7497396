"""A rate over just a stretch, and one that another choice of ends would change."""

import numpy as np
import pytest

from flyoff.reduction.statistics import ends_u_of, rise_of


def rising(rng, bend=0.02, noise=1.2, seconds=120):
    """Return heights whose rate falls on the way, in metres, and the rate from end to end."""
    t = np.arange(seconds, dtype=float)
    true = 4.0 * t - bend * t**2 / 2
    return true + rng.normal(0, noise, seconds), float(true[-1] - true[0]) / (seconds - 1)


@pytest.mark.parametrize("bend", [0.0, 0.02])
def test_intervals_of_a_stretch_hold_its_rate(bend):
    rng = np.random.default_rng(9)
    held = []
    for _ in range(300):
        heights, rate = rising(rng, bend)
        found = rise_of(heights)
        held.append(abs(found.value - rate) <= found.u95)
    assert 0.92 <= np.mean(held) <= 0.99


def test_a_rate_that_changes_is_unsure_as_one_of_a_steady_climb():
    heights, _ = rising(np.random.default_rng(1), bend=0.02)
    # a fifth cut off moves the mean rate by a tenth of its change: 0.1 x 0.02 x 120
    assert ends_u_of(heights) == pytest.approx(0.24, abs=0.06)


def test_too_few_values_have_no_rate():
    few = np.array([1.0, 2.0, np.nan, 4.0, 5.0])
    assert rise_of(few) is None
    assert ends_u_of(few) == 0.0
    assert rise_of(np.arange(6.0)).value == pytest.approx(1.0)
