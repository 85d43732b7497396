"""Differences taken together: what is shared stays, altitudes are told apart, unexplained scatter counts."""

import numpy as np
import pytest

from flyoff.core.draws import Draws, half_width_95
from flyoff.core.units import ft
from flyoff.model.overall import taken_together

DRAWS = Draws(4000)


def sample(value, own, shared=0.0, name="a"):
    return np.concatenate([[value], value + own * DRAWS.normal(name) + shared * DRAWS.normal("shared")])


def u_of(overall):
    return float(np.std(overall.difference[1:]))


def test_a_shared_doubt_does_not_average_away_and_an_own_one_does():
    own = taken_together([sample(1.0, 1.0, name=str(i)) for i in range(9)], [1000.0] * 9, "x", DRAWS)
    both = taken_together([sample(1.0, 1.0, 1.0, str(i)) for i in range(9)], [1000.0] * 9, "x", DRAWS)
    assert u_of(own) == pytest.approx(1 / 3, rel=0.05)
    assert u_of(both) == pytest.approx((1 + 1 / 9) ** 0.5, rel=0.05)


def test_conditions_at_about_one_height_are_one_altitude():
    feet = [7503, 3999, 4001, 4180, 7499, None]
    heights = [None if f is None else f * ft for f in feet]
    overall = taken_together([sample(float(i), 0.5, name=str(i)) for i in range(6)], heights, "x", DRAWS)
    assert [(round(v.pressure_altitude_m / ft), v.members) for v in overall.levels] == [
        (4000, (1, 2, 3)), (7500, (0, 4)),
    ]  # fmt: skip
    assert overall.levels[0].difference[0] == pytest.approx(2.0)
    assert overall.difference[0] == pytest.approx(2.5)


def test_scatter_that_the_doubts_do_not_explain_counts_and_what_they_explain_does_not():
    rng = np.random.default_rng(1)
    wide = [sample(2 * rng.standard_normal(), 0.1, name=str(i)) for i in range(40)]
    overall = taken_together(wide, [1000.0] * 40, "x", DRAWS)
    assert overall.excess_u == pytest.approx(2.0, rel=0.25)
    assert u_of(overall) == pytest.approx(overall.excess_u / 40**0.5, rel=0.1)
    close = [sample(0.1 * rng.standard_normal(), 1.0, name=str(i)) for i in range(40)]
    assert taken_together(close, [1000.0] * 40, "x", DRAWS).excess_u == 0.0
    apart = [sample(0.0 if i < 2 else 9.0, 0.5, name=str(i)) for i in range(4)]
    two = taken_together(apart, [1000.0, 1000.0, 3000.0, 3000.0], "x", DRAWS)
    assert two.excess_u == 0.0  # a change with altitude is no scatter
    assert two.is_changing
    assert not taken_together(apart[:2], [1000.0, 3000.0], "x", DRAWS).is_changing


def test_the_interval_holds_the_truth_as_often_as_it_says():
    """Twelve conditions at two altitudes: doubts shared and own, and scatter that nobody stated."""
    rng, held, draws = np.random.default_rng(7), [], Draws(300)
    shared = draws.normal("shared")
    own = [draws.normal(f"own {i}") for i in range(12)]
    for trial in range(600):
        truth, off = rng.uniform(-6, 3), rng.standard_normal()
        unsaid = 0.6 if trial % 2 else 0.0
        found = truth + off + (0.8**2 + unsaid**2) ** 0.5 * rng.standard_normal(12)
        samples = [np.concatenate([[v], v + shared + 0.8 * o]) for v, o in zip(found, own, strict=True)]
        overall = taken_together(samples, [1200.0] * 6 + [2300.0] * 6, "x", draws)
        value = float(overall.difference[0])
        held.append(abs(value - truth) <= half_width_95(overall.difference[1:], value))
    assert 0.92 <= np.mean(held) <= 0.98
