"""Declared values print as declared, and in another unit no finer than they were declared."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.figure import Figure, Trace, format_number
from flyoff.core.precision import grain
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.units import find_unit
from flyoff.core.wording import CONVERTED, Wording

METRIC, US = Wording("metric"), Wording("US")
NUMBERS = st.one_of(
    st.integers(1, 99_999).map(lambda n: f"{n:,}"),
    st.integers(1, 999).map(lambda n: f"{10 * n:,}"),
    st.integers(1, 999).map(lambda n: f"{100 * n:,}"),
    st.integers(10, 9_999).map(lambda n: f"{n / 10:,.1f}"),
)
UNITS = st.sampled_from([label for label in CONVERTED if label[-1] not in "CF"])


def exact(quantity: Quantity) -> Figure:
    return Figure(
        "a.b", "B", quantity.unit.label, quantity.dimension, quantity.si, "declared", Trace("m", "s"),
        grain_si=quantity.grain_si,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("declared", "wording", "shown"),
    [
        ("3,500 m", US, "11,480 ft"),
        ("52 US gal", METRIC, "197 L"),
        ("110 L", US, "29 US gal"),
        ("50 ft", METRIC, "15 m"),
        ("340 lb", METRIC, "154 kg"),
        ("1,200 kg", US, "2,646 lb"),
        ("160 kt", METRIC, "296 km/h"),
        ("3 m", US, "9.8 ft"),
        ("40.5 US gal", METRIC, "153.3 L"),
    ],
)
def test_examples(declared: str, wording: Wording, shown: str) -> None:
    assert wording.text(declared) == shown


@given(NUMBERS, UNITS, st.sampled_from([METRIC, US]))
def test_what_is_printed_covers_what_was_declared_and_turns_back_into_it(
    number: str, label: str, wording: Wording
) -> None:
    declared = parse_quantity(f"{number} {label}", find_unit(label).dimension)
    for shown in (wording.text(declared.text), str(wording.figure(exact(declared)))):
        back = parse_quantity(shown, declared.dimension)
        off = abs(back.si - declared.si) / declared.unit.factor
        # Nearest to the declared number among those that could have been declared as finely.
        among = {1.0: 1.0, 2.0: 5.0, 4.5: 10.0}.get(grain(number), grain(number))
        assert off <= among / 2 * (1 + 1e-9), shown
    figure = wording.figure(exact(declared))
    assert figure.value is not None
    kept = declared.grain_si / find_unit(figure.unit_label, figure.dimension).factor
    two_digits = 1 - math.floor(math.log10(abs(figure.value)))
    assert figure.decimals == two_digits or 10.0**-figure.decimals > kept / 10


@given(NUMBERS, UNITS)
def test_in_its_own_unit_it_prints_as_declared(number: str, label: str) -> None:
    declared = parse_quantity(f"{number} {label}", find_unit(label).dimension)
    assert parse_quantity(str(exact(declared)), declared.dimension).si == pytest.approx(declared.si, rel=1e-9)
    assert Wording().text(declared.text) == declared.text


@given(NUMBERS, UNITS, st.sampled_from([METRIC, US]))
def test_a_figure_in_another_unit_than_it_was_declared_in_comes_home(
    number: str, label: str, wording: Wording
) -> None:
    declared = parse_quantity(f"{number} {label}", find_unit(label).dimension)
    if abs(declared.number) < 10:
        return
    away = wording.figure(exact(declared))
    home = Figure(
        "a.b", "B", label, declared.dimension, away.si, "declared", Trace("m", "s"), grain_si=away.grain_si
    )  # fmt: skip
    assert float(home.number.replace(",", "")) == float(
        format_number(declared.number, home.decimals).replace(",", "")
    )
    assert float(home.number.replace(",", "")) == pytest.approx(declared.number, rel=1e-9)
