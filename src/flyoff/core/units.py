"""Units as the trade writes them, each a factor (and an offset) to SI.

A factor multiplies a number in the trade unit to give SI: ``150 * kt`` is a
speed in m/s. Sources: NIST Special Publication 811 (2008), Appendix B, for
every factor that is not exact by definition here.
"""

import difflib
from dataclasses import dataclass
from typing import overload

from flyoff.core.typing import Array, Floats

# Exact by definition (NIST SP 811, B.8; ICAO Annex 5).
ft = 0.3048
inch = 0.0254
nmi = 1852.0
mi = 1609.344
lb = 0.45359237
g0 = 9.80665
lbf = lb * g0
us_gal = 231 * inch**3
imp_gal = 4.54609e-3
litre = 1e-3
minute = 60.0
hour = 3600.0
kt = nmi / hour
mph = mi / hour
km_h = 1000 / hour
fpm = ft / minute
hp = 550 * ft * lbf
metric_hp = 75 * g0
hpa = 100.0
psi = lbf / inch**2
# Conventional inch of mercury at 0 °C (NIST SP 811, B.8).
inhg = 3386.389
rpm = 1 / minute
degree = 3.14159265358979323846 / 180


@overload
def celsius(temperature_c: float) -> float: ...
@overload
def celsius(temperature_c: Array) -> Array: ...
def celsius(temperature_c: Floats) -> Floats:
    """Return a Celsius temperature as kelvin."""
    return temperature_c + 273.15


@overload
def fahrenheit(temperature_f: float) -> float: ...
@overload
def fahrenheit(temperature_f: Array) -> Array: ...
def fahrenheit(temperature_f: Floats) -> Floats:
    """Return a Fahrenheit temperature as kelvin."""
    return (temperature_f + 459.67) * 5 / 9


@dataclass(frozen=True)
class Unit:
    """One unit: ``si = number * factor + offset``."""

    label: str
    dimension: str
    factor: float
    offset: float = 0.0

    @overload
    def to_si(self, number: float) -> float: ...
    @overload
    def to_si(self, number: Array) -> Array: ...
    def to_si(self, number: Floats) -> Floats:
        """Return a number written in this unit as SI."""
        return number * self.factor + self.offset

    @overload
    def from_si(self, value: float) -> float: ...
    @overload
    def from_si(self, value: Array) -> Array: ...
    def from_si(self, value: Floats) -> Floats:
        """Return an SI value as a number in this unit."""
        return (value - self.offset) / self.factor


CURRENCIES = ("EUR", "USD", "GBP", "CHF", "SEK", "NOK", "DKK", "ISK", "CAD", "AUD", "NZD")

# label, dimension, factor, offset, further spellings
_TABLE: tuple[tuple[str, str, float, float, tuple[str, ...]], ...] = (
    ("m", "length", 1.0, 0, ("metre", "metres", "meter", "meters")),
    ("km", "length", 1000.0, 0, ()),
    ("cm", "length", 0.01, 0, ()),
    ("mm", "length", 0.001, 0, ()),
    ("ft", "length", ft, 0, ("feet", "foot")),
    ("in", "length", inch, 0, ("inch", "inches")),
    ("nmi", "length", nmi, 0, ("NM", "nm", "nautical miles")),
    ("mi", "length", mi, 0, ("sm", "statute miles")),
    ("m²", "area", 1.0, 0, ("m2", "sq m")),
    ("ft²", "area", ft**2, 0, ("ft2", "sq ft")),
    ("m³", "volume", 1.0, 0, ("m3",)),
    ("ft³", "volume", ft**3, 0, ("ft3", "cu ft")),
    ("cu in", "volume", inch**3, 0, ("in3", "in³")),
    ("L", "volume", litre, 0, ("l", "litre", "litres", "liter", "liters", "ltr")),
    ("cm³", "volume", 1e-6, 0, ("cc", "cm3")),
    ("US gal", "volume", us_gal, 0, ("gal", "USG", "usg", "gallon", "gallons")),
    ("imp gal", "volume", imp_gal, 0, ("Imp gal", "UK gal")),
    ("kg", "mass", 1.0, 0, ()),
    ("g", "mass", 0.001, 0, ()),
    ("lb", "mass", lb, 0, ("lbs", "pounds")),
    ("kt", "speed", kt, 0, ("kts", "knots", "kn")),
    ("km/h", "speed", km_h, 0, ("kmh", "kph")),
    ("mph", "speed", mph, 0, ()),
    ("m/s", "speed", 1.0, 0, ()),
    ("ft/min", "speed", fpm, 0, ("fpm", "ft/m")),
    ("ft/s", "speed", ft, 0, ("fps",)),
    ("°C", "temperature", 1.0, 273.15, ("C", "degC", "deg C")),
    ("°F", "temperature", 5 / 9, 459.67 * 5 / 9, ("F", "degF", "deg F")),
    ("K", "temperature", 1.0, 0, ()),
    ("Δ°C", "temperature_difference", 1.0, 0, ("°C", "C", "degC", "deg C", "K")),
    ("Δ°F", "temperature_difference", 5 / 9, 0, ("°F", "F", "degF", "deg F")),
    ("Pa", "pressure", 1.0, 0, ()),
    ("hPa", "pressure", hpa, 0, ("mbar", "mb", "millibar")),
    ("kPa", "pressure", 1000.0, 0, ()),
    ("bar", "pressure", 1e5, 0, ()),
    ("inHg", "pressure", inhg, 0, ("in Hg", "inhg", '"Hg')),
    ("psi", "pressure", psi, 0, ()),
    ("W", "power", 1.0, 0, ()),
    ("kW", "power", 1000.0, 0, ()),
    ("hp", "power", hp, 0, ("bhp", "HP")),
    ("PS", "power", metric_hp, 0, ("metric hp", "cv")),
    ("s", "time", 1.0, 0, ("sec", "seconds")),
    ("min", "time", minute, 0, ("minutes",)),
    ("h", "time", hour, 0, ("hr", "hours")),
    ("ms", "time", 0.001, 0, ()),
    ("rpm", "rotation_speed", rpm, 0, ("1/min", "RPM")),
    ("Hz", "rotation_speed", 1.0, 0, ("1/s",)),
    ("US gal/h", "volume_flow", us_gal / hour, 0, ("gal/h", "gph", "GPH", "USG/h", "gal/hr")),
    ("imp gal/h", "volume_flow", imp_gal / hour, 0, ()),
    ("L/h", "volume_flow", litre / hour, 0, ("l/h", "lph", "l/hr", "ltr/h")),
    ("kg/h", "mass_flow", 1 / hour, 0, ("kg/hr",)),
    ("lb/h", "mass_flow", lb / hour, 0, ("pph", "lb/hr", "lbs/h")),
    ("kg/s", "mass_flow", 1.0, 0, ()),
    ("lb/hp/h", "specific_consumption", lb / hp / hour, 0, ("lb/hp-h", "lb/(hp h)", "lb/bhp/h", "lb/hp·h")),
    ("g/kWh", "specific_consumption", 1e-3 / 1000 / hour, 0, ("g/kW/h",)),
    ("kg/m³", "density", 1.0, 0, ("kg/m3",)),
    ("kg/L", "density", 1000.0, 0, ("kg/l",)),
    ("lb/US gal", "density", lb / us_gal, 0, ("lb/gal", "lb/USG")),
    ("nmi/US gal", "distance_per_volume", nmi / us_gal, 0, ("nmi/gal", "NM/gal", "nm/gal", "nmpg")),
    ("km/L", "distance_per_volume", 1000 / litre, 0, ("km/l",)),
    ("nmi/L", "distance_per_volume", nmi / litre, 0, ("NM/l", "nmi/l")),
    ("nmi/lb", "distance_per_mass", nmi / lb, 0, ()),
    ("km/kg", "distance_per_mass", 1000.0, 0, ()),
    ("rad", "angle", 1.0, 0, ()),
    ("°", "angle", degree, 0, ("deg", "degrees")),
    ("%", "ratio", 0.01, 0, ("percent", "per cent")),
    ("dB(A)", "sound_level", 1.0, 0, ("dBA", "dB")),
    ("N", "force", 1.0, 0, ()),
    ("lbf", "force", lbf, 0, ()),
    ("kg m", "moment", 1.0, 0, ("kg·m",)),
    ("lb in", "moment", lb * inch, 0, ("lb·in", "in lb", "lb-in")),
    ("", "count", 1.0, 0, ("1",)),
    *((code, "money", 1.0, 0.0, ()) for code in CURRENCIES),
    *((f"{code}/h", "money_per_time", 1 / hour, 0.0, ()) for code in CURRENCIES),
    *((f"{code}/nmi", "money_per_length", 1 / nmi, 0.0, ()) for code in CURRENCIES),
    *((f"{code}/km", "money_per_length", 1 / 1000, 0.0, ()) for code in CURRENCIES),
)


def _index() -> dict[str, dict[str, Unit]]:
    index: dict[str, dict[str, Unit]] = {}
    for label, dimension, factor, offset, spellings in _TABLE:
        unit = Unit(label, dimension, factor, offset)
        for spelling in (label, *spellings):
            index.setdefault(spelling, {})[dimension] = unit
    return index


_UNITS = _index()
DIMENSIONS = tuple(sorted({row[1] for row in _TABLE}))


class UnknownUnit(ValueError):
    """A unit that the table does not have, or has for another dimension."""

    def __init__(self, text: str, dimension: str | None) -> None:
        self.text, self.dimension = text, dimension
        known = [s for s, by in _UNITS.items() if dimension is None or dimension in by]
        near = difflib.get_close_matches(text, known, n=1)
        self.expected = f"a unit of {dimension_words(dimension)}" if dimension else "a unit flyoff knows"
        labels = units_of(dimension) if dimension else ()
        if near:
            self.expected += f" (did you mean '{near[0]}'?)"
        elif labels:
            self.expected += f", one of {', '.join(labels)}"
        super().__init__(f"unknown unit '{text}'; expected {self.expected}")


def dimension_words(dimension: str | None) -> str:
    """Return a dimension's name in words."""
    return (dimension or "").replace("_", " ")


def a_dimension(dimension: str) -> str:
    """Return a dimension's name in words with its article: ``an angle``."""
    words = dimension_words(dimension)
    return f"{'an' if words[:1] in set('aeiou') else 'a'} {words}"


def units_of(dimension: str) -> tuple[str, ...]:
    """Return the labels of the units of one dimension."""
    return tuple(row[0] for row in _TABLE if row[1] == dimension)


def spellings_of(dimension: str) -> tuple[str, ...]:
    """Return every spelling of the units of one dimension, longest first."""
    return tuple(sorted((s for s, by in _UNITS.items() if dimension in by), key=lambda s: (-len(s), s)))


def find_unit(text: str, dimension: str | None = None) -> Unit:
    """Return the unit written as `text`.

    A unit such as ``°C`` that serves two dimensions needs `dimension` to be
    told apart; without it the first in the table (a temperature) is meant.

    Raises
    ------
    UnknownUnit
        If the table has no such unit, or none of that dimension.
    """
    found = _UNITS.get(" ".join(text.split()))
    if found is None or (dimension is not None and dimension not in found):
        raise UnknownUnit(text, dimension)
    return found[dimension] if dimension is not None else next(iter(found.values()))
