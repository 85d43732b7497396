"""Weight and balance against government handbooks' examples."""

import numpy as np
import pytest

from flyoff.core.units import inch, lb
from flyoff.physics import balance
from helpers.printed import Printed


def _cg_in(masses_lb: list[float], arms_in: list[float]) -> float:
    return float(balance.centre_of_gravity(np.array(masses_lb) * lb, np.array(arms_in) * inch)) / inch


@pytest.mark.source("phak", where="Fig. 9-5; arms from memory")
def test_loading_example(check):
    masses = [2100.0, 340.0, 350.0, 450.0, 80.0]
    arms = [78.3, 85.0, 121.0, 75.0, 150.0]
    check("total weight", sum(masses), Printed("3320", "lb"))
    moments = balance.moment(np.array(masses), np.array(arms))
    check("total moment", np.sum(moments), Printed("281430", "lb in"))
    check("centre of gravity", _cg_in(masses, arms), Printed("84.8", "in"))


@pytest.mark.source("phak", where="weight shifting example, ch. 9")
def test_shift(check):
    old = 616000.0 / 8000.0
    new = balance.arm_after_shift(8000.0, old, 100.0, 30.0, 150.0)
    check("centre of gravity after the shift", new, Printed("78.5", "in"))
    check("moment after the shift", balance.moment(8000.0, new), Printed("628000", "lb in"))


@pytest.mark.source("phak", where="weight addition and removal examples, ch. 9", status="from memory")
@pytest.mark.parametrize(
    ("total", "arm", "change", "at", "printed"),
    [(6860.0, 80.0, 140.0, 150.0, "81.4"), (6100.0, 78.0, -100.0, 150.0, "76.8")],
)
def test_change(check, total, arm, change, at, printed):
    computed = balance.arm_after_change(total, arm, change, at)
    check(f"centre of gravity after {change:+.0f} lb", computed, Printed(printed, "in"))


@pytest.mark.source("wbh", where="1B, electronic calculator section")
def test_nosewheel(check):
    check(
        "centre of gravity from the main wheels",
        _cg_in([340.0, 2006.0 - 340.0], [-78.0, 0.0]),
        Printed("-13.2", "in"),
    )


@pytest.mark.source("wbh", where="weighing example", status="from memory")
def test_weighing(check):
    check(
        "empty centre of gravity", _cg_in([830.0, 836.0, 340.0], [128.0, 128.0, 50.0]), Printed("114.8", "in")
    )


@pytest.mark.source("wbh", where="Fig. 2-6 and 2-7, the lever", status="from memory")
def test_lever(check):
    check(
        "balance point of the lever", _cg_in([100.0, 100.0, 200.0], [50.0, 90.0, 150.0]), Printed("110", "in")
    )


@pytest.mark.source("faa-test", where="Fig. 32 and 33; empty weight and arms from memory")
def test_overweight(check):
    masses = [2015.0, 340.0, 295.0, 44 * 6.0, 56.0]
    check("over the limit of 2,950 lb", sum(masses) - 2950.0, Printed("20", "lb"))


@pytest.mark.parametrize(
    ("most", "empty", "printed"),
    [
        pytest.param(2300, 1393, "907", marks=pytest.mark.source("poh-160", where="specification page")),
        pytest.param(2550, 1549, "1001", marks=pytest.mark.source("poh-195", where="specification page")),
    ],
)
def test_useful_load(check, most, empty, printed):
    check(f"useful load of {most} lb", (most * lb - empty * lb) / lb, Printed(printed, "lb"))
