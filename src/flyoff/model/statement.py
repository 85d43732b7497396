"""What a handbook states and a flight can be asked about, and a statement beside a flown condition."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from flyoff.core.draws import COVERAGE_95, Draws
from flyoff.core.figure import Input, format_number
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import find_unit
from flyoff.model.handbook import Handbook, Value, sample_of
from flyoff.reduction.airplane import SPAN_EFFICIENCY, Correction
from flyoff.reduction.points import AS_IF, Point
from flyoff.reduction.run import Reduction
from flyoff.reduction.uncertainty import DrawnPoint, draw_points


@dataclass(frozen=True)
class Statement:
    """A kind of handbook statement: its key, its unit, and the words for flown below and above it."""

    key: str
    label: str
    unit: tuple[str, str]
    less: str
    more: str
    better: str

    def shown(self, si: float) -> float:
        """Return a difference in the statement's unit."""
        return si / find_unit(*self.unit).factor


STATEMENTS = (
    Statement("cruise_speed", "Cruise speed at the fuel flow", ("kt", "speed"), "slower", "faster", "more"),
    Statement(
        "cruise_speed_at_power", "Cruise speed at the power", ("kt", "speed"), "slower", "faster", "more"
    ),
    Statement(
        "fuel_flow_at_power", "Fuel flow at the power", ("US gal/h", "volume_flow"), "lower", "higher", "less"
    ),
    Statement("climb_rate", "Rate of climb", ("ft/min", "speed"), "lower", "higher", "more"),
    Statement("climb_time", "Time to climb", ("min", "time"), "shorter", "longer", "less"),
    Statement("glide_ratio", "Glide ratio", ("", "count"), "lower", "higher", "more"),
    Statement("stall_speed_clean", "Stall speed, clean", ("kt", "speed"), "lower", "higher", "less"),
    Statement("stall_speed_landing", "Stall speed, landing", ("kt", "speed"), "lower", "higher", "less"),
)  # fmt: skip
Step = Correction
"""One step to the handbook's condition: its name, what it was, what it became (SI), and its source."""
_EFFICIENCIES = (0.3, 1.2)
_UNFIT = ("in a turn", "drift", AS_IF)
_BY_KEY = {statement.key: statement for statement in STATEMENTS}


def statement_of(key: str) -> Statement:
    """Return the statement of a key."""
    return _BY_KEY[key]


@dataclass(frozen=True)
class BookPoint:
    """One statement beside one flown condition, SI; samples, so that what conditions share stays shared.

    `flown` is `as_flown` at the handbook's weight and power by `corrections`;
    `printed` is None where the handbook says nothing, and `missing` says why.
    `number` is the condition's among those of the flight, where it is one of them.
    """

    statement: Statement
    flight: str
    name: str
    number: int | None
    words: str
    pressure_altitude_m: float | None
    as_flown: Array
    flown: Array
    printed: Array | None
    corrections: tuple[Correction, ...]
    seen: Input
    printed_inputs: tuple[Input, ...]
    missing: str = ""
    remarks: tuple[str, ...] = ()
    extrapolated: bool = False

    @property
    def difference(self) -> Array | None:
        """Flown less printed, a sample."""
        return None if self.printed is None else self.flown - self.printed


@dataclass(frozen=True)
class Book:
    """One airplane's flights beside its handbook; `notes` say by statement what was left out, and why."""

    points: tuple[BookPoint, ...] = ()
    notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def about(self, statement: Statement) -> tuple[BookPoint, ...]:
        """Return the points of one statement."""
        return tuple(point for point in self.points if point.statement == statement)


@dataclass(frozen=True)
class Flown:
    """A flight as reduced, with the draws that its points share."""

    reduction: Reduction
    draws: Draws

    @property
    def name(self) -> str:
        """The flight's name: its file without folder and ending."""
        return self.reduction.flight.name.rpartition("/")[2].removesuffix(".toml")

    @cached_property
    def drawn(self) -> tuple[DrawnPoint, ...]:
        """The draws of its points."""
        return draw_points(self.reduction, self.draws)

    def shared(self, name: str, value: float, u: float) -> Array:
        """Return a value as a sample whose doubt all conditions of this flight share."""
        return self.draws.about(f"{self.reduction.flight.name}#{name}", value, COVERAGE_95 * u)

    def effective_span_m(self, span_m: float) -> Array:
        """Return the effective span as a sample: what is assumed of its efficiency, updated by the glides."""
        polar = self.reduction.standard.polar
        known = [SPAN_EFFICIENCY, *([polar.span_efficiency] if polar and polar.span_efficiency else [])]
        weights = np.array([efficiency.u for efficiency in known]) ** -2.0
        mean = float(np.average([efficiency.value for efficiency in known], weights=weights))
        efficiency = self.shared("span efficiency", mean, float(weights.sum() ** -0.5))
        return span_m * np.sqrt(np.clip(efficiency, *_EFFICIENCIES))

    def seen(self, number: int, text: str) -> Input:
        """Return where in the log a condition begins, and what it showed."""
        flight, place = self.reduction.flight, self.reduction.place(self.reduction.points[number])
        folder, slash, _ = flight.name.rpartition("/")
        file = place.file if place.file == flight.name else f"{folder}{slash}{place.file}"
        at = Place(file, place.line, place.field)
        return Input(f"{self.name}: condition {number}, from the log", text, at, flight.card.source)


def unfit(point: Point) -> str:
    """Return in words why a condition cannot be asked about, by its flags and how it was set; else empty."""
    flags = [flag for flag in point.flags if any(word in flag for word in _UNFIT)]
    if not point.condition.is_clean:
        flags.append("gear or flaps down")
    if point.condition.is_feathered:
        flags.append("propeller feathered")
    return "; ".join(flags)


def sample_at(printed: Callable[[float], Value], asked: Array) -> tuple[Value, Array | None]:
    """Return what is printed for an uncertain entry: its doubt moves the answer by the table's slope."""
    value = printed(float(asked[0]))
    sample = sample_of(value)
    if sample is None:
        return value, None
    spread = asked[1:] - asked[0]
    step = max(2 * float(np.std(spread)), 0.005 * abs(float(asked[0])))
    for change in (step, -step):
        aside = printed(float(asked[0]) + change).si
        if aside is not None and value.si is not None:
            return value, sample + (aside - value.si) / change * (asked - asked[0])
    return value, sample


def table_mass(handbook: Handbook, kind: str, flown_kg: float) -> float:
    """Return the weight that a table is read at: the flown one within its weights, else its nearest."""
    table = handbook.dossier.tables.get(kind)
    axis = table.axis("weight") if table else None
    if axis is not None:
        return float(np.clip(flown_kg, axis.si[0], axis.si[-1]))
    return table.record.weight.si if table and table.record.weight else flown_kg


def weight_words(handbook: Handbook, mass_kg: float) -> str:
    """Return a weight in the unit that the dossier writes weights in."""
    unit = handbook.dossier.airplane.weights.takeoff.unit
    return f"{format_number(unit.from_si(mass_kg), 0)} {unit.label}"
