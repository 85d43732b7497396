"""Mach number, impact pressure and the warming of a probe, in subsonic flow."""

import numpy as np

from flyoff.core.constants import HEAT_CAPACITY_RATIO
from flyoff.core.typing import Floats
from flyoff.physics.air import sound_speed
from flyoff.physics.limits import floats, require

_HALF_EXCESS = (HEAT_CAPACITY_RATIO - 1) / 2  # 0.2
_EXPONENT = HEAT_CAPACITY_RATIO / (HEAT_CAPACITY_RATIO - 1)  # 3.5


def impact_pressure_at_mach(mach: Floats, pressure_pa: Floats) -> Floats:
    r"""Return the impact pressure (total less static) at a Mach number.

    .. math:: q_c = p\left[(1 + 0.2 M^2)^{3.5} - 1\right]

    Parameters
    ----------
    mach
        Mach number :math:`M`, 0 to below 1. [-] Any shape.
    pressure_pa
        Static pressure :math:`p`. [Pa] Broadcasts.

    Returns
    -------
    Floats
        Impact pressure. [Pa] The broadcast shape.

    Raises
    ------
    ValueError
        If a Mach number is outside 0 to below 1, or a pressure not above 0.

    Notes
    -----
    Exact for a perfect gas without shocks; computed without loss of digits at
    low speed.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.
    .. [2] NASA RP-1046, Measurement of Aircraft Speed and Altitude (from memory).

    Examples
    --------
    >>> f"{impact_pressure_at_mach(0.3, 101325.0):.0f}"
    '6528'
    """
    require("mach", mach, at_least=0.0, below=1.0)
    require("pressure_pa", pressure_pa, "Pa", above=0.0)
    return floats(pressure_pa * np.expm1(_EXPONENT * np.log1p(_HALF_EXCESS * np.square(mach))))


def mach_at_impact_pressure(impact_pressure_pa: Floats, pressure_pa: Floats) -> Floats:
    r"""Return the Mach number at an impact pressure.

    .. math:: M = \sqrt{5\left[(q_c / p + 1)^{2/7} - 1\right]}

    Parameters
    ----------
    impact_pressure_pa
        Impact pressure :math:`q_c`. [Pa] Any shape.
    pressure_pa
        Static pressure :math:`p`. [Pa] Broadcasts.

    Returns
    -------
    Floats
        Mach number. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If an impact pressure is negative, a static pressure not above 0, or
        the flow not subsonic.

    Notes
    -----
    Exact inverse of `impact_pressure_at_mach`.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> f"{mach_at_impact_pressure(6529.0, 101325.0):.4f}"
    '0.3000'
    """
    require("impact_pressure_pa", impact_pressure_pa, "Pa", at_least=0.0)
    require("pressure_pa", pressure_pa, "Pa", above=0.0)
    mach = floats(np.sqrt(np.expm1(np.log1p(impact_pressure_pa / pressure_pa) / _EXPONENT) / _HALF_EXCESS))
    require("mach", mach, below=1.0)
    return mach


def true_airspeed_at_mach(mach: Floats, temperature_k: Floats) -> Floats:
    r"""Return the true airspeed at a Mach number.

    .. math:: V = M \sqrt{\gamma R T}

    Parameters
    ----------
    mach
        Mach number :math:`M`, 0 to below 1. [-] Any shape.
    temperature_k
        Static temperature :math:`T`. [K] Broadcasts.

    Returns
    -------
    Floats
        True airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a Mach number is outside 0 to below 1, or a temperature outside 150 to 350 K.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 50.

    Examples
    --------
    >>> f"{true_airspeed_at_mach(0.5, 288.15):.2f}"
    '170.15'
    """
    require("mach", mach, at_least=0.0, below=1.0)
    return floats(mach * sound_speed(temperature_k))


def mach_at_true_airspeed(true_airspeed_m_s: Floats, temperature_k: Floats) -> Floats:
    """Return the Mach number at a true airspeed.

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed. [m/s] Any shape.
    temperature_k
        Static temperature. [K] Broadcasts.

    Returns
    -------
    Floats
        Mach number. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is negative or a temperature outside 150 to 350 K.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 50.

    Examples
    --------
    >>> f"{mach_at_true_airspeed(170.147, 288.15):.3f}"
    '0.500'
    """
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", at_least=0.0)
    return floats(true_airspeed_m_s / sound_speed(temperature_k))


def static_temperature(probe_temperature_k: Floats, mach: Floats, recovery_factor: Floats) -> Floats:
    r"""Return the air's temperature from that of a probe warmed by the flow.

    .. math:: T = \frac{T_p}{1 + 0.2 K M^2}

    Parameters
    ----------
    probe_temperature_k
        Temperature :math:`T_p` of the probe. [K] Any shape.
    mach
        Mach number :math:`M`. [-] Broadcasts.
    recovery_factor
        Recovery factor :math:`K` of the probe, 0 to 1. [-] Broadcasts.

    Returns
    -------
    Floats
        Static temperature. [K] The broadcast shape.

    Raises
    ------
    ValueError
        If a recovery factor is outside 0 to 1, a Mach number outside 0 to
        below 1, or a temperature not above 0.

    Notes
    -----
    :math:`K` is usually 0.95 to 1 and can be 0.7 on a light airplane [2]_.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.
    .. [2] E. Williams, Aviation Formulary V1.47, "Mach numbers, true vs calibrated airspeeds etc.".

    Examples
    --------
    >>> f"{static_temperature(275.15, 0.4523, 0.8) - 273.15:.2f}"
    '-6.72'
    """
    require("probe_temperature_k", probe_temperature_k, "K", above=0.0)
    return floats(probe_temperature_k / _recovery_ratio(mach, recovery_factor))


def probe_temperature(temperature_k: Floats, mach: Floats, recovery_factor: Floats) -> Floats:
    """Return the temperature that a probe takes in moving air.

    Parameters
    ----------
    temperature_k
        Static temperature. [K] Any shape.
    mach
        Mach number. [-] Broadcasts.
    recovery_factor
        Recovery factor of the probe, 0 to 1. [-] Broadcasts.

    Returns
    -------
    Floats
        Probe temperature. [K] The broadcast shape.

    Raises
    ------
    ValueError
        If a recovery factor is outside 0 to 1, a Mach number outside 0 to
        below 1, or a temperature not above 0.

    Notes
    -----
    Exact inverse of `static_temperature`.

    References
    ----------
    .. [1] SFTE Reference Handbook (2013), ch. 4.

    Examples
    --------
    >>> f"{probe_temperature(280.0, 0.0, 1.0):.1f}"
    '280.0'
    """
    require("temperature_k", temperature_k, "K", above=0.0)
    return floats(temperature_k * _recovery_ratio(mach, recovery_factor))


def _recovery_ratio(mach: Floats, recovery_factor: Floats) -> Floats:
    require("mach", mach, at_least=0.0, below=1.0)
    require("recovery_factor", recovery_factor, at_least=0.0, at_most=1.0)
    return floats(1 + _HALF_EXCESS * recovery_factor * np.square(mach))
