"""The loading of the flight against the airplane's limits: nothing is planned for one that is outside."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.figure import format_number
from flyoff.core.problems import Collector
from flyoff.core.quantity import Quantity
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import litre
from flyoff.dossier.airplane import Airplane, Envelope
from flyoff.dossier.loading import Item, fuel_moment_kg_m, fuel_stages
from flyoff.physics.balance import arm_limits, centre_of_gravity, inside_envelope

WEIGHED_APART = 0.01
"""A ramp weight further than this share from what was put in is a mistake; common practice, no source."""


@dataclass(frozen=True)
class Loaded:
    """The airplane at start: what is aboard besides fuel, and the ramp weight if it was written down."""

    items: tuple[Item, ...]
    fuel_m3: float
    fuel_density_kg_m3: float
    ramp_mass_kg: float | None = None


@dataclass(frozen=True)
class Moment:
    """A moment of the flight: what has been burned until then, and the most the airplane may weigh."""

    name: str
    burned_kg: float
    limit: Quantity | None


@dataclass(frozen=True)
class Balance:
    """The loading at one moment; the arm is None where nobody says where things are."""

    moment: str
    mass_kg: float
    arm_m: float | None
    envelopes: tuple[str, ...]


def check_loading(
    airplane: Airplane,
    loaded: Loaded,
    moments: Sequence[Moment],
    place: Place,
    collector: Collector,
) -> tuple[Balance, ...]:
    """Return the balance at each moment; whatever is outside a limit goes to `collector`."""
    _check_fuel(airplane, loaded, place, collector)
    _check_stations(airplane, loaded.items, place, collector)
    ramp_kg = ramp_mass(airplane, loaded)
    computed_kg = _mass(airplane, loaded)
    if loaded.items and abs(ramp_kg - computed_kg) > WEIGHED_APART * computed_kg:
        found = f"ramp_weight is {_kg(ramp_kg)}, but empty weight, occupants and fuel make {_kg(computed_kg)}"
        collector.add(place, found, "expected the two to agree to 1 %")
    balances = []
    for moment in moments:
        mass_kg = ramp_kg - moment.burned_kg
        limit = moment.limit
        if limit is not None and mass_kg > limit.si + 1e-9:
            expected = f"expected at most {limit}, on line {limit.place.line} of {limit.place.file}"
            collector.add(place, f"{_kg(mass_kg)} at {moment.name} is above the limit", expected)
        balances.append(_balance(airplane, loaded, moment, mass_kg, place, collector))
    dry_kg = ramp_kg - loaded.fuel_m3 * loaded.fuel_density_kg_m3
    limit = airplane.weights.zero_fuel
    if limit is not None and dry_kg > limit.si:
        collector.add(place, f"{_kg(dry_kg)} without fuel is above the limit", f"expected at most {limit}")
    return tuple(balances)


def moments_of(airplane: Airplane, taxi_kg: float, planned_kg: float, spare_kg: float) -> tuple[Moment, ...]:
    """Return the moments to check, by the fuel burned until then: all of the spare fuel, too."""
    weights = airplane.weights
    return (
        Moment("start", 0.0, weights.ramp or weights.takeoff),
        Moment("takeoff", taxi_kg, weights.takeoff),
        Moment("landing as planned", planned_kg, weights.landing or weights.takeoff),
        Moment("reserve left", spare_kg, None),
    )


def ramp_mass(airplane: Airplane, loaded: Loaded) -> float:
    """Return the ramp mass [kg]: as written down, else what was put in."""
    return loaded.ramp_mass_kg if loaded.ramp_mass_kg is not None else _mass(airplane, loaded)


def _mass(airplane: Airplane, loaded: Loaded) -> float:
    aboard = sum(item.mass_kg for item in loaded.items)
    return airplane.weights.empty.si + aboard + loaded.fuel_m3 * loaded.fuel_density_kg_m3


def _kg(mass_kg: float) -> str:
    return f"{format_number(mass_kg, 0)} kg"


def _check_fuel(airplane: Airplane, loaded: Loaded, place: Place, collector: Collector) -> None:
    usable_m3 = sum(tank.usable.si for tank in airplane.tanks)
    if loaded.fuel_m3 > usable_m3 * (1 + 1e-9):
        found = f"{format_number(loaded.fuel_m3 / litre, 0)} L of fuel"
        collector.add(place, found, f"expected at most the usable {format_number(usable_m3 / litre, 0)} L")


def _check_stations(airplane: Airplane, items: Sequence[Item], place: Place, collector: Collector) -> None:
    for station in airplane.stations:
        own = [item for item in items if item.name == station.name]
        if station.limit is not None and sum(item.mass_kg for item in own) > station.limit.si:
            total = _kg(sum(item.mass_kg for item in own))
            collector.add(place, f"{total} in '{station.name}'", f"expected at most {station.limit}")
        if station.seats and len(own) > station.seats:
            found = f"{len(own)} on the {station.seats} seats of '{station.name}'"
            collector.add(place, found, "expected a seat for each")


def _balance(
    airplane: Airplane, loaded: Loaded, moment: Moment, mass_kg: float, place: Place, collector: Collector
) -> Balance:
    if not loaded.items:
        return Balance(moment.name, mass_kg, None, ())
    fuel_kg = max(loaded.fuel_m3 * loaded.fuel_density_kg_m3 - moment.burned_kg, 0.0)
    stages = fuel_stages(airplane, loaded.fuel_density_kg_m3)
    tank_arm = fuel_moment_kg_m(stages, fuel_kg) / fuel_kg if fuel_kg else 0.0
    masses = [airplane.weights.empty.si, *(item.mass_kg for item in loaded.items), fuel_kg]
    arms = [airplane.weights.empty_arm.si, *(item.arm_m for item in loaded.items), tank_arm]
    arm_m = float(centre_of_gravity(np.array(masses), np.array(arms)))
    inside = tuple(e.name for e in airplane.envelopes if _inside(e, arm_m, mass_kg))
    if not inside:
        found = f"balance at {moment.name}: {_kg(mass_kg)} at {arm_m:.3f} m is outside"
        collector.add(place, found, _limits(airplane, mass_kg))
    return Balance(moment.name, mass_kg, arm_m, inside)


def _corners(envelope: Envelope) -> tuple[Array, Array]:
    return np.array([p.arm.si for p in envelope.points]), np.array([p.weight.si for p in envelope.points])


def _inside(envelope: Envelope, arm_m: float, mass_kg: float) -> bool:
    return bool(inside_envelope(arm_m, mass_kg, *_corners(envelope)))


def _limits(airplane: Airplane, mass_kg: float) -> str:
    said = []
    for envelope in airplane.envelopes:
        arms, masses = _corners(envelope)
        if masses.min() <= mass_kg <= masses.max():
            low, high = arm_limits(mass_kg, arms, masses)
            said.append(f"{low:.3f} to {high:.3f} m ({envelope.name})")
        else:
            said.append(f"{_kg(masses.min())} to {_kg(masses.max())} ({envelope.name})")
    return f"expected {' or '.join(said)}"
