"""Units as people write and say them, simple and compound: from words to a factor and a dimension."""

from dataclasses import dataclass, replace

from flyoff.core.units import CURRENCIES, find_unit, inch
from flyoff.draft.tokens import Tokens


@dataclass(frozen=True)
class Measure:
    """A unit as read: label, dimension, and how it becomes SI; `role` where the unit tells it (KIAS)."""

    label: str
    dimension: str
    factor: float
    offset: float = 0.0
    role: str = ""

    def to_si(self, number: float) -> float:
        """Return a number in this unit as SI."""
        return number * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """Return an SI value as a number in this unit."""
        return (value - self.offset) / self.factor


def measure_named(label: str, dimension: str | None = None, role: str = "") -> Measure:
    """Return a unit by the label that the table of units has for it."""
    unit = find_unit(label, dimension)
    return Measure(unit.label, unit.dimension, unit.factor, unit.offset, role)


_KT, _NMI, _MI = measure_named("kt"), measure_named("nmi"), measure_named("mi")
_CELSIUS, _FAHRENHEIT = measure_named("°C"), measure_named("°F")
_MILES = (_MI, _NMI)
_DEGREES = (_CELSIUS, _FAHRENHEIT)

# The words of a unit, and what they may mean, the likeliest first.
_SIMPLE: dict[str, tuple[Measure, ...]] = {}


def _enter(words: str, *measures: Measure) -> None:
    for spelling in words.split(","):
        _SIMPLE[spelling.strip()] = measures


_enter("knots,knot,kt,kts", _KT)
_enter("kias,kt ias", measure_named("kt", role="indicated_airspeed"))
_enter("ktas,kt tas", measure_named("kt", role="true_airspeed"))
_enter("kcas", measure_named("kt", role="indicated_airspeed"))
_enter("kgs", measure_named("kt", role="ground_speed"))
_enter("mph", measure_named("mph"))
_enter("kmh,kph,km / h", measure_named("km/h"))
_enter("m / s", measure_named("m/s"))
_enter("fpm,ft / min", measure_named("ft/min", role="vertical_speed"))
_enter("nautical miles,nautical mile,nautical,nautmiles,nm,nmi", _NMI)
_enter("statute miles,statute mile,sm", _MI)
_enter("miles,mile,mi", *_MILES)
_enter("kilometres,kilometers,kilometre,kilometer,km", measure_named("km"))
_enter("metres,meters,metre,meter,m", measure_named("m"))
_enter("feet,foot,ft", measure_named("ft"))
_enter("inches,inch,in", measure_named("in"))
_enter("cm,centimetres,centimeters", measure_named("cm"))
_enter("square feet,square foot,sq ft,ft²,ft ²,sq . ft", measure_named("ft²"))
_enter("square metres,square meters,square metre,square meter,m²,m ²,sq m", measure_named("m²"))
_enter("gallons,gallon,gal,us gallons,us gal", measure_named("US gal"))
_enter("imperial gallons,imp gal", measure_named("imp gal"))
_enter("litres,liters,litre,liter,l,ltr", measure_named("L"))
_enter("pounds,pound,lb,lbs", measure_named("lb"))
_enter("grams,gram", Measure("g", "mass", 1e-3))
_enter("g / kwh", Measure("g/kWh", "specific_consumption", 1e-3 / 3.6e6))
_enter("kilograms,kilogram,kilos,kg", measure_named("kg"))
_enter("degrees celsius,degree celsius,degrees centigrade,celsius,centigrade,° c,degrees c,c", _CELSIUS)
_enter("degrees fahrenheit,degree fahrenheit,fahrenheit,° f,degrees f", _FAHRENHEIT)
_enter("degrees,degree,°", *_DEGREES)
_enter("horsepower,horse power,horse,hp,bhp", measure_named("hp"), measure_named("PS"))
_enter("ps,metric horsepower", measure_named("PS"))
_enter("kilowatts,kilowatt,kw", measure_named("kW"))
_enter("hours,hour,h,hr,hrs", measure_named("h"))
_enter("minutes,minute,min,mins", measure_named("min"))
_enter("seconds,second,sec,secs", measure_named("s"))
_enter("rpm", measure_named("rpm"))
_enter("gph,gallons hourly", measure_named("US gal/h"))
_enter("lph", measure_named("L/h"))
_enter("pph", measure_named("lb/h"))
_enter("percent,per cent,%,pct", measure_named("%"))
_enter("decibels,db,dba", measure_named("dB(A)"))
_enter("inches of mercury,inhg,in hg", measure_named("inHg"))
_enter("nmpg", measure_named("nmi/US gal"))
SIGNS = {
    sign: measure_named(code)
    for sign, code in {"$": "USD", "€": "EUR", "£": "GBP", "fr": "CHF", "sfr": "CHF"}.items()
}
"""What stands before an amount of money, besides the codes of currencies."""
for _code in CURRENCIES:
    SIGNS[_code.lower()] = measure_named(_code)
    _enter(_code.lower(), measure_named(_code))
for _code, _words in {
    "USD": "dollars,dollar,us dollars,us dollar,us$", "EUR": "euros,euro", "GBP": "pounds sterling",
    "CHF": "francs,franc,swiss francs", "SEK": "kronor,swedish kronor",
}.items():  # fmt: skip
    _enter(_words, measure_named(_code))
_enter("kroner", measure_named("DKK"), measure_named("NOK"))
_LONGEST = max(len(words.split()) for words in _SIMPLE)
_BEHIND_INCHES = {"", ")", ".", ",", ";", "×", "x", "wide", "high", "tall", "long", "deep"}
"""What may follow 'in' where it is inches: 'fifty in the tanks' are none."""
_UNTOUCHED = {"c", "h", "m", "l", "min", "nautical", "second", "horse", "°"}
"""Spellings that are words or letters of their own: taken only right behind a number."""

# What one dimension per another makes.
_PER: dict[tuple[str, str], str] = {
    ("length", "time"): "speed",
    ("volume", "time"): "volume_flow",
    ("mass", "time"): "mass_flow",
    ("length", "volume"): "distance_per_volume",
    ("length", "mass"): "distance_per_mass",
    ("mass", "area"): "surface_load",
    ("mass", "power"): "power_load",
    ("mass", "volume"): "density",
    ("mass", "energy"): "specific_consumption",
    ("mass_flow", "power"): "specific_consumption",
    ("money", "time"): "money_per_time",
    ("money", "length"): "money_per_length",
    ("money", "volume"): "money_per_volume",
    ("money", "mass"): "money_per_mass",
}
_COSTS = {"h": "hourly_cost", "year": "yearly_cost", "time": "other_cost", "length": "cost_per_distance"}
_MONTH = Measure("month", "time", 30.4 * 86400)
_HOUR = measure_named("h")
_DENOMINATORS: dict[str, Measure] = {
    "year": Measure("year", "time", 365.25 * 86400),
    "month": _MONTH,
    "week": Measure("week", "time", 7 * 86400),
    "day": Measure("day", "time", 86400.0),
    "night": Measure("day", "time", 86400.0),
    "flying hour": _HOUR,
    "flight hour": _HOUR,
    "kwh": Measure("kWh", "energy", 3.6e6),
    "kilowatt hour": Measure("kWh", "energy", 3.6e6),
    "inch": Measure("in", "length", inch),
}
_HP = measure_named("hp")
_HP_HOUR = Measure("hp·h", "energy", _HP.factor * _HOUR.factor)
_KWH = Measure("kWh", "energy", 3.6e6)
_ENERGIES = {"horsepower": _HP_HOUR, "hp": _HP_HOUR, "bhp": _HP_HOUR, "kilowatt": _KWH, "kw": _KWH}
"""A power that an hour follows."""
_FUEL_WORDS = frozenset(["fuel", "avgas", "gas", "gasoline", "petrol", "mogas", "diesel", "kerosene"])


def unit_at(tokens: Tokens, i: int) -> tuple[tuple[Measure, ...], int]:
    """Return the units that begin at token `i`, the likeliest first, and the token behind; none is ``()``."""
    found, end = _simple(tokens, i)
    return quotient_at(tokens, found, end) if found else ((), i)


def quotient_at(tokens: Tokens, found: tuple[Measure, ...], end: int) -> tuple[tuple[Measure, ...], int]:
    """Return units and the token behind them with whatever they are said to be per: 'an hour', '/ km'."""
    while True:
        at = _per(tokens, _behind_fuel(tokens, end))
        below, behind = _denominator(tokens, at, found[0].dimension) if at else ((), end)
        made = tuple(q for top in found for bottom in below if (q := _quotient(top, bottom)))
        if not made:
            return found, end
        found, end = made, behind


def _simple(tokens: Tokens, i: int) -> tuple[tuple[Measure, ...], int]:
    for length in range(min(_LONGEST, len(tokens) - i), 0, -1):
        words = " ".join(tokens.words[i : i + length])
        if measures := _SIMPLE.get(words):
            behind_number = tokens.word(i - 1)[-1:].isdecimal()
            if words in _UNTOUCHED and not behind_number and words not in ("second", "nautical", "min"):
                return (), i
            if words == "in" and not (behind_number and tokens.word(i + 1) in _BEHIND_INCHES):
                return (), i
            return measures, i + length
    return (), i


def _behind_fuel(tokens: Tokens, i: int) -> int:
    """Return the token behind the fuel that a unit is said to be of: 'gallons of avgas an hour'."""
    if tokens.word(i) != "of":
        return i
    words = [tokens.word(i + 1), tokens.word(i + 2)]
    if words == ["jet", "fuel"]:
        return i + 3
    return i + 2 if words[0] in _FUEL_WORDS else i


def _per(tokens: Tokens, i: int) -> int:
    """Return the token behind 'per', 'an', '/', 'to the', or 0 where no such word stands."""
    word = tokens.word(i)
    if word in ("per", "a", "an", "/", "each", "every"):
        return i + 1
    if word == "to" and tokens.word(i + 1) in ("the", "a"):
        return i + 2
    return 0


def _denominator(tokens: Tokens, i: int, above: str) -> tuple[tuple[Measure, ...], int]:
    words = [tokens.word(i + n) for n in range(3)]
    if (energy := _ENERGIES.get(words[0])) and above == "mass":
        if words[1] in ("hour", "h", "hr"):
            return (energy,), i + 2
        if words[1] in ("-", "·", "/") and words[2] in ("hour", "h", "hr"):
            return (energy,), i + 3
        if words[1] in ("per", "an") and words[2] == "hour":
            return (energy,), i + 3
    for length in (2, 1):
        if denominator := _DENOMINATORS.get(" ".join(words[:length])):
            return (denominator,), i + length
    if words[0] in ("h", "l", "m", "kg"):
        return _SIMPLE[words[0]], i + 1
    return _simple(tokens, i)


def _quotient(top: Measure, bottom: Measure) -> Measure | None:
    dimension = _PER.get((top.dimension, bottom.dimension))
    if dimension is None or top.offset or bottom.offset:
        return None
    label = {"ft/min": "ft/min", "mi/h": "mph", "ft/s": "ft/s"}.get(f"{top.label}/{bottom.label}")
    role = "vertical_speed" if dimension == "speed" and top.label == "ft" else ""
    if top.dimension == "money":
        role = _COSTS.get(bottom.label, _COSTS.get(bottom.dimension, ""))
        if role == "yearly_cost":  # a year's cost is published as an amount
            return replace(top, role=role)
    return Measure(label or f"{top.label}/{bottom.label}", dimension, top.factor / bottom.factor, 0.0, role)
