"""Power and fuel flow of piston engines."""

from collections.abc import Callable, Mapping

import numpy as np

from flyoff.core.constants import SEA_LEVEL_PRESSURE_PA
from flyoff.core.typing import Floats
from flyoff.physics.air import require_temperature
from flyoff.physics.atmosphere import (
    altitude_at_pressure,
    density_ratio,
    temperature_at_altitude,
)
from flyoff.physics.limits import floats, require

GAGG_FARRAR_LOSS = 0.1324
"""[-] Share of sea-level power that does not thin out with the air.

Gagg and Farrar, SAE Transactions 29 (1934), 217-223.
"""


def gagg_farrar_ratio(density_ratio: Floats) -> Floats:
    r"""Return the share of sea-level power left at full throttle.

    .. math:: 1.1324 \sigma - 0.1324

    Parameters
    ----------
    density_ratio
        Air density over that of standard sea level σ, 0.1324 / 1.1324 to 1.3. [-] Any shape.

    Returns
    -------
    Floats
        Power over sea-level power. [-] The shape of the argument.

    Raises
    ------
    ValueError
        If a density ratio is outside that range.

    Notes
    -----
    Normally aspirated engines at full throttle and one speed, in air at standard temperature.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.3, after R. F.
       Gagg and E. V. Farrar, SAE Transactions 29 (1934), 217-223.

    Examples
    --------
    >>> f"{gagg_farrar_ratio(0.738479):.4f}"
    '0.7039'
    """
    lowest = GAGG_FARRAR_LOSS / (1 + GAGG_FARRAR_LOSS)
    require("density_ratio", density_ratio, at_least=lowest, at_most=1.3)
    return floats((1 + GAGG_FARRAR_LOSS) * density_ratio - GAGG_FARRAR_LOSS)


def density_lapse_ratio(density_ratio: Floats) -> Floats:
    r"""Return the share of sea-level power if it were as the density.

    .. math:: \sigma

    Parameters
    ----------
    density_ratio
        Air density over that of standard sea level, 0 to 1.3. [-] Any shape.

    Returns
    -------
    Floats
        Power over sea-level power. [-] The shape of the argument.

    Raises
    ------
    ValueError
        If a density ratio is outside 0 to 1.3.

    Notes
    -----
    A textbook simplification: 5 % high at 10,000 ft against Gagg and Farrar.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.7 (from memory).

    Examples
    --------
    >>> f"{density_lapse_ratio(0.738):.3f}"
    '0.738'
    """
    require("density_ratio", density_ratio, at_least=0.0, at_most=1.3)
    return floats(density_ratio)


def pressure_lapse_ratio(density_ratio: Floats, pressure_ratio: Floats) -> Floats:
    r"""Return the share of sea-level power as pressure over the root of temperature.

    .. math:: \delta / \sqrt{\theta} = \sqrt{\delta \sigma}

    Parameters
    ----------
    density_ratio
        Air density over that of standard sea level σ. [-] Any shape.
    pressure_ratio
        Pressure over that of standard sea level δ. [-] Broadcasts.

    Returns
    -------
    Floats
        Power over sea-level power. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a ratio is not above 0.

    Notes
    -----
    Flow of a choked throttle; no friction.

    References
    ----------
    .. [1] common practice, no source; compared with Gagg and Farrar in
       tests/validation/test_engine.py.

    Examples
    --------
    >>> f"{pressure_lapse_ratio(0.738479, 0.687705):.4f}"
    '0.7126'
    """
    require("density_ratio", density_ratio, above=0.0)
    require("pressure_ratio", pressure_ratio, above=0.0)
    return floats(np.sqrt(pressure_ratio * density_ratio))


LAPSE_LAWS: Mapping[str, Callable[[Floats], Floats]] = {
    "gagg_farrar": gagg_farrar_ratio,
    "density": density_lapse_ratio,
}
"""Laws of full-throttle power with the density ratio of the standard atmosphere, by name."""


def power_at_temperature(
    power_w: Floats, pressure_altitude_m: Floats, temperature_k: Floats, exponent: Floats = 0.5
) -> Floats:
    """Return a power for standard temperature as it is at another.

    .. math:: P = P_s (T_s / T)^n

    Parameters
    ----------
    power_w
        Power at the standard temperature of the altitude. [W] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.
    temperature_k
        Static temperature of the intake air. [K] Broadcasts.
    exponent
        Exponent n; 0.5 as a rule, 0 where the governing takes the temperature out. [-]
        Broadcasts.

    Returns
    -------
    Floats
        Power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If a power is negative, an altitude outside −2 000 to 20 000 m, or a temperature outside
        150 to 350 K.

    Notes
    -----
    Same pressure altitude, rotation speed and manifold pressure or full throttle. The rule of 1 %
    per 6 °C differs by 0.3 % at 20 °C below standard.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.2 step 4 and 10.3.

    Examples
    --------
    >>> f"{power_at_temperature(100.0, 0.0, 298.15):.2f}"
    '98.31'
    """
    require("power_w", power_w, "W", at_least=0.0)
    require_temperature("temperature_k", temperature_k)
    standard_k = temperature_at_altitude(pressure_altitude_m)
    return floats(power_w * np.power(standard_k / temperature_k, exponent))


def full_throttle_power(
    rated_power_w: Floats, pressure_altitude_m: Floats, temperature_k: Floats, law: str = "gagg_farrar"
) -> Floats:
    """Return the full-throttle power of a normally aspirated engine.

    Parameters
    ----------
    rated_power_w
        Rated power at standard sea level. [W] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.
    temperature_k
        Static temperature of the intake air. [K] Broadcasts.
    law
        One of `LAPSE_LAWS`.

    Returns
    -------
    Floats
        Power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If a power is negative, an altitude outside −2 000 to 20 000 m, or a temperature outside
        150 to 350 K. If the law is unknown.

    Notes
    -----
    At rated speed; no ram, no carburettor heat. Below sea level the law is carried on.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.2 and 10.3.

    Examples
    --------
    >>> f"{full_throttle_power(100.0, 3048.0, 268.338):.1f}"
    '70.4'
    """
    if law not in LAPSE_LAWS:
        raise ValueError(f"law must be one of {', '.join(LAPSE_LAWS)}; got {law}")
    ratio = LAPSE_LAWS[law](density_ratio(pressure_altitude_m, temperature_at_altitude(pressure_altitude_m)))
    return power_at_temperature(floats(rated_power_w * ratio), pressure_altitude_m, temperature_k)


def chart_power(
    pressure_altitude_m: Floats,
    sea_level_power_w: Floats,
    full_throttle_power_w: Floats,
    full_throttle_altitude_m: Floats,
) -> Floats:
    r"""Return the power at part throttle between the two readings of an engine chart.

    .. math:: P = P_B + (P_A - P_B) \frac{1 - \sigma}{1 - \sigma_A}

    Parameters
    ----------
    pressure_altitude_m
        Geopotential pressure altitude. [m] Any shape.
    sea_level_power_w
        Power at the same speed and manifold pressure at sea level (chart point B). [W]
        Broadcasts.
    full_throttle_power_w
        Power at full throttle with that manifold pressure (chart point A). [W] Broadcasts.
    full_throttle_altitude_m
        Pressure altitude of point A. [m] Broadcasts.

    Returns
    -------
    Floats
        Power at standard temperature. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If the full-throttle altitude is not above 0, or an altitude outside −2 000 to 20 000 m.

    Notes
    -----
    Power grows along a straight line in density as the back pressure falls. The printed equation
    is corrected to the graphical method of the same page, which it is meant to restate.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), Fig. 10.2a and 10.2
       step 3.

    Examples
    --------
    >>> f"{chart_power(762.0, 158.0, 170.0, 1402.0):.1f}"
    '164.7'
    """
    require("full_throttle_altitude_m", full_throttle_altitude_m, "m", above=0.0)
    thinner = 1 - _standard_density_ratio(pressure_altitude_m)
    thinnest = 1 - _standard_density_ratio(full_throttle_altitude_m)
    return floats(sea_level_power_w + (full_throttle_power_w - sea_level_power_w) * thinner / thinnest)


def power_at_manifold_pressure(
    *,
    manifold_pressure_pa: Floats,
    rotation_speed_hz: Floats,
    pressure_altitude_m: Floats,
    temperature_k: Floats,
    rated_power_w: Floats,
    rated_rotation_speed_hz: Floats,
    rated_manifold_pressure_pa: Floats,
    friction_pressure_pa: Floats,
    speed_exponent: Floats = 1.0,
) -> Floats:
    """Return the power of a normally aspirated engine at a throttle setting.

    Parameters
    ----------
    manifold_pressure_pa
        Manifold pressure. [Pa] Any shape.
    rotation_speed_hz
        Rotation speed. [Hz] Broadcasts.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.
    temperature_k
        Static temperature of the intake air. [K] Broadcasts.
    rated_power_w
        Rated power at standard sea level. [W] Any shape.
    rated_rotation_speed_hz
        Rotation speed of the rated power. [Hz] Broadcasts.
    rated_manifold_pressure_pa
        Manifold pressure of the rated power, full throttle at sea level. [Pa] Broadcasts.
    friction_pressure_pa
        Manifold pressure at which the sea-level power line reaches no power. [Pa] Broadcasts.
    speed_exponent
        Exponent of the power with rotation speed at one manifold pressure. [-] Broadcasts.

    Returns
    -------
    Floats
        Power at best-power mixture. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If a rated value is not above 0, a manifold pressure is below the friction pressure or
        above the rated one, or the altitude or temperature outside its range.

    Notes
    -----
    Point B is linear in manifold pressure; point A is where full throttle gives that manifold
    pressure, its power by Gagg and Farrar; between them `chart_power`. Linear in manifold
    pressure by the reference; the exponent is common practice, no source.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.2, steps 1 to 4.

    Examples
    --------
    >>> result = power_at_manifold_pressure(
    ...     manifold_pressure_pa=98000.0,
    ...     rotation_speed_hz=45.0,
    ...     pressure_altitude_m=0.0,
    ...     temperature_k=288.15,
    ...     rated_power_w=1e5,
    ...     rated_rotation_speed_hz=45.0,
    ...     rated_manifold_pressure_pa=98000.0,
    ...     friction_pressure_pa=18000.0,
    ... )
    >>> f"{result:.0f}"
    '100000'
    """
    for name, value in (
        ("rotation_speed_hz", rotation_speed_hz),
        ("rated_power_w", rated_power_w),
        ("rated_rotation_speed_hz", rated_rotation_speed_hz),
    ):
        require(name, value, above=0.0)
    span_pa = floats(rated_manifold_pressure_pa - friction_pressure_pa)
    require("rated_manifold_pressure_pa - friction_pressure_pa", span_pa, "Pa", above=0.0)
    load = floats((manifold_pressure_pa - friction_pressure_pa) / span_pa)
    require("share of the rated manifold pressure", load, at_least=0.0, at_most=1.0)
    power_w = rated_power_w * np.power(rotation_speed_hz / rated_rotation_speed_hz, speed_exponent)
    ambient_pa = floats(SEA_LEVEL_PRESSURE_PA * manifold_pressure_pa / rated_manifold_pressure_pa)
    thinnest = 1 - _standard_density_ratio(altitude_at_pressure(ambient_pa))
    gain_w = power_w * (1 - (1 + GAGG_FARRAR_LOSS) * thinnest - load)
    # at the rated manifold pressure the full-throttle altitude is sea level and there is nothing to gain
    slope_w = np.divide(
        gain_w, thinnest, out=np.zeros(np.broadcast(gain_w, thinnest).shape), where=thinnest > 1e-9
    )
    standard_w = power_w * load + slope_w * (1 - _standard_density_ratio(pressure_altitude_m))
    return power_at_temperature(floats(standard_w), pressure_altitude_m, temperature_k)


def turbocharged_power(
    rated_power_w: Floats,
    pressure_altitude_m: Floats,
    temperature_k: Floats,
    critical_altitude_m: Floats,
    temperature_exponent: Floats = 0.5,
) -> Floats:
    """Return the full power of an engine turbocharged to a critical altitude.

    Parameters
    ----------
    rated_power_w
        Rated power at standard sea level. [W] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.
    temperature_k
        Static temperature of the intake air. [K] Broadcasts.
    critical_altitude_m
        Highest pressure altitude at which rated power is held. [m] Broadcasts.
    temperature_exponent
        Exponent of the temperature correction. [-] Broadcasts.

    Returns
    -------
    Floats
        Power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If a power is negative, an altitude outside −2 000 to 20 000 m, or a temperature outside
        150 to 350 K.

    Notes
    -----
    Flat to the critical altitude, above it Gagg and Farrar in the density over that of the
    critical altitude: common practice, no source for the law above.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.1 (critical
       altitude) and 10.3.

    Examples
    --------
    >>> f"{turbocharged_power(100.0, 3000.0, 268.65, 5000.0):.1f}"
    '100.0'
    """
    ratio = np.minimum(
        1.0, _standard_density_ratio(pressure_altitude_m) / _standard_density_ratio(critical_altitude_m)
    )
    power_w = floats(rated_power_w * gagg_farrar_ratio(floats(ratio)))
    return power_at_temperature(power_w, pressure_altitude_m, temperature_k, temperature_exponent)


def compression_ignition_power(
    rated_power_w: Floats, pressure_altitude_m: Floats, temperature_k: Floats, critical_altitude_m: Floats
) -> Floats:
    """Return the full power of a turbocharged compression-ignition engine.

    Parameters
    ----------
    rated_power_w
        Rated power at standard sea level. [W] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.
    temperature_k
        Static temperature of the intake air. [K] Broadcasts.
    critical_altitude_m
        Highest pressure altitude at which rated power is held. [m] Broadcasts.

    Returns
    -------
    Floats
        Power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If a power is negative, an altitude outside −2 000 to 20 000 m, or a temperature outside
        150 to 350 K.

    Notes
    -----
    The fuel that is injected sets the power, so temperature takes nothing below the critical
    altitude; above it the air does, as in `turbocharged_power`.

    References
    ----------
    .. [1] common practice, no source.

    Examples
    --------
    >>> f"{compression_ignition_power(100.0, 0.0, 308.15, 3000.0):.1f}"
    '100.0'
    """
    exponent = np.where(np.asarray(pressure_altitude_m) > critical_altitude_m, 0.5, 0.0)
    return turbocharged_power(
        rated_power_w, pressure_altitude_m, temperature_k, critical_altitude_m, floats(exponent)
    )


def _standard_density_ratio(pressure_altitude_m: Floats) -> Floats:
    return density_ratio(pressure_altitude_m, temperature_at_altitude(pressure_altitude_m))
