"""What still fits: the most fuel, the most baggage, or the least left behind, as a mixed-integer program.

Weight and moment are linear in who sits where, in the bags of each compartment and in the fuel of each
tank, so an envelope over moment and weight is a constraint; see `flyoff.physics.envelope`. Every answer
is worked out again directly before it is given.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.comparison.loading_program import Asked, solve
from flyoff.comparison.through_flight import (
    Margin,
    Ready,
    corners,
    envelope_margins,
    most_fuel_kg,
    track,
    weight_margins,
    within_limits,
)
from flyoff.core.typing import Array
from flyoff.dossier.airplane import Envelope
from flyoff.dossier.loading import MASS_TOLERANCE_KG, Item, Loading, Person, load
from flyoff.physics.balance import envelope_margin

_ROUNDS = 30


@dataclass(frozen=True)
class Placement:
    """A loading that fits: who sits where, bags by compartment, fuel at start; and what stays behind."""

    seats: tuple[tuple[Person, str], ...]
    bags: tuple[tuple[str, float], ...]
    fuel_kg: float
    people_left: tuple[Person, ...] = ()
    bags_left_kg: float = 0.0
    binding: tuple[str, ...] = ()
    """The limits that leave nothing."""

    @property
    def bags_kg(self) -> float:
        """Weight of the bags aboard."""
        return sum(kg for _, kg in self.bags)

    def loading(self, ready: Ready) -> Loading:
        """Return what is aboard besides fuel."""
        arms = {station.name: station.arm.si for station in ready.airplane.stations}
        items = [Item(row, person.mass_kg, arms[row]) for person, row in self.seats]
        items += [Item(name, kg, arms[name]) for name, kg in self.bags]
        return Loading(tuple(items), 0, 0.0)


def in_order(ready: Ready, people: Sequence[Person], bags_kg: float, fuel_kg: float) -> Placement | None:
    """Return people seated and bags stowed in the dossier's order, or None where they find no room."""
    waiting, seats = list(people), []
    for row in (station for station in ready.airplane.stations if station.seats):
        room = row.limit.si if row.limit else float("inf")
        taken = 0
        while waiting and taken < row.seats and waiting[0].mass_kg <= room + MASS_TOLERANCE_KG:
            person = waiting.pop(0)
            seats.append((person, row.name))
            taken, room = taken + 1, room - person.mass_kg
    stowed = load(ready.airplane, (), bags_kg)
    if waiting or stowed.shortfall or any(p.station not in ("", row) for p, row in seats):
        return None
    return Placement(tuple(seats), tuple((item.name, item.mass_kg) for item in stowed.items), fuel_kg)


def most_fuel(ready: Ready, envelope: Envelope, people: Sequence[Person], bags_kg: float) -> Placement | None:
    """Return the loading of some people and bags that takes the most fuel, or None where none fits.

    The first of the people flies, and sits in the first row.
    """
    first = in_order(ready, people, bags_kg, 0.0)
    if first is not None:
        dry_kg, _ = ready.dry(first.loading(ready))
        bound_kg = min(ready.capacity_kg, ready.ramp_kg - dry_kg, ready.takeoff_kg + ready.taxi_kg - dry_kg)
        if bound_kg >= ready.taxi_kg and _most_fuel(ready, envelope, first) >= bound_kg - MASS_TOLERANCE_KG:
            return _told(ready, envelope, replace(first, fuel_kg=bound_kg))
    asked = Asked(tuple(people), (bags_kg, bags_kg), (0.0, ready.capacity_kg), worth_fuel=1.0)
    return _settled(ready, envelope, asked)


def most_bags(ready: Ready, envelope: Envelope, people: Sequence[Person], fuel_kg: float) -> Placement | None:
    """Return the loading of some people and fuel at start that takes the most bags, or None."""
    takeoff_kg = ready.takeoff_fuel_kg(fuel_kg)
    if fuel_kg > ready.capacity_kg + MASS_TOLERANCE_KG:
        return None
    asked = Asked(tuple(people), (0.0, ready.takeoff_kg), (takeoff_kg, takeoff_kg), worth_bags=1.0)
    return _settled(ready, envelope, asked, fuel_kg)


def seated_to_fit(
    ready: Ready, envelope: Envelope, people: Sequence[Person], bags_kg: float, fuel_kg: float
) -> Placement | None:
    """Return a seating and stowing by which people, bags and fuel at start all fit, or None."""
    takeoff_kg = ready.takeoff_fuel_kg(fuel_kg)
    if fuel_kg > ready.capacity_kg + MASS_TOLERANCE_KG:
        return None
    return _settled(
        ready, envelope, Asked(tuple(people), (bags_kg, bags_kg), (takeoff_kg, takeoff_kg)), fuel_kg
    )


@dataclass(frozen=True)
class LeftBehind:
    """What must stay so that the rest fits, in three ways; None where that way does not lead there."""

    weight: Placement | None
    """The least weight, of people and bags, all the fuel aboard."""
    people: Placement | None
    """The fewest people, all bags and fuel aboard."""
    fuel: Placement | None
    """The least fuel, all people and bags aboard."""


def left_behind(
    ready: Ready, envelope: Envelope, people: Sequence[Person], bags_kg: float, fuel_kg: float
) -> LeftBehind:
    """Return what must be left behind of some people, bags and fuel at start; the first person flies."""
    takeoff_kg = ready.takeoff_fuel_kg(fuel_kg)
    weight = fewest = None
    if fuel_kg <= ready.capacity_kg + MASS_TOLERANCE_KG:
        asked = Asked(tuple(people), (0.0, bags_kg), (takeoff_kg, takeoff_kg), may_stay=True)
        weight = _settled(ready, envelope, replace(asked, worth_bags=1.0, worth_person_kg=1.0), fuel_kg)
        asked = replace(asked, bags_kg=(bags_kg, bags_kg), worth_person=1000.0, worth_person_kg=1.0)
        fewest = _settled(ready, envelope, asked, fuel_kg)
    return LeftBehind(
        _less(weight, people, bags_kg),
        _less(fewest, people, bags_kg),
        most_fuel(ready, envelope, people, bags_kg),
    )


def _less(placement: Placement | None, people: Sequence[Person], bags_kg: float) -> Placement | None:
    if placement is None:
        return None
    aboard = [id(person) for person, _ in placement.seats]
    stay = tuple(person for person in people if id(person) not in aboard)
    return replace(placement, people_left=stay, bags_left_kg=max(bags_kg - placement.bags_kg, 0.0))


def _settled(
    ready: Ready, envelope: Envelope, asked: Asked, fuel_kg: float | None = None
) -> Placement | None:
    """Return the best answer whose whole flight is inside, or None.

    The program holds an envelope at takeoff, at zero fuel and as each tank
    empties, which is enough where it is convex. Where it is not, the fuel at
    which the direct check finds the answer outside is held too, until none is.
    """
    held: list[float] = []
    for _ in range(_ROUNDS):
        found = solve(ready, envelope, asked, held)
        if found is None:
            return None
        seats, bags, takeoff_kg = found
        placement = Placement(seats, bags, takeoff_kg + ready.taxi_kg if fuel_kg is None else fuel_kg)
        if fuel_kg is None:
            most_kg = _most_fuel(ready, envelope, placement)
            if most_kg >= takeoff_kg - 0.01:
                return _told(ready, envelope, replace(placement, fuel_kg=most_kg))
        elif within_limits(ready, placement.loading(ready), fuel_kg, envelope):
            return _told(ready, envelope, placement)
        outside = _furthest_outside(ready, placement, envelope)
        if outside in held:
            return None
        held.append(outside)
    return None


def _most_fuel(ready: Ready, envelope: Envelope, placement: Placement) -> float:
    most = most_fuel_kg(ready, placement.loading(ready), envelope, np.array([ready.empty_kg]))
    return float(np.nan_to_num(most, nan=-1.0)[0])


def _furthest_outside(ready: Ready, placement: Placement, envelope: Envelope) -> float:
    way = track(ready, placement.loading(ready), placement.fuel_kg)
    margin: Array = np.asarray(envelope_margin(way.arm_m, way.mass_kg, *corners(envelope)))
    return float(way.fuel_kg[int(np.argmin(margin))])


def margins(ready: Ready, placement: Placement, envelope: Envelope) -> list[Margin]:
    """Return what every limit and both sides of an envelope leave, the nearest first."""
    loading = placement.loading(ready)
    every = [
        *weight_margins(ready, loading, placement.fuel_kg),
        *envelope_margins(ready, loading, placement.fuel_kg, envelope),
    ]
    return sorted(every, key=lambda margin: margin.share)


def _told(ready: Ready, envelope: Envelope, placement: Placement) -> Placement:
    """Return a placement with the limits that leave nothing."""
    near = {"mass": 0.01, "length": 1e-4}
    binding = [m.limit for m in margins(ready, placement, envelope) if m.spare_si <= near[m.dimension]]
    return replace(placement, binding=tuple(binding))
