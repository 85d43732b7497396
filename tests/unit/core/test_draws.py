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
    assert half_width_95(drawn, quantity.si) == pytest.approx(2.0, rel=0.03)
    assert pytest.approx(1.96, abs=1e-3) == COVERAGE_95


def test_rounding_is_rectangular():
    quantity = parse_quantity("100 kt", "speed").at(Place("a.toml", 1, "speed"))
    drawn = Draws(20000).of(quantity)
    assert np.max(np.abs(drawn - quantity.si)) <= quantity.half_digit_si
    assert np.std(drawn) == pytest.approx(quantity.half_digit_si / np.sqrt(3), rel=0.02)
    np.testing.assert_array_equal(Draws(5).of(quantity, rounded=False), np.full(5, quantity.si))


def test_the_place_tells_inputs_apart():
    quantity = parse_quantity("100 kt", "speed")
    one, other = (Draws(50).of(quantity.at(Place("a.toml", 1, field))) for field in ("a.speed", "b.speed"))
    assert not np.array_equal(one, other)


def test_a_comment_above_a_value_moves_none_of_its_draws():
    quantity = parse_quantity("100 kt", "speed")
    one, other = (Draws(50).of(quantity.at(Place("a.toml", line, "speed"))) for line in (1, 2))
    np.testing.assert_array_equal(one, other)


def test_the_interval_is_about_the_value_where_a_limit_cuts_the_draws():
    drawn = np.minimum(100 + 5 * Draws(20000).normal("x"), 101.0)
    half = half_width_95(drawn, 100.0)
    assert np.mean(np.abs(drawn - 100.0) <= half) == pytest.approx(0.95, abs=0.005)


def test_draws_without_an_answer_are_left_out():
    drawn = np.where(np.arange(20000) % 2 == 0, np.nan, Draws(20000).normal("x"))
    assert half_width_95(drawn, 0.0) == pytest.approx(1.96, rel=0.03)


def test_interval_of_several_rows_needs_one_row():
    assert half_width_95(np.linspace(-1, 1, 100001), 0.0) == pytest.approx(0.95, abs=1e-4)
