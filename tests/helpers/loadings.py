"""Airplanes made of a few numbers to be loaded, and a slow twin of the check that a loading fits."""

import itertools
from collections.abc import Iterator, Sequence

from flyoff.comparison.fits import Placement
from flyoff.comparison.through_flight import Ready
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.dossier.airplane import Airplane, Envelope, EnvelopePoint, Station, Tank, Weights
from flyoff.dossier.loading import Person

CONVEX = ((850, 2.26), (1100, 2.26), (1310, 2.34), (1310, 2.58), (850, 2.58))
BENT_IN = ((850, 2.20), (1000, 2.35), (1310, 2.34), (1310, 2.58), (1050, 2.44), (850, 2.58))
"""A notch in either side: inside before and after, outside between."""


def kg(number: float) -> Quantity:
    return parse_quantity(f"{number:.6f} kg", "mass")


def m(number: float) -> Quantity:
    return parse_quantity(f"{number:.6f} m", "length")


def airplane(
    *,
    corners: Sequence[tuple[float, float]] = CONVEX,
    tanks: Sequence[tuple[float, float]] = ((100, 2.6), (60, 2.1)),
    in_order: bool = True,
    rows: Sequence[tuple[float, int]] = ((2.40, 2), (3.20, 2)),
    holds: Sequence[tuple[float, float]] = ((3.9, 50), (1.4, 30)),
    limits: tuple[float, float, float, float] = (1315, 1310, 1280, 1250),
    empty: tuple[float, float] = (880, 2.31),
) -> Airplane:
    """Return an airplane whose tanks, if in order, are emptied from the last; litres weigh a kilogram."""
    ramp, takeoff, landing, zero_fuel = map(kg, limits)
    points = tuple(EnvelopePoint(weight=kg(w), arm=m(x)) for w, x in corners)
    names = [f"tank {n}" for n in range(len(tanks))]
    return Airplane.model_construct(
        name="Skarv",
        weights=Weights(
            empty=kg(empty[0]), empty_arm=m(empty[1]),
            ramp=ramp, takeoff=takeoff, landing=landing, zero_fuel=zero_fuel,
        ),
        tanks=tuple(
            Tank(name=n, usable=parse_quantity(f"{v} L", "volume"), arm=m(x), fuel="avgas")
            for n, (v, x) in zip(names, tanks, strict=True)
        ),
        fuel_order=tuple(reversed(names)) if in_order else (),
        stations=(
            *(Station(name=f"row {n}", arm=m(x), seats=s) for n, (x, s) in enumerate(rows)),
            *(Station(name=f"hold {n}", arm=m(x), limit=kg(most)) for n, (x, most) in enumerate(holds)),
        ),
        envelopes=(Envelope(name="normal", points=points),),
        options=(),
    )  # fmt: skip


def ready(of: Airplane, taxi: float = 3.0, reserve: float = 20.0) -> Ready:
    """Return it ready to be loaded."""
    weights = of.weights
    return Ready(of, weights.empty.si, weights.empty.si * weights.empty_arm.si, 1000.0, taxi, reserve)


def within(corners: Sequence[tuple[float, float]], mass: float, arm: float, slack: float = 1e-6) -> bool:
    """Tell whether a point is in a polygon, by casting a ray; a border's width more or less counts as in."""
    for dx, dy in (
        (0, 0),
        (slack, 0),
        (-slack, 0),
        (0, slack),
        (0, -slack),
        (slack, -slack),
        (-slack, -slack),
    ):
        x, y, odd = arm + dx, mass + dy, False
        for (y1, x1), (y2, x2) in zip(corners, (*corners[1:], corners[0]), strict=True):
            if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
                odd = not odd
        if odd:
            return True
    return False


def fits(of: Ready, placement: Placement, step: float = 0.5) -> bool:
    """Tell whether a placement fits, from the numbers of the dossier alone, at every step of fuel."""
    plane, weights = of.airplane, of.airplane.weights
    arms = {s.name: s.arm.si for s in plane.stations}
    put: dict[str, float] = {}
    for person, row in placement.seats:
        put[row] = put.get(row, 0.0) + person.mass_kg
    for hold, mass in placement.bags:
        put[hold] = put.get(hold, 0.0) + mass
    for station in plane.stations:
        if station.limit is not None and put.get(station.name, 0.0) > station.limit.si + 1e-5:
            return False
        if sum(row == station.name for _, row in placement.seats) > station.seats:
            return False
    dry = of.empty_kg + sum(put.values())
    moment = of.empty_moment_kg_m + sum(mass * arms[name] for name, mass in put.items())
    takeoff = max(placement.fuel_kg - of.taxi_kg, 0.0)
    assert weights.ramp and weights.landing and weights.zero_fuel
    if dry + placement.fuel_kg > weights.ramp.si + 1e-5 or dry + takeoff > weights.takeoff.si + 1e-5:
        return False
    # a flight is loaded to land with its reserve, however little fuel is aboard
    if dry + of.reserve_kg > weights.landing.si + 1e-5 or dry > weights.zero_fuel.si + 1e-5:
        return False
    corners = [(p.weight.si, p.arm.si) for p in plane.envelopes[0].points]
    aboard = 0.0
    while True:
        mass, total, left = dry + aboard, moment, aboard
        tanks = plane.tanks if plane.fuel_order else ()
        for tank in tanks:
            here = min(left, tank.usable.si * of.density_kg_m3)
            total, left = total + here * tank.arm.si, left - here
        if not tanks:
            size = sum(t.usable.si for t in plane.tanks)
            total += aboard * sum(t.usable.si * t.arm.si for t in plane.tanks) / size
        if not within(corners, mass, total / mass):
            return False
        if aboard >= takeoff:
            return placement.fuel_kg <= sum(t.usable.si for t in plane.tanks) * of.density_kg_m3 + 1e-5
        aboard = min(aboard + step, takeoff)


def every_seating(of: Ready, people: Sequence[Person]) -> Iterator[tuple[tuple[Person, str], ...]]:
    """Yield every way to seat people, the first of them in the first row."""
    rows = [s for s in of.airplane.stations if s.seats]
    for choice in itertools.product(rows, repeat=len(people)):
        if choice[0] is rows[0] and all(sum(c is row for c in choice) <= row.seats for row in rows):
            yield tuple((person, row.name) for person, row in zip(people, choice, strict=True))


def every_stowing(of: Ready, bags: float, step: float) -> Iterator[tuple[tuple[str, float], ...]]:
    """Yield ways to put bags into two compartments, by steps."""
    first, second = (s for s in of.airplane.stations if not s.seats)
    assert first.limit and second.limit
    for n in range(int(bags / step) + 2):
        here = min(n * step, bags)
        if here <= first.limit.si and bags - here <= second.limit.si:
            yield (first.name, here), (second.name, bags - here)
