"""What a comparison holds: figures, and the curves that charts draw from the same numbers."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from flyoff.comparison.evidence import Kind
from flyoff.comparison.inspection import Inspection
from flyoff.comparison.places import Spot
from flyoff.comparison.terms import MoneyTerms, Ownership, Terms, Trip
from flyoff.core.figure import Figure
from flyoff.core.typing import Array


@dataclass(frozen=True)
class Row:
    """One row of the comparison table: a quantity that every airplane is asked for."""

    quantity: str
    label: str
    group: str
    better: str = ""
    """``more`` or ``less`` where a reader would call one better; empty where not."""
    of_fuel: bool = False
    """Whether it counts fuel by volume, which compares nothing between two kinds of fuel."""
    of_trip: bool = False
    """Whether it is asked of one trip."""


@dataclass(frozen=True)
class SpeedCurve:
    """Cruise true airspeed over pressure altitude, SI, shape (n,); NaN where there is no evidence."""

    aircraft: str
    pressure_altitude_m: Array
    true_airspeed_m_s: Array
    low_m_s: Array
    high_m_s: Array
    fuel_flow_kg_s: Array
    extrapolated: tuple[bool, ...] = ()
    """Whether each lies beyond the altitudes or powers of the evidence; empty where none does."""


@dataclass(frozen=True)
class PayloadRange:
    """Payload against range: the corners, shape (n,), and what each corner is."""

    aircraft: str
    range_m: Array
    payload_kg: Array
    corners: tuple[str, ...]
    low_m: Array = field(default_factory=lambda: np.empty(0))
    high_m: Array = field(default_factory=lambda: np.empty(0))
    """Ends of the 95 % interval of each range; empty where they are not known."""
    balanced: Array = field(default_factory=lambda: np.empty((0, 2)))
    """Payloads [kg] and ranges [m] of people and bags so seated that balance holds, shape (n, 2)."""


@dataclass(frozen=True)
class ReserveRange:
    """Range and endurance of one airplane by one reserve rule; figures by key."""

    aircraft: str
    rule: str
    minutes: int
    citation: str
    range: str
    endurance: str


@dataclass(frozen=True)
class RangeRing:
    """How far one airplane goes from a place in each direction, SI: courses [rad] and distances [m]."""

    aircraft: str
    course_rad: Array
    range_m: Array


@dataclass(frozen=True)
class PowerCell:
    """Speed, fuel flow and distance per fuel of one airplane at an altitude and a setting; figures by key."""

    aircraft: str
    altitude: str
    setting: str
    """In words: the power, or the power and the mixture."""
    speed: str
    flow: str
    specific_range: str


@dataclass(frozen=True)
class Crossing:
    """Where the faster of two airplanes becomes the slower: the altitude's figure by key, and words."""

    first: str
    rival: str
    altitude: str
    words: str


@dataclass(frozen=True)
class BalanceTrack:
    """An envelope and the loading's way through it as fuel burns."""

    aircraft: str
    envelope: str
    edge_arm_m: Array
    edge_mass_kg: Array
    arm_m: Array
    mass_kg: Array
    states: tuple[str, ...]
    """Name of each point of the track: zero fuel, landing, takeoff, ..."""
    inside: bool
    remark: str
    """In words: inside with how much to spare, or outside by how much and where."""


@dataclass(frozen=True)
class TripLeg:
    """One airplane on one trip; figures by key in `Comparison.figures`."""

    aircraft: str
    trip: str
    distance_m: float
    """NaN where an end is not known."""
    nonstop: bool | None
    """None where the evidence is missing."""
    reason: str
    """Why it cannot be flown nonstop, or why nothing is known."""
    time: str
    fuel: str
    stops: str
    elapsed: str = ""
    """With taxi and the time on the ground at stops."""
    share: str = ""
    """How often it is flown nonstop, given the spread of winds."""
    strongest: str = ""
    """The strongest head wind that it is flown nonstop against."""
    altitude: str = ""
    """Where the altitude is chosen for the airplane."""
    both_ways: str = ""
    """Time there and back, where it is flown back."""


@dataclass(frozen=True)
class OptionCost:
    """What an option costs in payload, money and speed; figures by key, None where none is published.

    And in people, in fuel that fits and in range with the terms' people.
    """

    aircraft: str
    name: str
    payload: str
    price: str
    speed: str | None
    people: str = ""
    fuel: str = ""
    range: str = ""


@dataclass(frozen=True)
class Swing:
    """What one assumption does to the cost of an hour at either end of its 95 % interval, SI."""

    aircraft: str
    label: str
    figure: str
    """Key of the difference between the ends."""
    low: float
    """Cost of an hour at the assumption's lower end."""
    high: float


@dataclass(frozen=True)
class Standing:
    """One airplane in a ranking; figures by key."""

    aircraft: str
    figure: str
    first: str = ""
    """Probability that it comes first, where no threshold is asked."""
    reaches: str = ""
    """Probability that it reaches the threshold, where there is one."""


@dataclass(frozen=True)
class BreakEven:
    """The value of one term beyond which a verdict changes; its figure by key."""

    term: str
    beyond: str
    """``above`` or ``below``."""
    figure: str
    words: str


@dataclass(frozen=True)
class Verdict:
    """What the figures answer to one question; figures by key."""

    name: str
    quantity: str
    label: str
    better: str
    threshold: str
    """As written; empty where none is asked."""
    words: str
    close: bool
    """Whether it is too close to call."""
    ranked: tuple[Standing, ...]
    unranked: tuple[tuple[str, str], ...]
    """Airplanes that are not ranked, each with the reason."""
    probability: str = ""
    """Probability that the order holds."""
    pairs: Mapping[tuple[str, str], str] = field(default_factory=dict)
    """Probability that the first of two is better than the second."""
    break_evens: tuple[BreakEven, ...] = ()
    unmoved: tuple[str, ...] = ()
    """Terms within whose range, as said, nothing changes."""


@dataclass(frozen=True)
class SeatCell:
    """One cell of the seat table: so many people and bags; range and fuel by key."""

    aircraft: str
    occupants: int
    bags: str
    range: str
    fuel: str
    bags_kg: float = 0.0


@dataclass(frozen=True)
class Headline:
    """One quantity of an airplane on each kind of evidence, and less the handbook; figures by key."""

    aircraft: str
    quantity: str
    label: str
    on: Mapping[Kind, str]
    less_handbook: Mapping[Kind, str]


@dataclass(frozen=True)
class FlownPoint:
    """A condition as flown beside one handbook statement at the same condition; figures by key."""

    aircraft: str
    statement: str
    flight: str
    number: int | None
    """The condition's among those of its flight, where it is one."""
    condition: str
    flown: str
    corrections: str
    """Each step from as flown to the handbook's weight, temperature and power, with its size."""
    handbook: str
    difference: str
    verdict: str


@dataclass(frozen=True)
class BookVerdict:
    """Whether an airplane makes book in one kind of statement; figures by key, altitudes from the lowest."""

    aircraft: str
    statement: str
    label: str
    difference: str
    words: str
    conditions: int
    levels: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Entry:
    """One airplane of the comparison."""

    key: str
    name: str
    maker: str
    place: str
    year: int
    summary: str
    equipment: tuple[str, ...]
    """How each demanded piece of equipment is met, in words."""
    evidence: str
    """What its figures rest on, in words: handbook only, or handbook and flight."""
    remarks: tuple[str, ...] = ()
    fit_remarks: tuple[str, ...] = ()
    """What the fits to its flights left out, and what they cannot tell."""


@dataclass(frozen=True)
class Comparison:
    """The whole result: what was compared, on which terms, and every figure."""

    title: str
    author: str
    summary: str
    terms: Terms
    money: MoneyTerms
    trips: tuple[Trip, ...]
    entries: tuple[Entry, ...]
    rows: tuple[Row, ...]
    figures: dict[str, Figure]
    speed_curves: tuple[SpeedCurve, ...] = ()
    payload_ranges: tuple[PayloadRange, ...] = ()
    balances: tuple[BalanceTrack, ...] = ()
    trip_legs: tuple[TripLeg, ...] = ()
    flown: tuple[FlownPoint, ...] = ()
    book: tuple[BookVerdict, ...] = ()
    options: tuple[OptionCost, ...] = ()
    headlines: tuple[Headline, ...] = ()
    seats: tuple[SeatCell, ...] = ()
    swings: tuple[Swing, ...] = ()
    ownership: Ownership | None = None
    reserves: tuple[ReserveRange, ...] = ()
    crossings: tuple[Crossing, ...] = ()
    powers: tuple[PowerCell, ...] = ()
    rings: tuple[RangeRing, ...] = ()
    places: tuple[Spot, ...] = ()
    """The places of the trips, the first the one that most begin at."""
    answers: tuple[Verdict, ...] = ()
    remarks: tuple[str, ...] = field(default=())
    inspections: tuple[Inspection, ...] = ()

    def figure(self, aircraft: str, quantity: str) -> Figure:
        """Return the figure ``aircraft.quantity``.

        Raises
        ------
        KeyError
            If there is none.
        """
        return self.figures[f"{aircraft}.{quantity}"]

    def difference(self, first: str, rival: str, quantity: str) -> Figure | None:
        """Return a quantity of one airplane less that of a rival, or None where it was not asked for."""
        return self.figures.get(difference_key(first, rival, quantity))


def difference_key(first: str, rival: str, quantity: str) -> str:
    """Return the key of a difference between two airplanes."""
    return f"{first}-{rival}.{quantity}"
