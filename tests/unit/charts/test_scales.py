"""Axes: round numbers that hold the data."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.charts.scales import round_scale

numbers = st.floats(-1e6, 1e6, allow_nan=False)


@given(st.lists(numbers, min_size=1, max_size=8), st.integers(2, 10), st.booleans(), st.booleans())
def test_holds_its_data_and_has_round_ticks(values: list[float], about: int, zero: bool, snap: bool) -> None:
    scale = round_scale(values, 300.0, about, zero=zero, snap=snap)
    hair = 1e-6 * scale.step
    assert scale.low <= min(values) + hair
    assert scale.high >= max(values) - hair
    if zero:
        assert scale.low <= 0 <= scale.high
    digit = scale.step / 10 ** math.floor(math.log10(scale.step) + 1e-9)
    assert min(abs(digit - d) for d in (1, 2, 5, 10)) < 1e-6
    assert len(scale.ticks) <= max(about + 2, 8)  # the next of 1, 2 and 5 would give two
    assert snap or len(scale.ticks) >= 3
    assert all(scale.low - 1e-6 <= tick <= scale.high + 1e-6 for tick in scale.ticks)
    if snap:
        assert scale.ticks[0] == pytest.approx(scale.low)
        assert scale.ticks[-1] == pytest.approx(scale.high)


@given(st.lists(numbers, min_size=1, max_size=8))
def test_pixels_and_values_are_inverse(values: list[float]) -> None:
    scale = round_scale(values, 300.0, 5)
    assert scale.value(scale.pixel(values[0])) == pytest.approx(
        values[0], abs=1e-6 * (scale.high - scale.low)
    )


def test_needs_a_value() -> None:
    with pytest.raises(ValueError, match="at least one finite value"):
        round_scale([math.nan, math.inf], 300.0, 5)


def test_decimals_follow_the_step() -> None:
    axis = round_scale([0.0, 0.4], 300.0, 4).encoding("x", "Time, h")["axis"]
    assert axis["format"] == ",.1f"
    assert axis["values"] == [0.0, 0.1, 0.2, 0.3, 0.4]
