"""A number with its unit, as somebody wrote it, and what it is in SI."""

import math
import re
from dataclasses import dataclass, replace

from flyoff.core.precision import grain
from flyoff.core.sources import Place
from flyoff.core.units import Unit, UnknownUnit, a_dimension, find_unit

_NUMBER = re.compile(r"[+\-−]?(?:\d{1,3}(?:,\d{3})+|\d+)?(?:\.\d+)?")
_NOWHERE = Place("")


@dataclass(frozen=True)
class Quantity:
    """A value with its unit, source and place.

    `si` is the value in SI; `text` is what was written; `half_digit_si` is
    half of the last written digit, the least that rounding can have hidden;
    `u95_si` is the half-width of a 95 % interval where the writer gave one.
    """

    si: float
    unit: Unit
    text: str
    half_digit_si: float
    source: str | None = None
    page: str = ""
    u95_si: float | None = None
    place: Place = _NOWHERE

    @property
    def number(self) -> float:
        """The number in the unit as written."""
        return self.unit.from_si(self.si)

    @property
    def grain_si(self) -> float:
        """How finely it was declared, in SI (`core.precision`)."""
        written = _NUMBER.match(self.text)
        return grain(written[0] if written else self.text) * self.unit.factor

    @property
    def dimension(self) -> str:
        """The dimension of the unit."""
        return self.unit.dimension

    def __str__(self) -> str:
        """Return what was written."""
        return self.text

    def at(self, place: Place, source: str | None = None) -> "Quantity":
        """Return the same quantity with its place, and a source where it has none."""
        return replace(self, place=place, source=self.source or source)


class QuantityError(ValueError):
    """Text that is no quantity of the dimension asked for."""

    def __init__(self, found: str, expected: str) -> None:
        self.found, self.expected = found, expected
        super().__init__(f"{found}; {expected}")


def parse_number(text: str) -> tuple[float, float]:
    """Return a number as people write it, and half of its last digit.

    Accepts a sign, thousands commas in groups of three, and a decimal point.

    Raises
    ------
    QuantityError
        If the text is not such a number.
    """
    stripped = text.strip()
    if not _NUMBER.fullmatch(stripped) or not any(c.isdigit() for c in stripped):
        raise QuantityError(
            f"'{text}' is not a number", "expected digits with a decimal point, such as 1,234.5"
        )
    plain = stripped.replace(",", "").replace("−", "-")
    decimals = len(plain.partition(".")[2])
    number = float(plain)
    if not math.isfinite(number):
        raise QuantityError(f"'{text[:24]}…' is too large", "expected a finite number")
    return number, 0.5 * 10.0**-decimals


def parse_quantity(text: str, dimension: str) -> Quantity:
    """Return the quantity written as `text`, such as ``"6,000 ft"``.

    Raises
    ------
    QuantityError
        If the number, the unit or the space between is missing or unknown.
    """
    stripped = text.strip()
    match = _NUMBER.match(stripped)
    number_text = match.group(0) if match else ""
    unit_text = stripped[len(number_text) :].strip()
    if not any(c.isdigit() for c in number_text):
        raise QuantityError(f"'{text}' has no number", _wanted(dimension))
    if unit_text[:1] in {",", "."} or unit_text[:1].isdigit():
        raise QuantityError(
            f"'{text}' is not a number with a unit",
            "expected thousands commas in groups of three and a decimal point, such as '1,234.5 kg'",
        )
    number, half_digit = parse_number(number_text)
    if not unit_text:
        raise QuantityError(f"'{text}' has no unit", _wanted(dimension))
    try:
        unit = find_unit(unit_text, dimension)
    except UnknownUnit as error:
        raise QuantityError(f"unknown unit '{unit_text}' in '{text}'", f"expected {error.expected}") from None
    return Quantity(unit.to_si(number), unit, stripped, half_digit * unit.factor)


def _wanted(dimension: str) -> str:
    return f"expected {a_dimension(dimension)} with its unit, such as {example(dimension)}"


_EXAMPLES = {
    "length": "6,000 ft",
    "area": "160 ft²",
    "volume": "48 US gal",
    "mass": "2,900 lb",
    "speed": "150 kt",
    "temperature": "15 °C",
    "temperature_difference": "10 °C",
    "pressure": "29.5 inHg",
    "power": "180 hp",
    "time": "45 min",
    "rotation_speed": "2,700 rpm",
    "volume_flow": "9.4 US gal/h",
    "mass_flow": "25 kg/h",
    "specific_consumption": "0.43 lb/hp/h",
    "density": "6.0 lb/US gal",
    "angle": "2 °",
    "ratio": "65 %",
    "money": "489,000 EUR",
    "sound_level": "84 dB(A)",
    "count": "2",
    "distance_per_mass": "4.2 nmi/lb",
    "distance_per_volume": "15 nmi/US gal",
    "force": "40 lbf",
    "moment": "120 lb in",
    "money_per_length": "0.90 EUR/nmi",
    "money_per_time": "35 EUR/h",
}


def example(dimension: str) -> str:
    """Return an example of a quantity of one dimension, quoted."""
    return f'"{_EXAMPLES[dimension]}"'
