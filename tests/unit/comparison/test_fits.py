"""What still fits does fit, and nothing that was tried one by one is better."""

from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flyoff.comparison.fits import Placement, left_behind, most_bags, most_fuel
from flyoff.dossier.loading import Person
from helpers import loadings
from helpers.loadings import BENT_IN, CONVEX, airplane, every_seating, every_stowing, fits, ready

CREW = (Person("a", 95.0), Person("b", 60.0), Person("c", 80.0))
some = settings(max_examples=40, deadline=None)
masses = st.integers(40, 120).map(float)
planes = st.builds(
    airplane,
    corners=st.sampled_from([CONVEX, BENT_IN]),
    tanks=st.tuples(*[st.tuples(st.sampled_from([40, 80, 120]), st.sampled_from([1.9, 2.3, 2.7, 3.1]))] * 2),
    in_order=st.booleans(),
    rows=st.sampled_from([((2.4, 2), (3.2, 2)), ((2.1, 2), (2.9, 3)), ((2.4, 1), (3.0, 2), (3.6, 2))]),
    empty=st.tuples(st.sampled_from([860, 900, 940]), st.sampled_from([2.22, 2.30, 2.38])),
    limits=st.sampled_from([(1315, 1310, 1280, 1250), (1310, 1310, 1310, 1310), (1320, 1310, 1180, 1150)]),
)
crews = st.lists(masses, min_size=1, max_size=4).map(
    lambda each: tuple(Person(f"p{n}", kg) for n, kg in enumerate(each))
)


def best_by_trying(plane, people, bags, step=5.0, fuel_step=4.0):
    """Return the most fuel of any seating and stowing, by steps of bags and fuel."""
    best = -1.0
    for seats in every_seating(plane, people):
        for stowed in every_stowing(plane, bags, step):
            kept = tuple((name, kg) for name, kg in stowed if kg)
            placement = Placement(seats, kept, max(best, 0.0))
            while fits(plane, placement, 1.0):
                best = max(best, placement.fuel_kg)
                placement = replace(placement, fuel_kg=placement.fuel_kg + fuel_step)
    return best


@pytest.mark.parametrize("corners", [CONVEX, BENT_IN])
@pytest.mark.parametrize("in_order", [True, False])
@pytest.mark.parametrize("bags", [0.0, 25.0, 60.0])
def test_no_loading_tried_one_by_one_takes_more_fuel(corners, in_order, bags):
    plane = ready(airplane(corners=corners, in_order=in_order))
    found = most_fuel(plane, plane.airplane.envelopes[0], CREW, bags)
    tried = best_by_trying(plane, CREW, bags)
    if found is None:
        assert tried < 0
        return
    assert fits(plane, found, 0.25)
    assert found.bags_kg == pytest.approx(bags)
    assert found.fuel_kg >= tried - 1e-3


@some
@given(planes, crews, st.integers(0, 80))
def test_what_fits_does_fit(plane, people, bags):
    of = ready(plane)
    found = most_fuel(of, plane.envelopes[0], people, float(bags))
    if found is not None:
        assert fits(of, found)
        assert found.bags_kg == pytest.approx(bags)
        assert [p for p in people if p in [who for who, _ in found.seats]] == list(people)
        assert found.seats[0][1] == "row 0"


FORWARD = airplane(
    corners=CONVEX, tanks=((40, 1.9), (40, 1.9)), rows=((2.4, 2), (3.2, 2)), empty=(860, 2.22),
    limits=(1310, 1310, 1310, 1310),
)  # fmt: skip
"""Without fuel, its bags end where it could no longer land with its reserve."""


@some
@example(FORWARD, tuple(Person(f"p{n}", kg) for n, kg in enumerate((40.0, 71.0, 120.0, 120.0))), 0)
@given(planes, crews, st.integers(0, 150))
def test_most_bags_do_fit_and_more_do_not(plane, people, fuel):
    of = ready(plane)
    found = most_bags(of, plane.envelopes[0], people, float(fuel))
    if found is None:
        return
    assert fits(of, found)
    for hold in ("hold 0", "hold 1"):
        put = dict(found.bags)
        more = replace(found, bags=tuple((put | {hold: put.get(hold, 0.0) + 0.5}).items()))
        assert not fits(of, more)


@some
@given(planes, crews, st.integers(0, 60), masses)
def test_more_people_never_take_more_fuel(plane, people, bags, more):
    """Where the envelope is wide; in a narrow one another person can bring balance."""
    wide = loadings.airplane(corners=((800, 1.0), (1310, 1.0), (1310, 4.0), (800, 4.0)))
    of = ready(plane.model_copy(update={"envelopes": wide.envelopes}))
    few = most_fuel(of, wide.envelopes[0], people, float(bags))
    many = most_fuel(of, wide.envelopes[0], (*people, Person("more", more)), float(bags))
    if many is not None:
        assert few is not None
        assert many.fuel_kg <= few.fuel_kg + 1e-6


@some
@given(planes, crews, st.integers(0, 120), st.integers(0, 250))
def test_what_is_left_behind_lets_the_rest_fit(plane, people, bags, fuel):
    of = ready(plane)
    left = left_behind(of, plane.envelopes[0], people, float(bags), float(fuel))
    for found in (left.weight, left.people):
        if found is not None:
            assert fits(of, found)
            assert found.fuel_kg == fuel
            assert len(found.seats) + len(found.people_left) == len(people)
    if left.weight is not None:
        assert left.weight.bags_kg + left.weight.bags_left_kg == pytest.approx(bags)
    if left.people is not None and left.weight is not None:
        behind = [
            sum(p.mass_kg for p in one.people_left) + one.bags_left_kg for one in (left.weight, left.people)
        ]
        assert behind[0] <= behind[1] + 0.1
        assert len(left.people.people_left) >= 0


def test_one_too_many_stays_and_the_lightest_that_helps():
    of = ready(airplane(rows=((2.4, 1), (3.0, 1))))
    left = left_behind(of, of.airplane.envelopes[0], CREW, 0.0, 30.0)
    assert left.people is not None
    assert [p.name for p in left.people.people_left] == ["b"]
    assert left.fuel is None


def test_a_seat_asked_for_is_kept():
    of = ready(airplane())
    found = most_fuel(of, of.airplane.envelopes[0], (CREW[0], Person("b", 60.0, "row 1")), 0.0)
    assert found is not None
    assert {who.name: row for who, row in found.seats}["b"] == "row 1"


def test_bags_go_where_balance_needs_them():
    """Nose-heavy with two in front: bags go aft before the nose compartment."""
    of = ready(airplane(empty=(880, 2.25)))
    found = most_fuel(of, of.airplane.envelopes[0], CREW[:2], 30.0)
    assert found is not None
    assert dict(found.bags) == {"hold 0": 30.0}


def test_a_full_order_of_tanks_is_filled_from_the_last_used():
    of = ready(airplane(tanks=((100, 2.6), (60, 2.1))))
    assert [stage.name for stage in of.stages] == ["tank 0", "tank 1"]
