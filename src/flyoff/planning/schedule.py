"""A choice of conditions put in order: upwards level by level, climbs first, and glides on the way down."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from flyoff.planning.candidates import Candidate, Kind
from flyoff.planning.design import Design

Doing: TypeAlias = Literal["taxi", "climb to", "descend", "land"] | Kind
_ORDER = {"climb": 0, "cruise climb": 1, "box": 2, "level": 3}
_LEAST_M = 1.0


@dataclass(frozen=True)
class Step:
    """One thing to do: when, how long, from which altitude to which, and the fuel left after it."""

    doing: Doing
    start_s: float
    time_s: float
    from_m: float
    to_m: float
    fuel_left_kg: float
    number: int = 0
    condition: Candidate | None = None


def schedule_of(design: Design, chosen: Sequence[int]) -> tuple[Step, ...]:
    """Return the flight step by step; conditions are numbered from 1, the same one twice in a row once."""
    request = design.request
    clock_s, left_kg, number = 0.0, request.fuel_kg, 0
    steps: list[Step] = []
    before: Candidate | None = None
    for doing, time_s, fuel_kg, from_m, to_m, condition in _parts(design, chosen):
        left_kg -= fuel_kg
        number += condition is not None and (condition is not before or condition.kind == "glide")
        own = number if condition else 0
        steps.append(Step(doing, clock_s, time_s, from_m, to_m, left_kg, own, condition))
        before = condition
        clock_s += time_s
    return tuple(steps)


_Part: TypeAlias = tuple[Doing, float, float, float, float, Candidate | None]


def _parts(design: Design, chosen: Sequence[int]) -> Iterator[_Part]:
    request, practice = design.request, design.request.practice
    members = [design.candidates[i] for i in chosen]
    flown = [c for c in members if c.kind != "glide"]
    flown.sort(key=lambda c: (c.altitude_m, _ORDER[c.kind], c.power_ratio, c.calibrated_airspeed_m_s))
    glides = sorted((c for c in members if c.kind == "glide"), key=lambda c: -c.calibrated_airspeed_m_s)
    here, top, field = request.field_m, design.top_m(chosen), request.field_m
    done_s, done_kg = 0.0, 0.0
    yield "taxi", practice.before_takeoff_s, request.taxi_fuel_kg, field, field, None
    for level in [*dict.fromkeys(c.altitude_m for c in flown), *([] if flown else [top])]:
        up_s, up_kg = design.transits[level]
        yield "climb to", up_s - done_s, up_kg - done_kg, here, level, None
        here, done_s, done_kg = level, up_s, up_kg
        for c in flown:
            if c.altitude_m == level:
                yield c.kind, c.time_s, c.fuel_kg, level, level, c
    for glide in glides:
        yield "glide", glide.time_s, glide.fuel_kg, here, here - glide.descends_m, glide
        here -= glide.descends_m
    if here - field > _LEAST_M:
        down_s = (here - field) / practice.descent_m_s
        yield "descend", down_s, down_s * design.descent_flow_kg_s, here, field, None
    yield "land", practice.landing_s, practice.landing_s * design.descent_flow_kg_s, field, field, None
