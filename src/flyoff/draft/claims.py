"""What a text claims of an airplane, against the figures that its records support."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from flyoff.core.figure import Figure
from flyoff.core.quantity import QuantityError, parse_quantity
from flyoff.core.units import find_unit
from flyoff.draft.mention import Mention, Reading

# Role: the quantities of figures that it may be, the likeliest first.
_QUANTITIES: dict[str, tuple[str, ...]] = {
    "cruise_speed": ("cruise_speed",),
    "true_airspeed": ("cruise_speed",),
    "fuel_flow": ("cruise_fuel_flow",),
    "specific_range": ("specific_range",),
    "useful_load": ("useful_load",),
    "payload": ("payload_full_tanks",),
    "range": ("range", "range_full_tanks", "range_seats_filled"),
    "endurance": ("endurance", "endurance_full_tanks", "endurance_seats_filled"),
    "price": ("price_as_compared",),
    "total_price": ("price_as_compared",),
    "hourly_cost": ("cost_per_hour", "direct_cost_per_hour"),
    "yearly_cost": ("cost_per_year",),
    "cost_per_distance": ("cost_per_mile",),
    "duration": ("time",),
    "fuel_volume": ("fuel", "fuel_occupants", "fuel_seats_filled"),
}
_BY_CUE = (
    ("useful_load", r"useful"),
    ("payload_full_tanks", r"payload"),
    ("range_full_tanks", r"range|far"),
    ("range", r"range|far"),
    ("endurance", r"endurance|stay"),
    ("cruise_speed", r"cruis\w+|speed|fast\w*|slow\w*"),
    ("cruise_fuel_flow", r"flow|burn\w*"),
    ("specific_range", r"per gallon|per litre|economy"),
    ("cost_per_hour", r"an hour|per hour|hourly|by the hour"),
    ("cost_per_year", r"a year|per year|yearly"),
    ("cost_per_mile", r"a mile|per mile|a kilometre|per kilometre|per km"),
    ("price_as_compared", r"price|cost\w*|dearer|cheaper|money"),
)
_FULL_TANKS = re.compile(r"\bfull (?:tanks|fuel)\b|\btanks full\b")
_FILLED = re.compile(r"\bseats (?:are )?(?:filled|full|taken)\b|\bfull seats\b|\bevery seat\b|\ball seats\b")
_YEARLY = {
    "cost.insurance": r"insur\w+", "cost.hangar": r"hangar\w*", "cost.fuel": r"fuel|mogas|avgas",
    "cost.oil": r"oil", "cost.finance": r"financ\w+|interest|loan", "cost.depreciation": r"depreciat\w+",
}  # fmt: skip
"""The parts of a year's cost that a text may name."""
_NOT_THE_WHOLE = re.compile(
    r"\b(?:charg\w+|rent\w*|hir\w+|fees?|instruct\w+|land\w+|park\w+|maint\w+|overhaul\w*|engine|propeller"
    r"|reserves?|fund|members?hip|subscription|" + "|".join(_YEARLY.values()) + r")\b"
)
_DIRECT = re.compile(r"\b(?:direct\w*|running|out of pocket|variable)\b")
_OCCUPANTS = re.compile(r"\b(?:family|occupants|of us|people aboard|aboard)\b")


@dataclass(frozen=True)
class Known:
    """A figure as data: its key, what it is, its value in SI and its 95 % half-width, and its terms.

    `printed` is how it is published, and `step_si` the unit of the last digit printed.
    """

    key: str
    label: str
    si: float
    dimension: str
    unit_label: str
    u95_si: float = 0.0
    printed: str = ""
    step_si: float = 0.0
    terms: Mapping[str, str] = field(default_factory=dict)

    @property
    def airplane(self) -> str:
        """The airplane's key, or two with a hyphen between."""
        return self.key.partition(".")[0]

    @property
    def quantity(self) -> str:
        """What the key says it is, without airplane and terms."""
        return self.key.partition(".")[2].partition("?")[0]


@dataclass(frozen=True)
class Records:
    """What may be published: the airplanes' names by their keys, and every figure that has a value.

    `terms` are those that hold where a figure does not say its own, as they are written;
    `refused` says why a figure that a draft asks for, by its key, is not there.
    """

    airplanes: Mapping[str, str] = field(default_factory=dict)
    figures: Mapping[str, Known] = field(default_factory=dict)
    terms: Mapping[str, str] = field(default_factory=dict)
    refused: Mapping[str, str] = field(default_factory=dict)

    def of(self, airplane: str) -> Sequence[Known]:
        """Return the figures of one airplane, or of two compared."""
        return self._by_airplane().get(airplane, ())

    def _by_airplane(self) -> dict[str, list[Known]]:
        cached: Any = self.__dict__.get("_cache")
        if cached is None:
            cached = {}
            for known in self.figures.values():
                cached.setdefault(known.airplane, []).append(known)
            self.__dict__["_cache"] = cached
        found: dict[str, list[Known]] = cached
        return found


def known_of(figure: Figure) -> Known | None:
    """Return a figure as data, or nothing where it is missing."""
    if figure.si is None:
        return None
    unit = find_unit(figure.unit_label, figure.dimension)
    u95_si, step_si = (figure.u95 or 0.0) * unit.factor, unit.factor * 10.0**-figure.decimals
    return Known(
        key=figure.key,
        label=figure.label,
        si=figure.si,
        dimension=figure.dimension,
        unit_label=figure.unit_label,
        u95_si=u95_si,
        printed=str(figure),
        step_si=step_si,
        terms=figure.terms,
    )


@dataclass(frozen=True)
class Match:
    """A quantity set against a figure: whether they agree, and the figure."""

    agrees: bool
    known: Known


def agrees(mention: Mention, known: Known, *, magnitude: bool = False) -> bool:
    """Tell whether a quantity is a figure at the precision written; `magnitude` leaves the sign out.

    A figure as printed, rounded to what its uncertainty supports, is the figure too.
    """
    values = [known.si, *_as_printed(known)]
    for reading in mention.readings:
        if reading.measure.dimension != known.dimension:
            continue
        if reading.measure.dimension.startswith("money") and _currency(reading) != known.unit_label[:3]:
            continue
        slack = 1e-9 * abs(known.si)
        for value in map(abs, values) if magnitude else values:
            if reading.low - slack <= value <= reading.high + slack:
                return True
    return False


def _as_printed(known: Known) -> Iterator[float]:
    text = known.printed.partition("±")[0].strip()
    if "±" not in known.printed:
        return
    try:
        yield parse_quantity(f"{text} {known.unit_label}", known.dimension).si
    except QuantityError:
        return


def match(
    mention: Mention, records: Records, sentence: str, clause: str, conditions: Mapping[str, Mention]
) -> Match | None:
    """Return the figure that a quantity claims to be, or nothing where no figure can be meant.

    `sentence` and its part `clause` between semicolons are in small letters; `conditions` are the
    altitude and the power that the quantity is said to be at.
    """
    if mention.role == "difference":
        return _match_difference(mention, records, sentence)
    if mention.role in ("hourly_cost", "yearly_cost", "cost_per_distance"):
        quantities = _costs(mention.role, clause)
    else:
        quantities = _narrowed(_QUANTITIES.get(mention.role, ()), sentence, mention.role)
    if not quantities or mention.airplane not in records.airplanes:
        return None
    found = [
        known
        for known in records.of(mention.airplane)
        if _is_meant(known, quantities, mention, clause) and _is_at(known, conditions, records.terms)
    ]
    if not found:
        return None
    agreeing = [known for known in found if agrees(mention, known)]
    nearest = min(agreeing or found, key=lambda k: abs(k.si - mention.readings[0].si))
    return Match(bool(agreeing), nearest)


def _currency(reading: Reading) -> str:
    return reading.measure.label.partition("/")[0]


def _costs(role: str, clause: str) -> tuple[str, ...]:
    """Return which costs may be meant: the whole, or the one part that the words around name."""
    if role == "hourly_cost" and _DIRECT.search(clause):
        return ("direct_cost_per_hour",)
    if not _NOT_THE_WHOLE.search(clause):
        whole = _QUANTITIES[role]
        return ("cost_per_seat_mile",) if role == "cost_per_distance" and "seat" in clause else whole
    named = [part for part, words in _YEARLY.items() if re.search(rf"\b(?:{words})\b", clause)]
    return (named[0],) if role == "yearly_cost" and len(named) == 1 else ()


def _narrowed(quantities: tuple[str, ...], sentence: str, role: str) -> tuple[str, ...]:
    if role == "distance" and _FULL_TANKS.search(sentence):
        return ("range_full_tanks",)
    if role not in ("range", "endurance"):
        return quantities
    if _FULL_TANKS.search(sentence):
        return (f"{role}_full_tanks",)
    if _FILLED.search(sentence):
        return (f"{role}_seats_filled",)
    return (role,) if _OCCUPANTS.search(sentence) else quantities


def _is_meant(known: Known, quantities: tuple[str, ...], mention: Mention, clause: str) -> bool:
    if known.dimension not in {reading.measure.dimension for reading in mention.readings}:
        return False
    changed = known.key.partition("?")[2]
    if known.quantity.startswith("trip."):
        _, trip, what = known.quantity.split(".", 2)
        return not changed and what in quantities and trip.replace("-", " ") in clause
    return known.quantity in quantities and mention.role not in ("duration", "fuel_volume")


def _is_at(known: Known, conditions: Mapping[str, Mention], terms: Mapping[str, str]) -> bool:
    """Tell whether a figure is for the conditions stated, and for the terms in all else."""
    changed = {part.partition("=")[0] for part in known.key.partition("?")[2].split("&") if part}
    if not changed <= conditions.keys():
        return False
    for name, stated in conditions.items():
        value = known.terms.get(name) or terms.get(name)
        if value is None and name == "altitude":
            return False
        if value is not None and not _is_value(stated, value):
            return False
    return True


def _is_value(stated: Mention, text: str) -> bool:
    """Tell whether a quantity is what some text says, within the rounding of both units."""
    try:
        si = parse_quantity(text, stated.dimension).si
    except QuantityError:
        return False
    slack = 1.0 if stated.dimension == "length" else 0.0  # a metre: altitudes in keys are whole feet
    return any(r.low - slack <= si <= r.high + slack for r in stated.readings)


def _match_difference(mention: Mention, records: Records, sentence: str) -> Match | None:
    pair = _pair(records, sentence)
    if pair is None:
        return None
    both = (*records.of(f"{pair[0]}-{pair[1]}"), *records.of(f"{pair[1]}-{pair[0]}"))
    found = [k for k in both if k.dimension == mention.dimension and "?" not in k.key]
    cued = {quantity for quantity, words in _BY_CUE if re.search(rf"\b(?:{words})\b", sentence)}
    narrowed = [known for known in found if known.quantity in cued]
    if not narrowed:
        return None
    agreeing = [known for known in narrowed if agrees(mention, known, magnitude=True)]
    if agreeing:
        return Match(True, agreeing[0])
    aim = abs(mention.readings[0].si)
    return Match(False, min(narrowed, key=lambda k: abs(abs(k.si) - aim)))


def _pair(records: Records, sentence: str) -> tuple[str, str] | None:
    """Return the two airplanes that a sentence names, in its order."""
    places = {}
    for key, name in records.airplanes.items():
        at = [sentence.find(word) for word in (key.lower(), name.lower().split()[0]) if word in sentence]
        if at:
            places[key] = min(at)
    named = sorted(places, key=lambda key: places[key])
    return (named[0], named[1]) if len(named) == 2 else None
