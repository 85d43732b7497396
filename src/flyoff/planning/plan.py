"""A plan: the conditions chosen, their order, and what more time would buy."""

from dataclasses import dataclass

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.figure import format_number
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import minute
from flyoff.planning.design import Cost, Design
from flyoff.planning.figures import undefined
from flyoff.planning.loading import Balance
from flyoff.planning.request import Request
from flyoff.planning.schedule import Step, schedule_of

BEYOND_S = 60 * minute
"""How far past the time given the table of further time goes."""


@dataclass(frozen=True)
class Rung:
    """What one length of flight would leave of each figure's 95 % half-width [SI]."""

    time_s: float
    conditions: int
    u95: Array


@dataclass(frozen=True)
class Plan:
    """The flight to make, and each figure's 95 % half-width before and after it [SI]."""

    name: str
    request: Request
    design: Design
    chosen: tuple[int, ...]
    steps: tuple[Step, ...]
    cost: Cost
    u95_before: Array
    u95_after: Array
    rungs: tuple[Rung, ...]
    balances: tuple[Balance, ...] = ()
    remarks: tuple[str, ...] = ()


def make_plan(
    request: Request,
    name: str = "plan",
    place: Place | None = None,
    remarks: tuple[str, ...] = (),
) -> Plan:
    """Return the plan of a request.

    Raises
    ------
    Problems
        If nothing can be flown in the time, fuel and altitudes given.
    """
    place = place or Place(name)
    design = Design(request)
    gone = undefined(design.figures)
    if gone:
        found = f"no {' and no '.join(gone)} at the power and altitude asked"
        raise Problems([Problem(place, found, "expected a cruise that the airplane can fly")])
    ladder = design.ladder(request.time_s + BEYOND_S)
    flown = [(time_s, chosen) for time_s, chosen in ladder if time_s <= request.time_s + 1e-6 and chosen]
    if not flown:
        raise Problems([Problem(place, *_nothing(design))])
    chosen = flown[-1][1]
    rungs = tuple(
        Rung(time_s, len(own), COVERAGE_95 * design.u_after(own))
        for time_s, own in ladder
        if np.isclose((time_s - request.time_s) % 600, 0) or np.isclose((time_s - request.time_s) % 600, 600)
    )
    return Plan(
        name, request, design, chosen, schedule_of(design, chosen), design.cost(chosen),
        COVERAGE_95 * design.u_before, COVERAGE_95 * design.u_after(chosen), rungs, (), remarks,
    )  # fmt: skip


def _nothing(design: Design) -> tuple[str, str]:
    if not design.candidates:
        return (
            "no condition is between the least and the highest speed at these altitudes",
            "expected altitudes that the airplane can cruise at, and its speeds in the dossier",
        )
    costs = [design.cost((i,)) for i in range(len(design.candidates))]
    shortest = min(c.time_s for c in costs if c.fits)
    spare = design.request.fuel_kg - design.request.reserve_kg
    least = min(c.fuel_kg for c in costs if c.fits)
    return (
        f"nothing can be flown in {format_number(design.request.time_s / minute, 0)} min with "
        f"{format_number(spare, 0)} kg of fuel above the reserve",
        f"expected at least {format_number(np.ceil(shortest / 300) * 5, 0)} min and "
        f"{format_number(np.ceil(least), 0)} kg",
    )
