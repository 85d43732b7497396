"""Flights made ready for readers, drawn once for all tests."""

from dataclasses import replace
from functools import cache

from flyoff.reduction.run import Reduction
from flyoff.report.flown import FlownDay
from flyoff.study.seen import flown_day
from helpers.flights import reduction_of

HOSTILE = "<script>alert('x')</script>&\"</svg>"
REFUSED = "the wind changed between the legs"


def hostile(reduction: Reduction) -> Reduction:
    """Return a flight whose texts try to be markup, and whose first group of legs is refused."""
    flight = reduction.flight
    card = flight.card.model_copy(update={"title": HOSTILE, "crew": (HOSTILE,), "aircraft": HOSTILE})
    first, *rest = reduction.legs
    solution = replace(first.solution, refused=REFUSED)
    return replace(
        reduction,
        flight=replace(flight, card=card),
        legs=(replace(first, solution=solution), *rest),
        warnings=(HOSTILE,),
    )


@cache
def day_of(name: str) -> FlownDay:
    """Return a simulated flight ready for readers."""
    return flown_day(reduction_of(name), name.partition(".")[0])


@cache
def hostile_day() -> FlownDay:
    """Return the hostile flight, by a name that no id may hold."""
    return flown_day(hostile(reduction_of("sample.csv")), 'sam"ple <1>(2)')
