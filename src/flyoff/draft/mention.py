"""A quantity as read: what is written, where it stands, and the interval that its writer can have meant."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from flyoff.core.figure import format_number
from flyoff.draft.measures import Measure
from flyoff.draft.numerals import Number

ABOUT_FRACTION = 0.05
"""How far 'about', 'nearly' and 'over' may reach; own limit."""
ROUND_FRACTION = 0.01
"""How much rounding is granted to a number that ends in zeros; own limit."""
MINUTES_FRACTION = 0.2
"""How far minutes in fives may be rounded, if that is less than 2.5 minutes: no seven are ten; own limit."""
_SWAPPED = str.maketrans(",.", ".,")
COUNTED = "count"
"""The dimension of a number without a unit."""


Notation: TypeAlias = Literal["", "usual", "swapped", "apart"]
"""Comma and point as thousands and decimals usually go, or the other way round; or a space that divides."""


Miles: TypeAlias = Literal["", "statute", "nautical"]


@dataclass(frozen=True)
class Reading:
    """One meaning of what is written: a value in SI, and the interval that its rounding leaves open."""

    si: float
    low: float
    high: float
    measure: Measure
    notation: Notation = ""
    """How its comma, point or space was taken, where that may be two things."""
    miles: Miles = ""
    """Which miles were taken, where they may be statute or nautical."""

    @property
    def unlikely(self) -> bool:
        """Whether its comma, point or space is taken for what it less likely is."""
        return self.notation in ("swapped", "apart")


@dataclass(frozen=True)
class Mention:
    """A quantity where it stands: letters `start` to `end` of the text, tokens `first` to `last`."""

    start: int
    end: int
    first: int
    last: int
    text: str
    sentence: int
    number: float
    step: float
    dimension: str
    readings: tuple[Reading, ...]
    hedge: str = ""
    role: str = ""
    airplane: str = ""
    elliptic: bool = False
    clause: int = 0
    figure: str = ""
    other: Number | None = None
    decimal_mark: str = "."
    """What the text has before decimals."""

    @property
    def alike(self) -> tuple[Reading, ...]:
        """The readings in the likeliest unit: one, but where a comma or a point may mean two things."""
        return tuple(r for r in self.readings if r.measure == self.measure)

    @property
    def measure(self) -> Measure:
        """The unit, in its likeliest meaning."""
        return self.readings[0].measure

    def written(self, value_si: float, measure: Measure | None = None, coarsest_si: float = 0.0) -> str:
        """Return another value in this one's unit and precision, or in `coarsest_si` if that is coarser."""
        measure = measure or self.measure
        step = max(self.step, 0.999 * coarsest_si / measure.factor)
        decimals = next((d for d in range(-6, 7) if step >= 0.999 * 10.0**-d), 6)
        if not coarsest_si:
            decimals = max(decimals, 0)
        number_text = format_number(measure.from_si(value_si), decimals)
        if self.decimal_mark == ",":
            number_text = number_text.translate(_SWAPPED)
        if measure.dimension == "money":
            return f"{measure.label} {number_text}"
        return f"{number_text} {measure.label}".rstrip()


def half_width(number: Number, measure: Measure) -> float:
    """Return how far the number meant may lie from the one written, in its unit."""
    value, step = abs(number.value), number.step
    half = step / 2
    if measure.dimension == "time":
        if measure.label == "h" and step == 1.0:
            return 0.25  # 'three hours' is said to the quarter hour
        if measure.label == "min" and value % 5 == 0 and value > 5:
            return min(2.5, MINUTES_FRACTION * value)
    return max(half, min(number.round_step / 2, ROUND_FRACTION * value))


def readings_of(number: Number, measures: Iterable[Measure], hedge: str) -> tuple[Reading, ...]:
    """Return what a number can mean in each unit, the likeliest first."""
    likely = tuple(_reading(number, measure, hedge) for measure in measures)
    if len(likely) > 1:
        likely = tuple(replace(reading, miles=_miles(reading.measure)) for reading in likely)
    if number.other is None:
        return likely
    other = readings_of(number.other, measures, hedge)
    thousandfold = max(number.value / number.other.value, number.other.value / number.value) > 999
    if not thousandfold:  # 4 180 as 180
        return (*likely, *(replace(r, notation="apart") for r in other))
    usual = tuple(replace(r, notation="usual") for r in likely)
    return (*usual, *(replace(r, notation="swapped") for r in other))


def _miles(measure: Measure) -> Miles:
    if measure.label.startswith("nmi"):
        return "nautical"
    return "statute" if measure.label.startswith(("mi", "mph")) else ""


def one_author(readings: Iterable[Reading]) -> bool:
    """Tell whether quantities are read by one author's commas, points and miles."""
    readings = list(readings)
    if {"usual", "swapped"} <= {reading.notation for reading in readings}:
        return False
    return not {"statute", "nautical"} <= {reading.miles for reading in readings}


def _reading(number: Number, measure: Measure, hedge: str) -> Reading:
    half = half_width(number, measure)
    wide = max(half, ABOUT_FRACTION * abs(number.value), min(number.round_step / 2, 0.1 * abs(number.value)))
    below = wide if hedge in ("about", "under") else half
    above = wide if hedge in ("about", "over") else half
    if measure.dimension == "temperature":
        below, above = (max(side, 0.5) for side in (below, above))
    return Reading(
        measure.to_si(number.value),
        measure.to_si(number.value - below),
        measure.to_si(number.value + above),
        measure,
    )
