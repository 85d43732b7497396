import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.draws import Draws
from flyoff.core.figure import Figure, Trace, difference, format_number, supported_decimals
from flyoff.core.units import kt

TRACE = Trace("given", "nobody")


def figure(key: str, speed_kt: float | None, draws=None, basis="handbook", **more) -> Figure:
    si = None if speed_kt is None else speed_kt * kt
    return Figure(key, key, "kt", "speed", si, basis, TRACE, draws, **more)


@pytest.mark.parametrize(
    ("value", "u95", "decimals"),
    [
        (1093.4, 21.0, 0),
        (150.0, 2.1, 1),
        (150.0, 0.5, 1),
        (150.0, 0.12, 2),
        (150.0, 0.0, 0),
        (9.4, 0.0, 1),
        (9.456, 0.0, 2),
        (1.0, 0.03, 2),
    ],
)
def test_decimals(value, u95, decimals):
    assert supported_decimals(value, u95) == decimals


@given(st.floats(1e-4, 1e4))
def test_never_finer_than_the_uncertainty(u95):
    decimals = supported_decimals(1.0, u95)
    if decimals:
        assert 10.0**-decimals <= u95
    assert 10.0**-decimals >= u95 / 100 or decimals == 0 or decimals == 6


@pytest.mark.parametrize(
    ("number", "decimals", "text"),
    [(1093.4, 0, "1,093"), (-0.04, 1, "0.0"), (-12.35, 1, "−12.3"), (1234567.0, 0, "1,234,567")],
)
def test_format(number, decimals, text):
    assert format_number(number, decimals) == text


def test_printed_figure():
    draws = 150 * kt + kt * Draws(4000).normal("speed")
    printed = figure("a.cruise", 150.0, draws)
    assert str(printed) == "150.0 ± 1.9 kt" or str(printed).startswith("150.0 ± 2.0")
    assert printed.u95 == pytest.approx(1.96, rel=0.06)
    assert str(figure("a.cruise", 150.0)) == "150 kt"
    gone = figure("a.cruise", None, missing="no table")
    assert (gone.value, gone.u95, gone.decimals, str(gone)) == (None, None, 0, "missing: no table")


def test_what_is_counted_is_printed_whole():
    stops = Figure("stops", "stops", "", "count", 0.0, "handbook", TRACE, np.repeat([0.0, 1.0], 50))
    assert str(stops) == "0 ± 1"
    multiple = Figure("multiple", "multiple", "", "count", 1.3, "handbook", TRACE, np.linspace(1.2, 1.4, 100))
    assert str(multiple) == "1.30 ± 0.10"


def test_a_shared_input_cancels_in_a_difference():
    shared = Draws(4000).normal("mass") * 3 * kt
    own = Draws(4000).normal("drag") * 0.1 * kt
    a, b = figure("a", 150.0, 150 * kt + shared), figure("b", 140.0, 140 * kt + shared + own)
    gap = difference("gap", "gap", a, b)
    assert gap.value == pytest.approx(10.0)
    assert gap.u95 == pytest.approx(0.196, rel=0.06)
    assert a.u95 == pytest.approx(5.88, rel=0.06)


def test_difference_of_unequal_evidence_and_of_nothing():
    a, b = figure("a", 150.0, basis="measured"), figure("b", 140.0, extrapolated=True)
    gap = difference("gap", "gap", a, b)
    assert gap.extrapolated
    assert gap.remarks == ("unequal evidence: a measured, b handbook",)
    assert gap.u95 == 0
    gone = difference("gap", "gap", a, figure("b", None, missing="no table"))
    assert (gone.si, gone.missing) == (None, "no b")


def test_one_exact_side():
    draws = 150 * kt + kt * Draws(500).normal("speed")
    assert difference("g", "g", figure("a", 150.0, draws), figure("b", 140.0)).draws.mean() == pytest.approx(
        10 * kt, abs=0.1
    )
    assert np.isclose(difference("g", "g", figure("a", 150.0), figure("b", 150.0, draws)).value, 0.0)


def test_difference_of_temperatures_has_no_offset():
    warm, cold = (
        Figure(k, k, "°C", "temperature", si, "measured", TRACE) for k, si in (("w", 293.15), ("c", 283.15))
    )
    assert difference("d", "d", warm, cold).value == pytest.approx(10.0)
