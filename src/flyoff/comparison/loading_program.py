"""The mixed-integer program of a loading: who sits where, bags by compartment, fuel by tank."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from flyoff.comparison.through_flight import Ready, corners
from flyoff.dossier.airplane import Envelope
from flyoff.dossier.loading import Person, fuel_moment_kg_m
from flyoff.physics.envelope import Piece, convex_pieces

_INSIDE_KG_M = 1e-4
"""How far within an envelope's sides the program stays, so that rounding cannot put it outside. [kg m]"""
_MOVED = 1e-3
"""What it costs the objective to seat a person elsewhere than in the dossier's order. [kg]"""
Terms = Mapping[int, float]
Found = tuple[tuple[tuple[Person, str], ...], tuple[tuple[str, float], ...], float]


@dataclass(frozen=True)
class Asked:
    """What is to go aboard, and what is wanted most of; bags and takeoff fuel from least to most."""

    people: tuple[Person, ...]
    bags_kg: tuple[float, float]
    takeoff_fuel_kg: tuple[float, float]
    may_stay: bool = False
    """Whether people other than the first may stay behind."""
    worth_fuel: float = 0.0
    worth_bags: float = 0.0
    worth_person: float = 0.0
    worth_person_kg: float = 0.0


@dataclass
class _Program:
    """Variables with bounds and worth, and rows that bound sums of them."""

    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    worth: list[float] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def variable(self, low: float, high: float, worth: float = 0.0, *, whole: bool = False) -> int:
        self.low.append(low)
        self.high.append(high)
        self.whole.append(int(whole))
        self.worth.append(worth)
        return len(self.low) - 1

    def row(self, terms: Terms, low: float, high: float) -> None:
        self.rows.append((terms, low, high))

    def solve(self) -> "np.ndarray[tuple[int], np.dtype[np.float64]] | None":
        entries = [(n, i, factor) for n, (terms, _, _) in enumerate(self.rows) for i, factor in terms.items()]
        rows, columns, factors = zip(*entries, strict=True)
        matrix = coo_array((factors, (rows, columns)), shape=(len(self.rows), len(self.low)))
        result = milp(
            -np.array(self.worth),
            integrality=np.array(self.whole),
            bounds=Bounds(np.array(self.low), np.array(self.high)),
            constraints=LinearConstraint(
                matrix.tocsr(), np.array([r[1] for r in self.rows]), np.array([r[2] for r in self.rows])
            ),
            options={"mip_rel_gap": 0.0},
        )
        return None if result.x is None else np.asarray(result.x)


def solve(ready: Ready, envelope: Envelope, asked: Asked, held_kg: Sequence[float]) -> Found | None:
    """Return who sits where, bags by compartment and takeoff fuel, or None where nothing fits.

    The envelope is held at takeoff, at zero fuel, as each tank empties, and at
    each fuel of `held_kg` where there is that much.
    """
    program = _Program()
    seats = _seats(program, ready, asked)
    bags = _bags(program, ready, asked)
    fuel = _fuel(program, ready, asked)
    arms = {station.name: station.arm.si for station in ready.airplane.stations}
    people = asked.people
    dry_kg = {i: people[n].mass_kg for (n, _), i in seats.items()} | dict.fromkeys(bags.values(), 1.0)
    dry_moment = {i: people[n].mass_kg * arms[row] for (n, row), i in seats.items()}
    dry_moment |= {i: arms[name] for name, i in bags.items()}
    tanks = {i: stage.arm_m for i, stage in zip(fuel, ready.stages, strict=True)}
    total = dict.fromkeys(fuel, 1.0)
    inf = float("inf")
    most_dry = min(ready.zero_fuel_kg, ready.landing_kg - ready.reserve_kg) - ready.empty_kg
    most = min(ready.takeoff_kg, ready.ramp_kg - ready.taxi_kg) - ready.empty_kg
    program.row(dry_kg, -inf, min(most_dry, ready.landing_kg - ready.empty_kg))
    program.row(dry_kg | total, -inf, most)
    pieces = _pieces(envelope)
    empty = (ready.empty_kg, ready.empty_moment_kg_m)
    _hold(program, pieces, dry_kg, dry_moment, empty)
    _hold(program, pieces, dry_kg | total, dry_moment | tanks, empty)
    filled = np.cumsum([stage.capacity_kg for stage in ready.stages])[:-1]
    for kg in (*map(float, filled), *held_kg):
        there = program.variable(0.0, 1.0, whole=True)
        program.row({**total, there: -ready.capacity_kg}, -inf, kg)
        more = (ready.empty_kg + kg, ready.empty_moment_kg_m + fuel_moment_kg_m(ready.stages, kg))
        _hold(program, pieces, dry_kg, dry_moment, more, there)
    x = program.solve()
    if x is None:
        return None
    return (
        tuple((people[n], row) for (n, row), i in seats.items() if x[i] > 0.5),
        _stowed({name: float(x[i]) for name, i in bags.items()}, asked),
        float(sum(x[i] for i in fuel)),
    )


def _stowed(bags: Mapping[str, float], asked: Asked) -> tuple[tuple[str, float], ...]:
    """Return the bags without the solver's dust; where their sum is laid down, exactly that sum."""
    kept = {name: round(max(kg, 0.0), 6) for name, kg in bags.items()}
    low, high = asked.bags_kg
    if low == high and kept:
        largest = max(kept, key=lambda name: kept[name])
        kept[largest] = max(low - sum(kg for name, kg in kept.items() if name != largest), 0.0)
    return tuple((name, kg) for name, kg in kept.items() if kg > 0.0)


def _seats(program: _Program, ready: Ready, asked: Asked) -> dict[tuple[int, str], int]:
    """Add a yes or no for each person, by number, and row."""
    rows = [station for station in ready.airplane.stations if station.seats]
    usual = [row.name for row in rows for _ in range(row.seats)]
    found: dict[tuple[int, str], int] = {}
    for number, person in enumerate(asked.people):
        home = usual[number] if number < len(usual) else ""
        for row in rows:
            only = person.station or (rows[0].name if number == 0 else "")
            worth = asked.worth_person + asked.worth_person_kg * person.mass_kg
            worth -= 0.0 if row.name == home else _MOVED
            high = 1.0 if only in ("", row.name) else 0.0
            found[number, row.name] = program.variable(0.0, high, worth, whole=True)
        stays = asked.may_stay and number > 0
        program.row({found[number, row.name]: 1.0 for row in rows}, 0.0 if stays else 1.0, 1.0)
    for row in rows:
        here = {i: asked.people[n].mass_kg for (n, name), i in found.items() if name == row.name}
        program.row(dict.fromkeys(here, 1.0), 0.0, row.seats)
        if row.limit is not None:
            program.row(here, 0.0, row.limit.si)
    return found


def _bags(program: _Program, ready: Ready, asked: Asked) -> dict[str, int]:
    """Add the bags of each compartment."""
    compartments = [station for station in ready.airplane.stations if not station.seats]
    low, high = asked.bags_kg
    found = {
        c.name: program.variable(0.0, min(c.limit.si if c.limit else high, high), asked.worth_bags)
        for c in compartments
    }
    if not found:  # a row without variables: only no bags at all can be stowed
        nothing = program.variable(0.0, 0.0)
        program.row({nothing: 1.0}, low, high)
    else:
        program.row(dict.fromkeys(found.values(), 1.0), low, high)
    return found


def _fuel(program: _Program, ready: Ready, asked: Asked) -> list[int]:
    """Add the fuel of each tank at takeoff: none in a tank before the one filled earlier is full."""
    found = [program.variable(0.0, stage.capacity_kg, asked.worth_fuel) for stage in ready.stages]
    for below, above, stage, more in zip(found, found[1:], ready.stages, ready.stages[1:], strict=False):
        full = program.variable(0.0, 1.0, whole=True)
        program.row({below: 1.0, full: -stage.capacity_kg}, 0.0, float("inf"))
        program.row({above: 1.0, full: -more.capacity_kg}, -float("inf"), 0.0)
    low, high = asked.takeoff_fuel_kg
    high = min(high, ready.capacity_kg - ready.taxi_kg) if low < high else high
    program.row(dict.fromkeys(found, 1.0), low, high)
    return found


@lru_cache(maxsize=64)
def _pieces(envelope: Envelope) -> tuple[Piece, ...]:
    return convex_pieces(*corners(envelope))


def _hold(
    program: _Program,
    pieces: Sequence[Piece],
    mass: Terms,
    moment: Terms,
    start: tuple[float, float],
    there: int | None = None,
) -> None:
    """Keep a weight and moment, `start` and what is added, inside one of some pieces.

    Each piece has a share of weight and moment of its own, nothing unless it
    is the one chosen (the convex hull of a disjunction). With `there`, only
    where that variable is 1.
    """
    inf = float("inf")
    masses: dict[int, float] = {}
    moments: dict[int, float] = {}
    chosen: dict[int, float] = {}
    for piece in pieces:
        pick = program.variable(0.0, 1.0, whole=True)
        own_mass, own_moment = program.variable(0.0, inf), program.variable(-inf, inf)
        masses[own_mass], moments[own_moment], chosen[pick] = 1.0, 1.0, 1.0
        program.row({own_mass: 1.0, pick: -piece.low_kg}, 0.0, inf)
        program.row({own_mass: 1.0, pick: -piece.high_kg}, -inf, 0.0)
        for sign, sides in ((1.0, piece.forward), (-1.0, piece.aft)):
            for side in sides:
                offset = -side.offset_kg_m - sign * _INSIDE_KG_M
                terms = {own_moment: sign, own_mass: -sign * side.slope_m, pick: sign * offset}
                program.row(terms, 0.0, inf)
    if there is None:
        program.row(chosen, 1.0, 1.0)
    else:
        program.row({**chosen, there: -1.0}, 0.0, 0.0)
        for mine in (masses, moments):
            free = program.variable(-inf, inf)
            mine[free] = 1.0
            for sign in (1.0, -1.0):
                program.row({free: sign, there: 1e6}, -inf, 1e6)
    for own, added, constant in ((masses, mass, start[0]), (moments, moment, start[1])):
        program.row({**own, **{i: -factor for i, factor in added.items()}}, constant, constant)
