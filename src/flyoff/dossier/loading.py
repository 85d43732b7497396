"""People and bags put into an airplane, row by row."""

from collections.abc import Sequence
from dataclasses import dataclass

from flyoff.dossier.airplane import Airplane

MASS_TOLERANCE_KG = 1e-6
"""Weights closer than this are one weight, written in two units."""


@dataclass(frozen=True)
class Person:
    """Somebody to be seated; `station` is the row where they must sit, nothing where any will do."""

    name: str
    mass_kg: float
    station: str = ""


@dataclass(frozen=True)
class Item:
    """Something aboard: its weight and arm."""

    name: str
    mass_kg: float
    arm_m: float


@dataclass(frozen=True)
class Loading:
    """What is aboard besides fuel, and what found no room."""

    items: tuple[Item, ...]
    people_left: int
    bags_left_kg: float

    @property
    def mass_kg(self) -> float:
        """Weight aboard [kg]."""
        return sum(item.mass_kg for item in self.items)

    @property
    def moment_kg_m(self) -> float:
        """Moment about the datum [kg m]."""
        return sum(item.mass_kg * item.arm_m for item in self.items)

    @property
    def shortfall(self) -> str:
        """What found no room, in words; empty where all did."""
        parts = []
        if self.people_left:
            parts.append(f"{self.people_left} without a seat")
        if self.bags_left_kg > MASS_TOLERANCE_KG:
            parts.append(f"{self.bags_left_kg:,.0f} kg of bags without room")
        return " and ".join(parts)


@dataclass(frozen=True)
class FuelStage:
    """Tanks that are drawn on together: what they hold, and where."""

    name: str
    capacity_kg: float
    arm_m: float


def fuel_stages(airplane: Airplane, density_kg_m3: float) -> tuple[FuelStage, ...]:
    """Return the tanks in the order in which they are filled: the one used last first.

    Where the dossier gives no order, all are drawn on together, each by its size.
    """
    tanks = {tank.name: tank for tank in airplane.tanks}
    if airplane.fuel_order:
        used_last_first = [tanks[name] for name in reversed(airplane.fuel_order)]
        return tuple(FuelStage(t.name, t.usable.si * density_kg_m3, t.arm.si) for t in used_last_first)
    usable_m3 = sum(tank.usable.si for tank in airplane.tanks)
    arm_m = sum(tank.usable.si * tank.arm.si for tank in airplane.tanks) / usable_m3
    return (FuelStage(" and ".join(tanks), usable_m3 * density_kg_m3, arm_m),)


def fuel_moment_kg_m(stages: Sequence[FuelStage], fuel_kg: float) -> float:
    """Return the moment of some fuel about the datum [kg m]; beyond full tanks as in the last stage."""
    moment, left = 0.0, fuel_kg
    for stage in stages[:-1]:
        put = min(left, stage.capacity_kg)
        moment, left = moment + put * stage.arm_m, left - put
    return moment + left * stages[-1].arm_m


def load(airplane: Airplane, people_kg: Sequence[float], bags_kg: float) -> Loading:
    """Return people seated in the order of the rows, and bags in the order of the compartments.

    A row takes people while it has seats and its limit allows; who fits
    nowhere is counted in `people_left`, likewise bags.
    """
    items: list[Item] = []
    waiting = list(people_kg)
    for row in (station for station in airplane.stations if station.seats):
        limit = row.limit.si if row.limit else float("inf")
        seated: list[float] = []
        while waiting and len(seated) < row.seats and sum(seated) + waiting[0] <= limit + MASS_TOLERANCE_KG:
            seated.append(waiting.pop(0))
        if seated:
            items.append(Item(row.name, sum(seated), row.arm.si))
    bags_left = bags_kg
    for compartment in (station for station in airplane.stations if not station.seats):
        room = compartment.limit.si if compartment.limit else float("inf")
        put = min(bags_left, room)
        if put > 0:
            items.append(Item(compartment.name, put, compartment.arm.si))
            bags_left -= put
    return Loading(tuple(items), len(waiting), bags_left)
