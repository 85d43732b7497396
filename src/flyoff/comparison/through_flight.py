"""A loading through the whole flight, from the ramp to empty tanks, against every limit and envelope."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from flyoff.core.typing import Array
from flyoff.dossier.airplane import Airplane, Envelope
from flyoff.dossier.loading import MASS_TOLERANCE_KG, FuelStage, Loading, fuel_moment_kg_m, fuel_stages
from flyoff.physics.balance import arm_limits
from flyoff.physics.envelope import share_inside

_STEPS = 100


@dataclass(frozen=True)
class Ready:
    """An airplane ready to be loaded: what it weighs empty, and the fuel that a flight sets aside."""

    airplane: Airplane
    empty_kg: float
    empty_moment_kg_m: float
    density_kg_m3: float
    taxi_kg: float = 0.0
    reserve_kg: float = 0.0

    @cached_property
    def stages(self) -> tuple[FuelStage, ...]:
        """The tanks in the order in which they are filled, and left in the reverse."""
        return fuel_stages(self.airplane, self.density_kg_m3)

    @property
    def capacity_kg(self) -> float:
        """Usable fuel of full tanks."""
        return sum(stage.capacity_kg for stage in self.stages)

    @property
    def takeoff_kg(self) -> float:
        """Maximum takeoff weight."""
        return self.airplane.weights.takeoff.si

    @property
    def ramp_kg(self) -> float:
        """Maximum ramp weight; without one of its own nothing may be aboard beyond the takeoff weight."""
        return (self.airplane.weights.ramp or self.airplane.weights.takeoff).si

    @property
    def landing_kg(self) -> float:
        """Maximum landing weight; without one of its own the takeoff weight."""
        return (self.airplane.weights.landing or self.airplane.weights.takeoff).si

    @property
    def zero_fuel_kg(self) -> float:
        """Maximum weight without fuel; without one of its own the takeoff weight."""
        return (self.airplane.weights.zero_fuel or self.airplane.weights.takeoff).si

    def dry(self, loading: Loading) -> tuple[float, float]:
        """Return weight [kg] and moment [kg m] without usable fuel."""
        return self.empty_kg + loading.mass_kg, self.empty_moment_kg_m + loading.moment_kg_m

    def takeoff_fuel_kg(self, fuel_kg: float) -> float:
        """Return what is left of the fuel at start when takeoff begins."""
        return max(fuel_kg - self.taxi_kg, 0.0)


@dataclass(frozen=True)
class State:
    """The airplane at one moment of the flight."""

    name: str
    fuel_kg: float
    mass_kg: float
    arm_m: float


@dataclass(frozen=True)
class Margin:
    """What a limit leaves: negative where it is exceeded.

    `share` is the part of what the limit allows that is left, so that limits
    of different kinds can be ranked.
    """

    limit: str
    where: str
    dimension: str
    most_si: float
    spare_si: float
    share: float

    @property
    def kept(self) -> bool:
        """Whether the limit is kept."""
        return self.spare_si >= (-MASS_TOLERANCE_KG if self.dimension == "mass" else -1e-9)


def states(ready: Ready, loading: Loading, fuel_kg: float) -> tuple[State, ...]:
    """Return the flight's moments in order: ramp, takeoff, each tank empty, landing, zero fuel."""
    takeoff_kg = ready.takeoff_fuel_kg(fuel_kg)
    named = [("takeoff", takeoff_kg)]
    filled_kg = 0.0
    for below, stage in zip(ready.stages, ready.stages[1:], strict=False):
        filled_kg += below.capacity_kg
        if filled_kg < takeoff_kg:
            named.append((f"{stage.name} empty", filled_kg))
    if 0.0 < ready.reserve_kg < takeoff_kg:
        named.append(("landing", ready.reserve_kg))
    named.sort(key=lambda pair: -pair[1])
    return tuple(
        _state(ready, loading, name, kg) for name, kg in (("ramp", fuel_kg), *named, ("zero fuel", 0.0))
    )


def _state(ready: Ready, loading: Loading, name: str, fuel_kg: float) -> State:
    mass_kg, moment = ready.dry(loading)
    mass_kg, moment = mass_kg + fuel_kg, moment + fuel_moment_kg_m(ready.stages, fuel_kg)
    return State(name, fuel_kg, mass_kg, moment / mass_kg)


@dataclass(frozen=True)
class Way:
    """The way from takeoff to zero fuel in small steps, its named moments among them, shape (n,)."""

    names: tuple[str, ...]
    fuel_kg: Array
    mass_kg: Array
    arm_m: Array


def track(ready: Ready, loading: Loading, fuel_kg: float) -> Way:
    """Return the way from takeoff to zero fuel."""
    named = {state.fuel_kg: state.name for state in states(ready, loading, fuel_kg)[1:]}
    steps = np.linspace(ready.takeoff_fuel_kg(fuel_kg), 0.0, _STEPS + 1)
    fuel = np.unique([*named, *steps])[::-1]
    filled = np.cumsum([0.0, *(stage.capacity_kg for stage in ready.stages)])
    moments = np.array([fuel_moment_kg_m(ready.stages, kg) for kg in filled])
    dry_kg, dry_moment = ready.dry(loading)
    beyond = np.maximum(fuel - filled[-1], 0.0) * ready.stages[-1].arm_m
    mass = dry_kg + fuel
    arm = (dry_moment + np.interp(fuel, filled, moments) + beyond) / mass
    return Way(tuple(named.get(float(kg), "") for kg in fuel), fuel, mass, arm)


def weight_margins(ready: Ready, loading: Loading, fuel_kg: float) -> Iterator[Margin]:
    """Yield what each limit of weight and volume leaves."""
    dry_kg, _ = ready.dry(loading)
    takeoff_kg = ready.takeoff_fuel_kg(fuel_kg)
    landing_kg = min(ready.reserve_kg, takeoff_kg)
    for limit, most_kg, mass_kg in (
        ("ramp weight", ready.ramp_kg, dry_kg + fuel_kg),
        ("takeoff weight", ready.takeoff_kg, dry_kg + takeoff_kg),
        ("landing weight", ready.landing_kg, dry_kg + landing_kg),
        ("zero fuel weight", ready.zero_fuel_kg, dry_kg),
    ):
        spare = most_kg - mass_kg
        share = spare / (most_kg - ready.empty_kg)
        yield Margin(limit, limit.removesuffix(" weight"), "mass", most_kg, spare, share)
    for station in ready.airplane.stations:
        if station.limit is not None:
            put = sum(item.mass_kg for item in loading.items if item.name == station.name)
            spare = station.limit.si - put
            share = spare / station.limit.si if station.limit.si else min(spare, 0.0)
            yield Margin(station.name, "throughout", "mass", station.limit.si, spare, share)
    spare = ready.capacity_kg - fuel_kg
    yield Margin("tanks", "at start", "mass", ready.capacity_kg, spare, spare / ready.capacity_kg)


def corners(envelope: Envelope) -> tuple[Array, Array]:
    """Return the arms [m] and weights [kg] of an envelope's corners."""
    return np.array([p.arm.si for p in envelope.points]), np.array([p.weight.si for p in envelope.points])


def envelope_margins(ready: Ready, loading: Loading, fuel_kg: float, envelope: Envelope) -> list[Margin]:
    """Return what is left to each side of an envelope where it is least, from takeoff to zero fuel."""
    arms, masses = corners(envelope)
    way = track(ready, loading, fuel_kg)
    mass, arm = way.mass_kg, way.arm_m
    top, bottom = float(masses.max()), float(masses.min())
    margins = []
    for word, edge, spare_kg in (("highest", top, top - mass), ("lowest", bottom, mass - bottom)):
        worst = int(np.argmin(spare_kg))
        spare = float(spare_kg[worst])
        if spare < -MASS_TOLERANCE_KG:
            limit = f"{envelope.name} envelope, {word} weight"
            margins.append(Margin(limit, _where(way, worst), "mass", edge, spare, spare / edge))
    forward, aft = (np.asarray(a) for a in arm_limits(np.clip(mass, bottom, top), arms, masses))
    width = np.maximum(aft - forward, 1e-9)
    for side, edges, spares in (("forward", forward, arm - forward), ("aft", aft, aft - arm)):
        worst = int(np.argmin(spares / width))
        most, spare = float(edges[worst]), float(spares[worst])
        limit = f"{envelope.name} envelope, {side}"
        share = spare / float(width[worst])
        margins.append(Margin(limit, _where(way, worst), "length", most, spare, share))
    return margins


def _where(way: Way, index: int) -> str:
    share = way.fuel_kg[index] / way.fuel_kg[0] if way.fuel_kg[0] else 0.0
    return way.names[index] or f"with {100 * share:.0f} % of the takeoff fuel"


def inside(ready: Ready, loading: Loading, fuel_kg: float, envelope: Envelope) -> bool:
    """Tell whether an envelope holds the loading from takeoff to zero fuel; exact, not stepped."""
    takeoff_kg = ready.takeoff_fuel_kg(fuel_kg)
    held = balanced_fuel_kg(ready, loading, envelope, np.array([ready.empty_kg]))[0]
    return bool(held >= takeoff_kg - MASS_TOLERANCE_KG)


def balanced_fuel_kg(ready: Ready, loading: Loading, envelope: Envelope, empty_kg: Array) -> Array:
    """Return the most takeoff fuel whose whole burn an envelope holds; NaN where even zero fuel is outside.

    For each of several empty weights, the arm of the empty airplane unchanged.
    """
    arms, masses = corners(envelope)
    dry_kg = empty_kg + loading.mass_kg
    moment = ready.empty_moment_kg_m * (empty_kg / ready.empty_kg) + loading.moment_kg_m
    top = float(masses.max())
    near = (dry_kg > top) & (dry_kg <= top + MASS_TOLERANCE_KG)
    mass = np.where(near, top, dry_kg)
    total = np.zeros_like(mass)
    open_ = np.ones(mass.shape, dtype=bool)
    for number, stage in enumerate(ready.stages):
        added, more = stage.capacity_kg, stage.capacity_kg * stage.arm_m
        share = np.atleast_1d(share_inside(mass, moment, added, more, arms, masses))
        if number == 0:
            total = np.where(np.isnan(share), np.nan, total)
        total = np.where(open_, total + np.nan_to_num(share) * added, total)
        open_ &= share >= 1.0
        mass, moment = mass + added, moment + more
    return total


def within_limits(ready: Ready, loading: Loading, fuel_kg: float, envelope: Envelope) -> bool:
    """Tell whether every limit and the envelope are kept through the whole flight."""
    return (
        not loading.shortfall
        and fuel_kg >= 0.0
        and all(margin.kept for margin in weight_margins(ready, loading, fuel_kg))
        and inside(ready, loading, fuel_kg, envelope)
    )


def fuel_by_weight_kg(ready: Ready, loading: Loading, empty_kg: Array) -> Array:
    """Return the most fuel at start that every weight limit allows, for some empty weights.

    NaN where not even the fuel for taxi is allowed, or where people or bags
    found no room. The reserve is aboard at landing.
    """
    dry_kg = empty_kg + loading.mass_kg
    fuel = np.minimum(ready.ramp_kg - dry_kg, ready.takeoff_kg + ready.taxi_kg - dry_kg)
    fuel = np.minimum(fuel, ready.capacity_kg)
    dry_most = min(ready.zero_fuel_kg, ready.landing_kg - ready.reserve_kg)
    stations_kept = all(
        margin.kept for margin in weight_margins(ready, loading, 0.0) if margin.where == "throughout"
    )
    allowed = (dry_kg <= dry_most + MASS_TOLERANCE_KG) & (fuel >= ready.taxi_kg - MASS_TOLERANCE_KG)
    allowed &= stations_kept and not loading.shortfall
    return np.where(allowed, np.maximum(fuel, 0.0), np.nan)


def most_fuel_kg(ready: Ready, loading: Loading, envelope: Envelope, empty_kg: Array) -> Array:
    """Return the most fuel at start that every limit and an envelope allow, for some empty weights.

    NaN where none is. The envelope is searched only for empty weights that
    need it: what it holds at the lightest and the heaviest it holds between.
    """
    by_weight = fuel_by_weight_kg(ready, loading, empty_kg)
    ends = np.array([empty_kg.min(), empty_kg.max()])
    held = balanced_fuel_kg(ready, loading, envelope, ends) + ready.taxi_kg
    needed = np.nan_to_num(fuel_by_weight_kg(ready, loading, ends))
    if np.all(held >= needed - MASS_TOLERANCE_KG):
        return by_weight
    return np.minimum(by_weight, balanced_fuel_kg(ready, loading, envelope, empty_kg) + ready.taxi_kg)


def empty_outside(ready: Ready) -> list[str]:
    """Return in words by which envelopes the airplane is out of balance with nothing aboard."""
    arm_m = ready.empty_moment_kg_m / ready.empty_kg
    said = []
    for envelope in ready.airplane.envelopes:
        arms, masses = corners(envelope)
        mass_kg = min(max(ready.empty_kg, float(masses.min())), float(masses.max()))
        forward, aft = (float(limit) for limit in arm_limits(mass_kg, arms, masses))
        if not forward <= arm_m <= aft:
            said.append(
                f"the empty airplane alone is outside the {envelope.name} envelope: {arm_m:.3f} m,"
                f" where {forward:.3f} to {aft:.3f} m is allowed"
            )
    return said
