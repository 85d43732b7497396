"""Calibrated, equivalent and true airspeed.

Compressible subsonic flow, exact both ways. Indicated airspeed becomes
calibrated by the caller, who knows the instrument's and the position errors.
"""

import numpy as np

from flyoff.core.constants import (
    SEA_LEVEL_DENSITY_KG_M3,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_SOUND_SPEED_M_S,
)
from flyoff.core.typing import Floats
from flyoff.physics.atmosphere import pressure_at_altitude
from flyoff.physics.limits import floats, require
from flyoff.physics.mach import (
    impact_pressure_at_mach,
    mach_at_impact_pressure,
    mach_at_true_airspeed,
    true_airspeed_at_mach,
)


def impact_pressure(calibrated_airspeed_m_s: Floats) -> Floats:
    r"""Return the impact pressure that a calibrated airspeed stands for.

    .. math:: q_c = p_0\left[(1 + 0.2 (V_c / a_0)^2)^{3.5} - 1\right]

    Parameters
    ----------
    calibrated_airspeed_m_s
        Calibrated airspeed :math:`V_c`. [m/s] Any shape.

    Returns
    -------
    Floats
        Impact pressure. [Pa] The shape of the argument.

    Raises
    ------
    ValueError
        If a speed is negative or not below the sea-level speed of sound.

    Notes
    -----
    Exact: this is what an airspeed indicator's scale is drawn by.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> from flyoff.core.units import inhg, kt
    >>> f"{impact_pressure(250 * kt) / inhg:.4f}"
    '3.1001'
    """
    _require_speed("calibrated_airspeed_m_s", calibrated_airspeed_m_s)
    return impact_pressure_at_mach(
        floats(calibrated_airspeed_m_s / SEA_LEVEL_SOUND_SPEED_M_S), SEA_LEVEL_PRESSURE_PA
    )


def calibrated_airspeed_at_impact_pressure(impact_pressure_pa: Floats) -> Floats:
    """Return the calibrated airspeed of an impact pressure.

    Parameters
    ----------
    impact_pressure_pa
        Impact pressure. [Pa] Any shape.

    Returns
    -------
    Floats
        Calibrated airspeed. [m/s] The shape of the argument.

    Raises
    ------
    ValueError
        If an impact pressure is negative or not that of a subsonic speed.

    Notes
    -----
    Exact inverse of `impact_pressure`.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> f"{calibrated_airspeed_at_impact_pressure(6529.0):.1f}"
    '102.1'
    """
    return floats(
        mach_at_impact_pressure(impact_pressure_pa, SEA_LEVEL_PRESSURE_PA) * SEA_LEVEL_SOUND_SPEED_M_S
    )


def mach_number(*, calibrated_airspeed_m_s: Floats, pressure_altitude_m: Floats) -> Floats:
    """Return the Mach number at a calibrated airspeed and a pressure altitude.

    Parameters
    ----------
    calibrated_airspeed_m_s
        Calibrated airspeed. [m/s] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.

    Returns
    -------
    Floats
        Mach number. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If the flow is not subsonic, a speed negative, or an altitude outside −2 000 to 20 000 m.

    Notes
    -----
    Exact; the temperature has no part in it.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> from flyoff.core.units import ft, kt
    >>> f"{mach_number(calibrated_airspeed_m_s=250 * kt, pressure_altitude_m=10000 * ft):.4f}"
    '0.4523'
    """
    return mach_at_impact_pressure(
        impact_pressure(calibrated_airspeed_m_s), pressure_at_altitude(pressure_altitude_m)
    )


def true_airspeed(
    *, calibrated_airspeed_m_s: Floats, pressure_altitude_m: Floats, temperature_k: Floats
) -> Floats:
    """Return the true airspeed at a calibrated airspeed.

    Parameters
    ----------
    calibrated_airspeed_m_s
        Calibrated airspeed. [m/s] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.
    temperature_k
        Static temperature. [K] Broadcasts.

    Returns
    -------
    Floats
        True airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If the flow is not subsonic, a speed negative, an altitude outside
        −2 000 to 20 000 m, or a temperature outside 150 to 350 K.

    Notes
    -----
    Exact for a perfect gas.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.
    .. [2] E. Williams, Aviation Formulary V1.47, "Mach numbers, true vs calibrated airspeeds etc.".

    Examples
    --------
    >>> from flyoff.core.units import celsius, ft, kt
    >>> speed = true_airspeed(
    ...     calibrated_airspeed_m_s=250 * kt, pressure_altitude_m=10000 * ft, temperature_k=celsius(-6.72)
    ... )
    >>> f"{speed / kt:.1f}"
    '287.7'
    """
    mach = mach_number(
        calibrated_airspeed_m_s=calibrated_airspeed_m_s, pressure_altitude_m=pressure_altitude_m
    )
    return true_airspeed_at_mach(mach, temperature_k)


def calibrated_airspeed(
    *, true_airspeed_m_s: Floats, pressure_altitude_m: Floats, temperature_k: Floats
) -> Floats:
    """Return the calibrated airspeed at a true airspeed.

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed. [m/s] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.
    temperature_k
        Static temperature. [K] Broadcasts.

    Returns
    -------
    Floats
        Calibrated airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If the flow is not subsonic, a speed negative, an altitude outside
        −2 000 to 20 000 m, or a temperature outside 150 to 350 K.

    Notes
    -----
    Exact inverse of `true_airspeed`.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> f"{calibrated_airspeed(true_airspeed_m_s=80.0, pressure_altitude_m=3000.0, temperature_k=268.65):.2f}"
    '69.07'
    """
    mach = mach_at_true_airspeed(true_airspeed_m_s, temperature_k)
    qc_pa = impact_pressure_at_mach(mach, pressure_at_altitude(pressure_altitude_m))
    return calibrated_airspeed_at_impact_pressure(qc_pa)


def equivalent_airspeed(*, calibrated_airspeed_m_s: Floats, pressure_altitude_m: Floats) -> Floats:
    r"""Return the equivalent airspeed at a calibrated airspeed.

    .. math:: V_e = M a_0 \sqrt{p / p_0}

    Parameters
    ----------
    calibrated_airspeed_m_s
        Calibrated airspeed. [m/s] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.

    Returns
    -------
    Floats
        Equivalent airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If the flow is not subsonic, a speed negative, or an altitude outside −2 000 to 20 000 m.

    Notes
    -----
    Exact; the temperature has no part in it.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> from flyoff.core.units import ft, kt
    >>> f"{equivalent_airspeed(calibrated_airspeed_m_s=250 * kt, pressure_altitude_m=10000 * ft) / kt:.1f}"
    '248.1'
    """
    mach = mach_number(
        calibrated_airspeed_m_s=calibrated_airspeed_m_s, pressure_altitude_m=pressure_altitude_m
    )
    ratio = pressure_at_altitude(pressure_altitude_m) / SEA_LEVEL_PRESSURE_PA
    return floats(mach * SEA_LEVEL_SOUND_SPEED_M_S * np.sqrt(ratio))


def calibrated_airspeed_at_equivalent(
    *, equivalent_airspeed_m_s: Floats, pressure_altitude_m: Floats
) -> Floats:
    """Return the calibrated airspeed at an equivalent airspeed.

    Parameters
    ----------
    equivalent_airspeed_m_s
        Equivalent airspeed. [m/s] Any shape.
    pressure_altitude_m
        Geopotential pressure altitude. [m] Broadcasts.

    Returns
    -------
    Floats
        Calibrated airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If the flow is not subsonic, a speed negative, or an altitude outside −2 000 to 20 000 m.

    Notes
    -----
    Exact inverse of `equivalent_airspeed`.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> f"{calibrated_airspeed_at_equivalent(equivalent_airspeed_m_s=70.0, pressure_altitude_m=0.0):.2f}"
    '70.00'
    """
    _require_speed("equivalent_airspeed_m_s", equivalent_airspeed_m_s)
    pressure_pa = pressure_at_altitude(pressure_altitude_m)
    mach = floats(
        equivalent_airspeed_m_s / (SEA_LEVEL_SOUND_SPEED_M_S * np.sqrt(pressure_pa / SEA_LEVEL_PRESSURE_PA))
    )
    return calibrated_airspeed_at_impact_pressure(impact_pressure_at_mach(mach, pressure_pa))


def true_airspeed_at_equivalent(equivalent_airspeed_m_s: Floats, density_kg_m3: Floats) -> Floats:
    r"""Return the true airspeed at an equivalent airspeed.

    .. math:: V = V_e / \sqrt{\rho / \rho_0}

    Parameters
    ----------
    equivalent_airspeed_m_s
        Equivalent airspeed :math:`V_e`. [m/s] Any shape.
    density_kg_m3
        Density :math:`\rho`. [kg/m³] Broadcasts.

    Returns
    -------
    Floats
        True airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is negative or a density not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> f"{true_airspeed_at_equivalent(60.0, 1.225):.1f}"
    '60.0'
    """
    require("equivalent_airspeed_m_s", equivalent_airspeed_m_s, "m/s", at_least=0.0)
    require("density_kg_m3", density_kg_m3, "kg/m³", above=0.0)
    return floats(equivalent_airspeed_m_s / np.sqrt(density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3))


def equivalent_airspeed_at_true(true_airspeed_m_s: Floats, density_kg_m3: Floats) -> Floats:
    r"""Return the equivalent airspeed at a true airspeed.

    .. math:: V_e = V \sqrt{\rho / \rho_0}

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed :math:`V`. [m/s] Any shape.
    density_kg_m3
        Density :math:`\rho`. [kg/m³] Broadcasts.

    Returns
    -------
    Floats
        Equivalent airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is negative or a density not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> f"{equivalent_airspeed_at_true(60.0, 1.225):.1f}"
    '60.0'
    """
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", at_least=0.0)
    require("density_kg_m3", density_kg_m3, "kg/m³", above=0.0)
    return floats(true_airspeed_m_s * np.sqrt(density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3))


def _require_speed(name: str, speed_m_s: Floats) -> None:
    require(name, speed_m_s, "m/s", at_least=0.0, below=SEA_LEVEL_SOUND_SPEED_M_S)
