"""Loadings, and what still fits, against government documents' worked examples."""

import numpy as np
import pytest

from flyoff.comparison.fits import Placement, left_behind, most_bags, most_fuel
from flyoff.comparison.standard_people import standard_weight
from flyoff.comparison.through_flight import Ready, inside, states
from flyoff.core.units import inch, lb, us_gal
from flyoff.dossier.loading import Person
from helpers.loadings import airplane
from helpers.printed import Printed

AVGAS = 6 * lb / us_gal
PEOPLE = tuple(Person(name, 170 * lb) for name in ("pilot", "front", "rear left", "rear right"))


def _of_ac_43_13() -> Ready:
    """Return the airplane of AC 43.13-1B's figures, 17 lb of oil at -49 in counted with the empty weight."""
    empty_lb, moment = 1169 + 17, 12391 - 833
    limits = [(900, 8.5), (2100, 8.5), (2100, 21.9), (900, 21.9)]
    plane = airplane(
        corners=[(w * lb, x * inch) for w, x in limits],
        tanks=[(240 * lb / AVGAS * 1000, 22 * inch)],
        rows=[(16 * inch, 2), (48 * inch, 2)],
        holds=[(75.5 * inch, 100 * lb), (0.0, 0.0)],
        limits=(2100 * lb,) * 4,
        empty=(empty_lb * lb, moment / empty_lb * inch),
    )
    return Ready(plane, empty_lb * lb, moment * lb * inch, AVGAS)


def _put(*rows: str, bags_lb: float = 0.0, fuel_lb: float = 0.0) -> Placement:
    seats = tuple(zip(PEOPLE, rows, strict=False))
    bags = (("hold 0", bags_lb * lb),) if bags_lb else ()
    return Placement(seats, bags, fuel_lb * lb)


@pytest.mark.parametrize(
    ("placement", "weight", "moment", "arm"),
    [
        pytest.param(
            _put("row 0", fuel_lb=83), "1439", "16104", "11.2",
            marks=pytest.mark.source("ac-43-13", where="Fig. 10-10, most forward extreme"),
        ),
        pytest.param(
            Placement(
                ((PEOPLE[0], "row 0"), (PEOPLE[1], "row 1"), (PEOPLE[2], "row 1")),
                (("hold 0", 100 * lb),), 240 * lb,
            ), "2036", "43428", None,
            marks=pytest.mark.source("ac-43-13", where="Fig. 10-11, most rearward extreme"),
        ),
        pytest.param(
            Placement(
                ((PEOPLE[0], "row 0"), (PEOPLE[1], "row 1"), (PEOPLE[2], "row 0")),
                (("hold 0", 100 * lb),), 240 * lb,
            ), "2036", "37988", "18.7",
            marks=pytest.mark.source("ac-43-13", where="Fig. 10-14, full baggage"),
        ),
    ],
)  # fmt: skip
def test_extremes(check, placement, weight, moment, arm):
    of = _of_ac_43_13()
    ramp = states(of, placement.loading(of), placement.fuel_kg)[0]
    check("total weight", ramp.mass_kg / lb, Printed(weight, "lb"))
    check("total moment", ramp.mass_kg * ramp.arm_m / lb / inch, Printed(moment, "lb in"))
    if arm:
        check("centre of gravity", ramp.arm_m / inch, Printed(arm, "in"))
    assert inside(of, placement.loading(of), placement.fuel_kg, of.airplane.envelopes[0])


@pytest.mark.source("ac-43-13", where="Fig. 10-13, most fuel with the seats filled")
def test_most_fuel_with_all_seats_filled(check):
    """The figure's centre of gravity, 18.6 in, is not its own moment over its own weight: 18.3 in."""
    of = _of_ac_43_13()
    found = most_fuel(of, of.airplane.envelopes[0], PEOPLE, 0.0)
    assert found is not None
    check("fuel permissible", found.fuel_kg / AVGAS / us_gal, Printed("39", "US gal"))
    ramp = states(of, found.loading(of), found.fuel_kg)[0]
    check("total weight", ramp.mass_kg / lb, Printed("2100", "lb"))
    check("total moment", ramp.mass_kg * ramp.arm_m / lb / inch, Printed("38466", "lb in"))


@pytest.mark.source("ac-43-13", where="Fig. 10-13, most bags beside that fuel")
def test_no_bags_beside_that_fuel(check):
    of = _of_ac_43_13()
    found = most_bags(of, of.airplane.envelopes[0], PEOPLE, 234 * lb)
    assert found is not None
    check("baggage permissible", found.bags_kg / lb, Printed("0", "lb"))


@pytest.mark.source("ac-43-13", where="Fig. 10-14, passengers with full baggage and full fuel")
def test_passengers_with_full_baggage_and_fuel(check):
    of = _of_ac_43_13()
    left = left_behind(of, of.airplane.envelopes[0], PEOPLE, 100 * lb, 240 * lb)
    assert left.people is not None
    check("passengers permissible", len(left.people.seats) - 1, Printed("2"))


@pytest.mark.source("ac-43-13", where="Fig. 10-14's schedule, full fuel and two passengers in the rear")
def test_bags_with_full_fuel_and_two_in_the_rear(check):
    of = _of_ac_43_13()
    three = (PEOPLE[0], *(Person(p.name, p.mass_kg, "row 1") for p in PEOPLE[2:]))
    found = most_bags(of, of.airplane.envelopes[0], three, 240 * lb)
    assert found is not None
    check("baggage permissible", found.bags_kg / lb, Printed("100", "lb"))


@pytest.mark.source("wbh", where="light twin: scales, tares and load; arms from memory", status="from memory")
def test_light_twin(check):
    weights = np.array([1084 - 8 + 1148 - 8 + 1202 - 14, 840, 320, 310, 100, 90], dtype=float)
    arms = np.array([35.28, 61, 37, 75, -15, 113])
    check("loaded weight", weights.sum(), Printed("5064", "lb"))
    check("centre of gravity", weights @ arms / weights.sum(), Printed("42.47", "in"))


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        pytest.param(
            "standard person, FAA-H-8083-1B", "170",
            marks=pytest.mark.source("wbh", where="standard weights, as quoted", status="opened 2nd-hand"),
        ),
        *(
            pytest.param(
                f"standard {who}, NCC.POL.105", kg,
                marks=pytest.mark.source("965-2012", where="Table 2, 1 to 5 seats; (c) for the crew"),
            )
            for who, kg in (("male", "104"), ("female", "86"), ("child", "35"), ("pilot", "85"))
        ),
    ],
)  # fmt: skip
def test_standard_people(check, name, printed):
    quantity = standard_weight(name)
    assert quantity is not None
    check(name, quantity.number, Printed(printed, quantity.unit.label))
