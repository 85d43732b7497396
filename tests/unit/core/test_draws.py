from dataclasses import replace

import numpy as np
import pytest

from flyoff.core.draws import COVERAGE_95, Draws, half_width_95
from flyoff.core.quantity import parse_quantity
from flyoff.core.sources import Place


def test_one_name_one_stream():
    draws = Draws(100)
    np.testing.assert_array_equal(draws.normal("a"), Draws(100).normal("a"))
    assert not np.array_equal(draws.normal("a"), draws.normal("b"))
    assert not np.array_equal(draws.normal("a"), Draws(100, "other").normal("a"))


def test_stated_interval_covers_as_often_as_it_says():
    quantity = replace(parse_quantity("100 kt", "speed"), u95_si=2.0)
    drawn = Draws(20000).of(quantity)
    inside = np.mean(np.abs(drawn - quantity.si) <= 2.0)
    assert inside == pytest.approx(0.95, abs=3 * np.sqrt(0.95 * 0.05 / 20000))
    assert half_width_95(drawn) == pytest.approx(2.0, rel=0.03)
    assert pytest.approx(1.96, abs=1e-3) == COVERAGE_95


def test_rounding_is_rectangular():
    quantity = parse_quantity("100 kt", "speed").at(Place("a.toml", 1, "speed"))
    drawn = Draws(20000).of(quantity)
    assert np.max(np.abs(drawn - quantity.si)) <= quantity.half_digit_si
    assert np.std(drawn) == pytest.approx(quantity.half_digit_si / np.sqrt(3), rel=0.02)
    np.testing.assert_array_equal(Draws(5).of(quantity, rounded=False), np.full(5, quantity.si))


def test_the_place_tells_inputs_apart():
    quantity = parse_quantity("100 kt", "speed")
    one, other = (Draws(50).of(quantity.at(Place("a.toml", line, "speed"))) for line in (1, 2))
    assert not np.array_equal(one, other)


def test_interval_of_several_rows_needs_one_row():
    assert half_width_95(np.linspace(-1, 1, 100001)) == pytest.approx(0.95, abs=1e-4)
