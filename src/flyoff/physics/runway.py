"""Takeoff and landing distances: published corrections and factors.

Not for flight planning or operational use: the approved flight manual governs.
"""

from typing import NamedTuple

import numpy as np

from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require, require_positive
from flyoff.physics.wind import cross_wind, head_wind


class RunwayWind(NamedTuple):
    """Wind on a runway: headwind, negative from behind, and crosswind, positive from the right. [m/s]."""

    head_wind_m_s: Floats
    cross_wind_m_s: Floats


class DistanceFactor(NamedTuple):
    """A published factor on a distance, what it is for, and its source."""

    condition: str
    factor: float
    source: str


_SAFETY_SENSE = "UK CAA Safety Sense Leaflet 7 (web table after it, second-hand)"
_SAFETY_SENSE_MEMORY = "UK CAA Safety Sense Leaflet 7 (from memory)"
_CLASS_B = "EASA Class B performance (course page, second-hand)"

TAKEOFF_FACTORS: dict[str, DistanceFactor] = {
    "mass_plus_10_percent": DistanceFactor("10 % more mass", 1.20, _SAFETY_SENSE),
    "elevation_plus_1000_ft": DistanceFactor("1,000 ft more aerodrome elevation", 1.10, _SAFETY_SENSE),
    "temperature_plus_10_c": DistanceFactor("10 °C more ambient temperature", 1.10, _SAFETY_SENSE),
    "dry_short_grass": DistanceFactor("dry grass up to 20 cm", 1.20, _SAFETY_SENSE),
    "dry_long_grass": DistanceFactor("dry grass, long", 1.25, _SAFETY_SENSE),
    "wet_short_grass": DistanceFactor("wet grass, short", 1.25, _SAFETY_SENSE),
    "wet_long_grass": DistanceFactor("wet grass, long", 1.30, _SAFETY_SENSE),
    "uphill_2_percent": DistanceFactor("2 % slope uphill", 1.10, _SAFETY_SENSE),
    "tailwind_10_percent": DistanceFactor("tailwind of 10 % of lift-off speed", 1.20, _SAFETY_SENSE),
    "soft_ground": DistanceFactor("soft ground or snow, at least", 1.25, _SAFETY_SENSE),
    "safety": DistanceFactor("safety factor", 1.33, _SAFETY_SENSE_MEMORY),
    "class_b": DistanceFactor("takeoff distance without stopway", 1.25, _CLASS_B),
    "class_b_dry_grass": DistanceFactor("dry grass", 1.20, _CLASS_B),
    "class_b_wet_grass": DistanceFactor("wet grass", 1.30, _CLASS_B),
    "class_b_uphill_1_percent": DistanceFactor("1 % slope uphill", 1.05, _CLASS_B),
}
"""Factors on takeoff distance, by name."""

LANDING_FACTORS: dict[str, DistanceFactor] = {
    "mass_plus_10_percent": DistanceFactor("10 % more mass", 1.10, _SAFETY_SENSE),
    "elevation_plus_1000_ft": DistanceFactor("1,000 ft more aerodrome elevation", 1.05, _SAFETY_SENSE),
    "temperature_plus_10_c": DistanceFactor("10 °C more ambient temperature", 1.05, _SAFETY_SENSE),
    "dry_short_grass": DistanceFactor("dry grass up to 20 cm", 1.20, _SAFETY_SENSE),
    "dry_long_grass": DistanceFactor("dry grass, long", 1.30, _SAFETY_SENSE),
    "wet_short_grass": DistanceFactor("wet grass, short", 1.30, _SAFETY_SENSE),
    "wet_long_grass": DistanceFactor("wet grass, long", 1.40, _SAFETY_SENSE),
    "uphill_2_percent": DistanceFactor("2 % slope uphill", 0.90, _SAFETY_SENSE),
    "downhill_1_percent": DistanceFactor("1 % slope downhill", 1.05, _SAFETY_SENSE),
    "tailwind_10_percent": DistanceFactor("tailwind of 10 % of landing speed", 1.20, _SAFETY_SENSE),
    "soft_ground": DistanceFactor("soft ground or snow, at least", 1.25, _SAFETY_SENSE),
    "safety": DistanceFactor("safety factor", 1.43, _SAFETY_SENSE_MEMORY),
    "class_b": DistanceFactor("landing distance", 1.43, _CLASS_B),
    "class_b_grass": DistanceFactor("grass", 1.15, _CLASS_B),
    "class_b_wet": DistanceFactor("wet runway", 1.15, _CLASS_B),
    "class_b_downhill_1_percent": DistanceFactor("1 % slope downhill", 1.05, _CLASS_B),
}
"""Factors on landing distance, by name."""


def runway_wind(runway_rad: Floats, wind_from_rad: Floats, wind_speed_m_s: Floats) -> RunwayWind:
    """Return the wind on a runway.

    Parameters
    ----------
    runway_rad
        Direction of the runway. [rad] Any shape.
    wind_from_rad
        Direction the wind comes from, same north. [rad] Broadcasts.
    wind_speed_m_s
        Wind speed. [m/s] Broadcasts.

    Returns
    -------
    RunwayWind
        Headwind and crosswind. [m/s] Each of the broadcast shape.

    Raises
    ------
    ValueError
        If a wind speed is negative.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> import math
    >>> f"{runway_wind(0.0, math.pi / 2, 10.0).cross_wind_m_s:.1f}"
    '10.0'
    """
    return RunwayWind(
        head_wind(runway_rad, wind_from_rad, wind_speed_m_s),
        cross_wind(runway_rad, wind_from_rad, wind_speed_m_s),
    )


def factored_distance(distance_m: Floats, factors: tuple[DistanceFactor, ...]) -> Floats:
    """Return a distance multiplied by factors.

    Parameters
    ----------
    distance_m
        Distance. [m] Any shape.
    factors
        Factors, applied one on another.

    Returns
    -------
    Floats
        Distance. [m] The shape of the distance.

    Raises
    ------
    ValueError
        If a distance is negative.

    Notes
    -----
    Factors multiply, as the source has it.

    References
    ----------
    .. [1] UK CAA Safety Sense Leaflet 7, Aeroplane Performance (web table after it, second-hand).

    Examples
    --------
    >>> result = factored_distance(500.0, (TAKEOFF_FACTORS["dry_short_grass"], TAKEOFF_FACTORS["safety"]))
    >>> f"{result:.0f}"
    '798'
    """
    require("distance_m", distance_m, "m", at_least=0.0)
    return floats(distance_m * np.prod([factor.factor for factor in factors]))


def ground_roll_in_wind(
    distance_m: Floats, head_wind_m_s: Floats, lift_off_speed_m_s: Floats, exponent: Floats = 1.85
) -> Floats:
    """Return a takeoff roll in wind from one in still air.

    .. math:: S_w = S (1 - W / V_{LO})^{1.85}

    Parameters
    ----------
    distance_m
        Ground roll in still air. [m] Any shape.
    head_wind_m_s
        Headwind, negative from behind. [m/s] Broadcasts.
    lift_off_speed_m_s
        True airspeed at lift-off. [m/s] Broadcasts.
    exponent
        1.85 for propellers; 2 where thrust does not fall with speed. [-] Broadcasts.

    Returns
    -------
    Floats
        Ground roll; 0 where the wind is as fast. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a distance is negative or a speed not above 0.

    Notes
    -----
    Empirical.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.3.1.

    Examples
    --------
    >>> f"{ground_roll_in_wind(1000.0, 3.0, 30.0):.0f}"
    '823'
    """
    require("distance_m", distance_m, "m", at_least=0.0)
    require_positive(lift_off_speed_m_s=lift_off_speed_m_s)
    share = 1 - np.asarray(head_wind_m_s) / lift_off_speed_m_s
    return floats(distance_m * np.power(np.maximum(share, 0.0), exponent))


def takeoff_roll_at_condition(
    distance_m: Floats, mass_ratio: Floats, density_ratio: Floats, temperature_ratio: Floats = 1.0
) -> Floats:
    r"""Return a takeoff roll at another mass, density and temperature.

    .. math:: S = S_0 (W / W_0)^{2.4} (\rho / \rho_0)^{-2.4} (T / T_0)^{0.5}

    Parameters
    ----------
    distance_m
        Ground roll at the reference condition. [m] Any shape.
    mass_ratio
        Mass over reference mass. [-] Broadcasts.
    density_ratio
        Density over reference density. [-] Broadcasts.
    temperature_ratio
        Temperature over reference temperature; leave 1 at constant rotation speed. [-]
        Broadcasts.

    Returns
    -------
    Floats
        Ground roll. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a distance is negative or a ratio not above 0.

    Notes
    -----
    Empirical, fixed-pitch propellers.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.3.1, table.

    Examples
    --------
    >>> f"{takeoff_roll_at_condition(1000.0, 1.0, 0.9):.0f}"
    '1288'
    """
    return _at_condition(distance_m, mass_ratio, density_ratio, temperature_ratio, 2.4, 0.5)


def takeoff_air_distance_at_condition(
    distance_m: Floats, mass_ratio: Floats, density_ratio: Floats, temperature_ratio: Floats = 1.0
) -> Floats:
    r"""Return a takeoff air distance at another mass, density and temperature.

    .. math:: S = S_0 (W / W_0)^{2.2} (\rho / \rho_0)^{-2.2} (T / T_0)^{0.6}

    Parameters
    ----------
    distance_m
        Air distance at the reference condition. [m] Any shape.
    mass_ratio
        Mass over reference mass. [-] Broadcasts.
    density_ratio
        Density over reference density. [-] Broadcasts.
    temperature_ratio
        Temperature over reference temperature; leave 1 at constant rotation speed. [-]
        Broadcasts.

    Returns
    -------
    Floats
        Air distance. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a distance is negative or a ratio not above 0.

    Notes
    -----
    Empirical, fixed-pitch propellers.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.3.1, table.

    Examples
    --------
    >>> f"{takeoff_air_distance_at_condition(1000.0, 1.0, 0.9):.0f}"
    '1261'
    """
    return _at_condition(distance_m, mass_ratio, density_ratio, temperature_ratio, 2.2, 0.6)


def landing_roll_at_condition(distance_m: Floats, mass_ratio: Floats, density_ratio: Floats) -> Floats:
    r"""Return a landing roll at another mass and density.

    .. math:: S = S_0 (W / W_0)^2 (\rho_0 / \rho)

    Parameters
    ----------
    distance_m
        Ground roll at the reference condition. [m] Any shape.
    mass_ratio
        Mass over reference mass. [-] Broadcasts.
    density_ratio
        Density over reference density. [-] Broadcasts.

    Returns
    -------
    Floats
        Ground roll. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a distance is negative or a ratio not above 0.

    Notes
    -----
    Empirical; same braking and approach speed margin.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.4.1.

    Examples
    --------
    >>> f"{landing_roll_at_condition(1000.0, 1.1, 1.0):.0f}"
    '1210'
    """
    require("distance_m", distance_m, "m", at_least=0.0)
    require_positive(mass_ratio=mass_ratio, density_ratio=density_ratio)
    return floats(distance_m * np.square(mass_ratio) / density_ratio)


def _at_condition(
    distance_m: Floats,
    mass_ratio: Floats,
    density_ratio: Floats,
    temperature_ratio: Floats,
    exponent: float,
    temperature_exponent: float,
) -> Floats:
    require("distance_m", distance_m, "m", at_least=0.0)
    require_positive(mass_ratio=mass_ratio, density_ratio=density_ratio, temperature_ratio=temperature_ratio)
    scale = np.power(np.asarray(mass_ratio) / density_ratio, exponent)
    return floats(distance_m * scale * np.power(temperature_ratio, temperature_exponent))
