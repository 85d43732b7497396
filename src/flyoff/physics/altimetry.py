"""Altimeters and heights: setting, pressure altitude, geometric and geopotential altitude."""

from flyoff.core.constants import (
    EARTH_RADIUS_M,
)
from flyoff.core.typing import Floats
from flyoff.physics.atmosphere import altitude_at_pressure, pressure_at_altitude
from flyoff.physics.limits import floats, require


def pressure_altitude(altitude_m: Floats, altimeter_setting_pa: Floats) -> Floats:
    r"""Return the pressure altitude of an altimeter's reading at its setting.

    .. math:: H_p = H + \frac{T_0}{L}\left[1 - (p_s / p_0)^{R L / g_0}\right]

    Parameters
    ----------
    altitude_m
        Altitude read, or elevation where the setting is the local one. [m] Any shape.
    altimeter_setting_pa
        Setting :math:`p_s`. [Pa] Broadcasts.

    Returns
    -------
    Floats
        Pressure altitude. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a setting is outside 87 000 to 108 400 Pa, beyond the records at sea level.

    Notes
    -----
    Exact: an altimeter's scale and its setting scale follow one law.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Standard Atmosphere and Altimetry".
    .. [2] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 33a.

    Examples
    --------
    >>> f"{pressure_altitude(5883 * 0.3048, 30.10 * 3386.389) / 0.3048:.0f}"
    '5718'
    """
    return floats(altitude_m + _setting_altitude(altimeter_setting_pa))


def indicated_altitude(pressure_altitude_m: Floats, altimeter_setting_pa: Floats) -> Floats:
    """Return what an altimeter without error reads at a setting.

    Parameters
    ----------
    pressure_altitude_m
        Pressure altitude. [m] Any shape.
    altimeter_setting_pa
        Setting. [Pa] Broadcasts.

    Returns
    -------
    Floats
        Altitude read. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a setting is outside 87 000 to 108 400 Pa.

    Notes
    -----
    Exact inverse of `pressure_altitude`.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Standard Atmosphere and Altimetry".

    Examples
    --------
    >>> f"{indicated_altitude(1000.0, 101325.0):.0f}"
    '1000'
    """
    return floats(pressure_altitude_m - _setting_altitude(altimeter_setting_pa))


def altimeter_setting(altitude_m: Floats, pressure_altitude_m: Floats) -> Floats:
    """Return the setting at which an altimeter reads a known altitude.

    Parameters
    ----------
    altitude_m
        Known altitude. [m] Any shape.
    pressure_altitude_m
        Pressure altitude there. [m] Broadcasts.

    Returns
    -------
    Floats
        Altimeter setting. [Pa] The broadcast shape.

    Raises
    ------
    ValueError
        If the altitudes differ by more than the standard atmosphere holds.

    Notes
    -----
    Exact inverse of `pressure_altitude`.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Standard Atmosphere and Altimetry".

    Examples
    --------
    >>> f"{altimeter_setting(0.0, 0.0):.0f}"
    '101325'
    """
    return pressure_at_altitude(floats(pressure_altitude_m - altitude_m))


def _setting_altitude(altimeter_setting_pa: Floats) -> Floats:
    require("altimeter_setting_pa", altimeter_setting_pa, "Pa", at_least=87000.0, at_most=108400.0)
    return altitude_at_pressure(altimeter_setting_pa)


def geopotential_altitude(geometric_altitude_m: Floats) -> Floats:
    r"""Return the geopotential altitude of a geometric one.

    .. math:: H = \frac{r_0 Z}{r_0 + Z}

    Parameters
    ----------
    geometric_altitude_m
        Height :math:`Z` above mean sea level. [m] Any shape.

    Returns
    -------
    Floats
        Geopotential altitude :math:`H`. [m] The shape of the argument.

    Raises
    ------
    ValueError
        If an altitude is outside −10 000 to 100 000 m.

    Notes
    -----
    Gravity of latitude 45°; elsewhere it differs by up to 0.27 %.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 18.

    Examples
    --------
    >>> f"{geopotential_altitude(10000.0):.1f}"
    '9984.3'
    """
    require("geometric_altitude_m", geometric_altitude_m, "m", at_least=-1e4, at_most=1e5)
    return floats(EARTH_RADIUS_M * geometric_altitude_m / (EARTH_RADIUS_M + geometric_altitude_m))


def geometric_altitude(geopotential_altitude_m: Floats) -> Floats:
    r"""Return the geometric altitude of a geopotential one.

    .. math:: Z = \frac{r_0 H}{r_0 - H}

    Parameters
    ----------
    geopotential_altitude_m
        Geopotential altitude :math:`H`. [m] Any shape.

    Returns
    -------
    Floats
        Height :math:`Z` above mean sea level. [m] The shape of the argument.

    Raises
    ------
    ValueError
        If an altitude is outside −10 100 to 98 500 m.

    Notes
    -----
    Exact inverse of `geopotential_altitude`.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 19.

    Examples
    --------
    >>> f"{geometric_altitude(9984.3):.0f}"
    '10000'
    """
    require("geopotential_altitude_m", geopotential_altitude_m, "m", at_least=-10100.0, at_most=98500.0)
    return floats(EARTH_RADIUS_M * geopotential_altitude_m / (EARTH_RADIUS_M - geopotential_altitude_m))
