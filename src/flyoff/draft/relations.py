"""What must hold between quantities, whatever the airplane: one table, read by `judging`.

Each relation predicts one quantity from others. A statement is impossible when no values within what is
written, and within the slack that a relation declares, satisfy it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from flyoff.core.typing import Floats
from flyoff.core.units import celsius, ft, kt
from flyoff.physics.airspeed import true_airspeed
from flyoff.physics.atmosphere import density_altitude, temperature_at_altitude
from flyoff.physics.cruise import specific_range
from flyoff.physics.fuel import fuel_flow, specific_consumption
from flyoff.physics.glide import glide_range

Side: TypeAlias = Literal["both", "at most", "at least"]
Scope: TypeAlias = Literal["sentence", "paragraph"]


@dataclass(frozen=True)
class Assumed:
    """What is taken where the text is silent: an interval, its middle, and words for it."""

    low: float
    usual: float
    high: float
    words: str


@dataclass(frozen=True)
class Slot:
    """A place in a relation: the roles that may take it, and what is assumed where none does.

    `assume` is given the sentence in small letters; ``isa`` stands for standard
    temperature at the altitude bound before it.
    """

    name: str
    roles: tuple[str, ...]
    dimension: str
    assume: Callable[[str], Assumed] | Literal["isa"] | None = None


@dataclass(frozen=True)
class Relation:
    """One relation: `says` it in words, `target` is predicted from `inputs` by `predict`.

    `slack` and `slack_si` widen the prediction: by a fraction, and in SI.
    `exact` quantities are sums: round numbers are meant to the finest digit written.
    `lone` names an input of which a sentence may hold only one: at two altitudes, two things are told.
    `pairs` are the numbers of inputs that belong to one thing: a speed and its flow.
    `unless` are words of a sentence that make the relation another one.
    """

    key: str
    says: str
    source: str
    target: Slot
    inputs: tuple[Slot, ...]
    predict: Callable[..., Floats]
    slack: float = 0.0
    slack_si: float = 0.0
    scope: Scope = "sentence"
    side: Side = "both"
    exact: bool = False
    unless: str = ""
    needs: str = ""
    one_airplane: bool = True
    lone: str = ""
    pairs: tuple[tuple[int, int], ...] = ()


_LB_GAL = 0.45359237 / 3.785411784e-3


def fuel_density(sentence: str) -> Assumed:
    """Return the density of the kind of fuel that a sentence names, or of either kind. [kg/m³].

    ASTM D910 gives no density for avgas. 6.0 lb/US gal, and 6.7 for jet fuel, are the planning values of
    FAA-H-8083-1B (2016), chapter 2 (from memory). The spread is that of ASTM D1655 (775 to 840 kg/m³,
    from memory) and, of avgas, common practice, no source.
    """
    if any(word in sentence for word in ("jet", "diesel", "kerosene", "kerosine")):
        return Assumed(775.0, 6.7 * _LB_GAL, 840.0, "jet fuel at 6.7 lb/US gal")
    if any(word in sentence for word in ("avgas", "gasoline", "100ll", "petrol", "mogas")):
        return Assumed(690.0, 6.0 * _LB_GAL, 745.0, "avgas at 6.0 lb/US gal")
    return Assumed(690.0, 6.0 * _LB_GAL, 840.0, "fuel at 5.8 to 7.0 lb/US gal")


_SPEEDS = ("ground_speed", "true_airspeed", "cruise_speed", "")
_TIMES = ("duration", "endurance", "")
_FUELS = ("fuel_volume",)
_FAA_PHAK = "FAA-H-8083-25C (2023), Pilot's Handbook of Aeronautical Knowledge, chapter"
_FAA_WB = "FAA-H-8083-1B (2016), Aircraft Weight and Balance Handbook, chapter 2"
_SAVED = r"\bsav\w+|\bbeats?\b|sooner|earlier|quicker|shorter|ahead|longer|later|\bless\b|\bgain\w*|\bbuys?\b"
_NOT_LEVEL = (
    r"climb|head ?wind|tail ?wind|\bwind\b|\bstops?\b|landed for|refuel|block|door to door|taxi|included"
    r"|instead|against|sooner|beats"
)

_SPEED = Slot("speed", _SPEEDS, "speed")
_DISTANCE = Slot("distance", ("distance", ""), "length")
_TIME = Slot("time", _TIMES, "time")
_FLOW = Slot("fuel flow", ("fuel_flow",), "volume_flow")
_DENSITY = Slot("fuel density", ("fuel_density",), "density", fuel_density)
_FUEL = Slot("fuel", _FUELS, "volume")
_FUEL_MASS = Slot("fuel", ("fuel_mass",), "mass")
_RESERVE = Slot("reserve", ("reserve_volume",), "volume")
_USEFUL = Slot("useful load", ("useful_load",), "mass")
_PAYLOAD = Slot("payload", ("payload",), "mass")
_PEOPLE = Slot("people and bags", ("people_mass",), "mass")
_POWER = Slot("power", ("power", "rated_power", ""), "power")
_RATE = Slot("rate", ("rate_of_climb", "rate_of_descent", "vertical_speed"), "speed")
_HEIGHT = Slot("height", ("height_change", "altitude", ""), "length")
_GROSS = Slot("takeoff weight", ("takeoff_weight", ""), "mass")
_MASS_FLOW = Slot("fuel flow", ("fuel_flow",), "mass_flow")
_TAKEOFF = Slot("takeoff weight", ("takeoff_weight",), "mass")
_EMPTY = Slot("empty weight", ("empty_weight",), "mass")
_PER_FUEL = Slot("distance per fuel", ("specific_range",), "distance_per_volume")
_TEMPERATURE = Slot("temperature", ("temperature",), "temperature")
_STILL_SPEED = Slot("true airspeed", ("true_airspeed", "cruise_speed"), "speed")
_GROUND_SPEED = Slot("ground speed", ("ground_speed",), "speed")
_WIND = Slot("wind", ("wind_speed",), "speed")
_SFTE = "SFTE Reference Handbook (2013),"
_STALL = Slot("stall speed", ("stall_speed",), "speed")

WEATHER_M = 600 * ft
"""[m] What a pressure 20 hPa off the standard does to density altitude; common practice, no source."""

RELATIONS: tuple[Relation, ...] = (
    Relation(
        "true_airspeed", "true airspeed from indicated airspeed, altitude and temperature",
        f"{_SFTE} ch. 4",
        Slot("true airspeed", ("true_airspeed",), "speed"),
        (
            Slot("indicated airspeed", ("indicated_airspeed",), "speed"),
            Slot("altitude", ("altitude", "elevation", ""), "length"),
            Slot("temperature", ("temperature",), "temperature", "isa"),
        ),
        lambda v, h, t: true_airspeed(calibrated_airspeed_m_s=v, pressure_altitude_m=h, temperature_k=t),
        lone="altitude",
        slack=0.01, slack_si=2 * kt,
    ),
    Relation(
        "speed_time_distance", "distance is speed times time", "arithmetic",
        _DISTANCE, (_SPEED, _TIME), lambda v, t: v * t, slack=0.002, unless=_NOT_LEVEL,
    ),
    Relation(
        "fuel_flow_time", "fuel is flow times time", "arithmetic",
        Slot("fuel", ("fuel_volume", "reserve_volume"), "volume"),
        (_FLOW, _TIME),
        lambda flow, t: flow * t, slack=0.002, unless=r"climb|taxi|included|land with",
    ),
    Relation(
        "fuel_flow_time", "fuel is flow times time", "arithmetic",
        _FUEL_MASS, (_MASS_FLOW, _TIME), lambda flow, t: flow * t, slack=0.002,
        unless=r"climb|taxi|included|land with",
    ),
    Relation(
        "fuel_flow_time", "reserve fuel is flow times time", "arithmetic",
        Slot("reserve", ("reserve_volume", "fuel_volume"), "volume"),
        (_FLOW, Slot("reserve", ("reserve_time",), "time")), lambda flow, t: flow * t, slack=0.002,
        unless=r"usable|range|tanks|aboard|carr",
    ),
    Relation(
        "specific_range", "distance per fuel is speed over flow", f"{_SFTE} 12.7.4",
        _PER_FUEL, (_SPEED, _FLOW),
        specific_range, slack=0.002,
    ),
    Relation(
        "fuel_weight", "fuel's weight is its volume times its density", _FAA_WB,
        _FUEL_MASS, (_FUEL, _DENSITY), lambda volume, density: volume * density,
    ),
    Relation(
        "useful_load", "useful load is takeoff weight less empty weight", _FAA_WB,
        _USEFUL,
        (_TAKEOFF, _EMPTY),
        lambda gross, empty: gross - empty, scope="paragraph", exact=True,
    ),
    Relation(
        "payload", "payload is useful load less fuel", _FAA_WB,
        _PAYLOAD, (_USEFUL, _FUEL_MASS), lambda useful, fuel: useful - fuel, scope="paragraph", exact=True,
    ),
    Relation(
        "payload", "payload is useful load less fuel", _FAA_WB,
        _PAYLOAD, (_USEFUL, _FUEL, _DENSITY), lambda useful, fuel, density: useful - fuel * density,
        scope="paragraph",
    ),
    Relation(
        "payload", "people and bags weigh at most the useful load less fuel", _FAA_WB,
        _PEOPLE, (_USEFUL, _FUEL_MASS), lambda useful, fuel: useful - fuel, side="at most", exact=True,
    ),
    Relation(
        "payload", "people and bags weigh at most the useful load less fuel", _FAA_WB,
        _PEOPLE, (_USEFUL, _FUEL, _DENSITY), lambda useful, fuel, density: useful - fuel * density,
        side="at most",
    ),
    Relation(
        "specific_consumption", "specific consumption is fuel flow over power",
        f"{_SFTE} 10.2",
        Slot("specific consumption", ("specific_consumption",), "specific_consumption"),
        (_FLOW, _POWER, _DENSITY),
        lambda flow, power, density: specific_consumption(power, flow * density),
    ),
    Relation(
        "specific_consumption", "specific consumption is fuel flow over power",
        f"{_SFTE} 10.2",
        Slot("fuel flow", ("fuel_flow",), "mass_flow"),
        (_POWER, Slot("specific consumption", ("specific_consumption",), "specific_consumption")),
        fuel_flow,
    ),
    Relation(
        "percent_power", "power is its percentage of the rated power", "arithmetic",
        Slot("power", ("power", ""), "power"),
        (
            Slot("percentage", ("percent_power", "percent", ""), "ratio"),
            Slot("rated power", ("rated_power",), "power"),
        ),
        lambda share, rated: share * rated, slack=0.004,
    ),
    Relation(
        "range_fuel", "range is distance per fuel times fuel less reserve",
        f"{_SFTE} 12.7",
        Slot("range", ("range", "distance"), "length"),
        (_PER_FUEL, _FUEL, _RESERVE),
        lambda per_fuel, fuel, reserve: per_fuel * (fuel - reserve), slack=0.005, scope="paragraph",
    ),
    Relation(
        "range_fuel", "range is speed times the time that fuel lasts less reserve", f"{_SFTE} 12.7",
        Slot("range", ("range",), "length"),
        (_SPEED, _FUEL, _FLOW, Slot("reserve", ("reserve_time",), "time")),
        lambda v, fuel, flow, reserve: v * (fuel / flow - reserve), slack=0.005, unless=r"climb|wind",
    ),
    Relation(
        "range_fuel", "range is at most distance per fuel times fuel", f"{_SFTE} 12.7",
        Slot("range", ("range",), "length"),
        (_PER_FUEL, _FUEL),
        lambda per_fuel, fuel: per_fuel * fuel, slack=0.005, side="at most",
    ),
    Relation(
        "trip_saving", "time saved is distance over the one speed less distance over the other", "arithmetic",
        Slot("time saved", ("difference", *_TIMES), "time"),
        (_DISTANCE, _SPEED, _SPEED), lambda d, a, b: np.abs(d / a - d / b), slack=0.005,
        one_airplane=False, needs=_SAVED,
    ),
    Relation(
        "trip_saving", "fuel saved is flow times distance over speed, one less the other", "arithmetic",
        Slot("fuel saved", ("difference", "fuel_volume"), "volume"),
        (_DISTANCE, _SPEED, _FLOW, _SPEED, _FLOW),
        lambda d, va, fa, vb, fb: np.abs(d / va * fa - d / vb * fb), slack=0.005,
        one_airplane=False, pairs=((1, 2), (3, 4)),
        needs=r"\bsav\w+|less fuel|more fuel",
    ),
    Relation(
        "price", "the total is the base price and the options", "arithmetic",
        Slot("total", ("total_price", "total"), "money"),
        (Slot("base price", ("base_price",), "money"), Slot("options", ("options_price",), "money")),
        lambda base, options: base + options, scope="paragraph", exact=True,
    ),
    Relation(
        "rate_time_height", "height is rate times time", "arithmetic",
        _HEIGHT, (_RATE, _TIME), lambda rate, t: rate * t, slack=0.005, unless=r"at first|initial|down low",
    ),
    Relation(
        "glide", "distance glided is glide ratio times height", f"{_FAA_PHAK} 5",
        Slot("distance", ("distance", ""), "length"),
        (_HEIGHT, Slot("glide ratio", ("glide_ratio",), "glide_ratio")), glide_range, slack=0.005,
        unless=r"head ?wind|tail ?wind",
    ),
    Relation(
        "stall_approach", "approach speed is its factor times the stall speed", "14 CFR 23.73 (2016)",
        Slot("approach speed", ("approach_speed", ""), "speed"),
        (_STALL, Slot("factor", ("stall_factor",), "factor")),
        lambda stall, factor: stall * factor, slack=0.005, scope="paragraph",
    ),
    Relation(
        "stall_approach", "no approach is flown at or below the stall", "14 CFR 23.73 (2016)",
        Slot("approach speed", ("approach_speed",), "speed"), (_STALL,), lambda stall: stall, side="at least",
        scope="paragraph",
    ),
    Relation(
        "wing_loading", "wing loading is weight over wing area", f"{_FAA_PHAK} 5",
        Slot("wing loading", ("wing_loading",), "surface_load"),
        (_GROSS, Slot("wing area", ("wing_area",), "area")),
        lambda mass, area: mass / area, slack=0.003,
    ),
    Relation(
        "power_loading", "power loading is weight over power", f"{_FAA_PHAK} 11",
        Slot("power loading", ("power_loading",), "power_load"), (_GROSS, _POWER),
        lambda mass, power: mass / power, slack=0.003,
    ),
    Relation(
        "density_altitude", "density altitude from elevation and temperature",
        "U.S. Standard Atmosphere, 1976, eq. 33a, 33b and 42",
        Slot("density altitude", ("density_altitude",), "length"),
        (Slot("elevation", ("elevation", "altitude"), "length"), _TEMPERATURE),
        density_altitude, slack_si=WEATHER_M, scope="paragraph",
    ),
    Relation(
        "ground_speed", "ground speed is true airspeed less the headwind", f"{_FAA_PHAK} 16",
        _GROUND_SPEED, (_STILL_SPEED, _WIND),
        lambda v, w: v - w, slack=0.003, needs=r"head ?wind|on the nose",
    ),
    Relation(
        "ground_speed", "ground speed is true airspeed and the tailwind", f"{_FAA_PHAK} 16",
        _GROUND_SPEED, (_STILL_SPEED, _WIND),
        lambda v, w: v + w, slack=0.003, needs=r"tail ?wind|on the tail",
    ),
)  # fmt: skip

WARMEST_DEVIATION_K = 35.0
"""[K] Farthest from standard that a day is believed to be; own limit."""


def standard_temperature(altitude_m: float) -> Assumed:
    """Return what temperature is assumed at an altitude where the text gives none. [K]."""
    usual = float(temperature_at_altitude(altitude_m))
    return Assumed(
        usual - WARMEST_DEVIATION_K,
        usual,
        usual + WARMEST_DEVIATION_K,
        f"standard temperature, {usual - celsius(0.0):.0f} °C",
    )
