"""The standard atmosphere from −2 to 20 km, and real air described against it.

Altitude here is geopotential; pressure altitude is the altitude at which the
standard atmosphere has the pressure that is measured.
"""

import numpy as np

from flyoff.core.constants import (
    AIR_GAS_CONSTANT_J_KG_K,
    LOWER_STRATOSPHERE_TOP_M,
    LOWEST_ALTITUDE_M,
    SEA_LEVEL_DENSITY_KG_M3,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_TEMPERATURE_K,
    STANDARD_GRAVITY_M_S2,
    TROPOPAUSE_M,
    TROPOSPHERE_LAPSE_K_M,
)
from flyoff.core.typing import Floats
from flyoff.physics.air import air_density, require_temperature, virtual_temperature
from flyoff.physics.limits import floats, require

_PRESSURE_EXPONENT = STANDARD_GRAVITY_M_S2 / (AIR_GAS_CONSTANT_J_KG_K * TROPOSPHERE_LAPSE_K_M)
_TROPOPAUSE_TEMPERATURE_K = SEA_LEVEL_TEMPERATURE_K - TROPOSPHERE_LAPSE_K_M * TROPOPAUSE_M
_STRATOSPHERE_SCALE_M = AIR_GAS_CONSTANT_J_KG_K * _TROPOPAUSE_TEMPERATURE_K / STANDARD_GRAVITY_M_S2
_TROPOPAUSE_PRESSURE_PA = (
    SEA_LEVEL_PRESSURE_PA * (_TROPOPAUSE_TEMPERATURE_K / SEA_LEVEL_TEMPERATURE_K) ** _PRESSURE_EXPONENT
)
_TROPOPAUSE_DENSITY_KG_M3 = _TROPOPAUSE_PRESSURE_PA / (AIR_GAS_CONSTANT_J_KG_K * _TROPOPAUSE_TEMPERATURE_K)


def _require_altitude(name: str, altitude_m: Floats) -> None:
    require(name, altitude_m, "m", at_least=LOWEST_ALTITUDE_M, at_most=LOWER_STRATOSPHERE_TOP_M)


def temperature_at_altitude(pressure_altitude_m: Floats, temperature_deviation_k: Floats = 0.0) -> Floats:
    r"""Return the standard temperature, or one that deviates from it.

    .. math:: T = T_0 - L \min(H, H_{11}) + \Delta T

    Parameters
    ----------
    pressure_altitude_m
        Geopotential pressure altitude :math:`H`. [m] Any shape.
    temperature_deviation_k
        Deviation :math:`\Delta T` from the standard temperature. [K] Broadcasts.

    Returns
    -------
    Floats
        Static temperature. [K] The broadcast shape.

    Raises
    ------
    ValueError
        If an altitude is outside −2 000 to 20 000 m.

    Notes
    -----
    Exact for the standard atmosphere.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 23 and Table 4.

    Examples
    --------
    >>> f"{temperature_at_altitude(5000.0):.2f}"
    '255.65'
    """
    _require_altitude("pressure_altitude_m", pressure_altitude_m)
    troposphere_m = np.minimum(pressure_altitude_m, TROPOPAUSE_M)
    return floats(SEA_LEVEL_TEMPERATURE_K - TROPOSPHERE_LAPSE_K_M * troposphere_m + temperature_deviation_k)


def pressure_at_altitude(pressure_altitude_m: Floats) -> Floats:
    r"""Return the static pressure of the standard atmosphere.

    .. math::
        p = p_0 \left(1 - \frac{L H}{T_0}\right)^{g_0 / (R L)} (H \le H_{11}), \quad
        p = p_{11} \exp\left(-\frac{g_0 (H - H_{11})}{R T_{11}}\right) (H > H_{11})

    Parameters
    ----------
    pressure_altitude_m
        Geopotential pressure altitude :math:`H`. [m] Any shape.

    Returns
    -------
    Floats
        Static pressure :math:`p`. [Pa] The shape of the argument.

    Raises
    ------
    ValueError
        If an altitude is outside −2 000 to 20 000 m.

    Notes
    -----
    Exact for the standard atmosphere. In a real one the same formula defines
    pressure altitude; it says nothing about height above the ground.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 33a and 33b.

    Examples
    --------
    >>> f"{pressure_at_altitude(0.0):.1f}"
    '101325.0'
    """
    _require_altitude("pressure_altitude_m", pressure_altitude_m)
    troposphere_m = np.minimum(pressure_altitude_m, TROPOPAUSE_M)
    above_m = np.maximum(pressure_altitude_m, TROPOPAUSE_M) - TROPOPAUSE_M
    base_pa = (  # eq. 33a
        SEA_LEVEL_PRESSURE_PA
        * (1 - TROPOSPHERE_LAPSE_K_M * troposphere_m / SEA_LEVEL_TEMPERATURE_K) ** _PRESSURE_EXPONENT
    )
    return floats(base_pa * np.exp(-above_m / _STRATOSPHERE_SCALE_M))  # eq. 33b


_LOWEST_PRESSURE_PA = float(pressure_at_altitude(LOWER_STRATOSPHERE_TOP_M))
_HIGHEST_PRESSURE_PA = float(pressure_at_altitude(LOWEST_ALTITUDE_M))


def altitude_at_pressure(pressure_pa: Floats) -> Floats:
    r"""Return the pressure altitude of a static pressure.

    .. math::
        H = \frac{T_0}{L}\left[1 - \left(\frac{p}{p_0}\right)^{R L / g_0}\right] (p \ge p_{11}), \quad
        H = H_{11} - \frac{R T_{11}}{g_0} \ln\frac{p}{p_{11}} (p < p_{11})

    Parameters
    ----------
    pressure_pa
        Static pressure :math:`p`. [Pa] Any shape.

    Returns
    -------
    Floats
        Geopotential pressure altitude :math:`H`. [m] The shape of the argument.

    Raises
    ------
    ValueError
        If a pressure is outside that of −2 000 to 20 000 m.

    Notes
    -----
    Exact inverse of `pressure_at_altitude`.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 33a and 33b solved for the altitude.

    Examples
    --------
    >>> f"{altitude_at_pressure(89874.6):.1f}"
    '1000.0'
    """
    slack = 1e-12  # an altitude at the very limit must come back
    require(
        "pressure_pa",
        pressure_pa,
        "Pa",
        at_least=_LOWEST_PRESSURE_PA * (1 - slack),
        at_most=_HIGHEST_PRESSURE_PA * (1 + slack),
    )
    troposphere_pa = np.maximum(pressure_pa, _TROPOPAUSE_PRESSURE_PA)
    stratosphere_pa = np.minimum(pressure_pa, _TROPOPAUSE_PRESSURE_PA)
    low_m = (SEA_LEVEL_TEMPERATURE_K / TROPOSPHERE_LAPSE_K_M) * (
        1 - (troposphere_pa / SEA_LEVEL_PRESSURE_PA) ** (1 / _PRESSURE_EXPONENT)
    )
    altitude_m = low_m - _STRATOSPHERE_SCALE_M * np.log(stratosphere_pa / _TROPOPAUSE_PRESSURE_PA)
    return floats(np.clip(altitude_m, LOWEST_ALTITUDE_M, LOWER_STRATOSPHERE_TOP_M))


def density_at_altitude(pressure_altitude_m: Floats, temperature_deviation_k: Floats = 0.0) -> Floats:
    """Return the density of dry air at a pressure altitude.

    Parameters
    ----------
    pressure_altitude_m
        Geopotential pressure altitude. [m] Any shape.
    temperature_deviation_k
        Deviation from the standard temperature. [K] Broadcasts.

    Returns
    -------
    Floats
        Density. [kg/m³] The broadcast shape.

    Raises
    ------
    ValueError
        If an altitude is outside −2 000 to 20 000 m, or the temperature outside 150 to 350 K.

    Notes
    -----
    Exact for the standard atmosphere.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 23, 33a, 33b and 42.

    Examples
    --------
    >>> f"{density_at_altitude(3048.0):.4f}"
    '0.9046'
    """
    temperature_k = temperature_at_altitude(pressure_altitude_m, temperature_deviation_k)
    return air_density(pressure_at_altitude(pressure_altitude_m), temperature_k)


def density_ratio(pressure_altitude_m: Floats, temperature_k: Floats) -> Floats:
    r"""Return the ratio of the air's density to that of the standard sea level.

    .. math:: \sigma = \rho / \rho_0

    Parameters
    ----------
    pressure_altitude_m
        Geopotential pressure altitude. [m] Any shape.
    temperature_k
        Static temperature. [K] Broadcasts.

    Returns
    -------
    Floats
        Density ratio. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If an altitude is outside −2 000 to 20 000 m, or a temperature outside 150 to 350 K.

    Notes
    -----
    Dry air, perfect gas.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 33a, 33b and 42.

    Examples
    --------
    >>> f"{density_ratio(0.0, 288.15):.3f}"
    '1.000'
    """
    return air_density(pressure_at_altitude(pressure_altitude_m), temperature_k) / SEA_LEVEL_DENSITY_KG_M3


def temperature_deviation(pressure_altitude_m: Floats, temperature_k: Floats) -> Floats:
    """Return how much warmer the air is than the standard at its pressure altitude.

    Parameters
    ----------
    pressure_altitude_m
        Geopotential pressure altitude. [m] Any shape.
    temperature_k
        Static temperature. [K] Broadcasts.

    Returns
    -------
    Floats
        Deviation, positive where warmer. [K] The broadcast shape.

    Raises
    ------
    ValueError
        If an altitude is outside −2 000 to 20 000 m, or a temperature outside 150 to 350 K.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 23.

    Examples
    --------
    >>> f"{temperature_deviation(0.0, 298.15):.1f}"
    '10.0'
    """
    require_temperature("temperature_k", temperature_k)
    return floats(temperature_k - temperature_at_altitude(pressure_altitude_m))


def altitude_at_density(density_kg_m3: Floats) -> Floats:
    r"""Return the altitude at which the standard atmosphere has a density.

    .. math::
        H = \frac{T_0}{L}\left[1 - \left(\frac{\rho}{\rho_0}\right)^{1/(g_0/(R L) - 1)}\right]

    and the exponential law above 11 000 m.

    Parameters
    ----------
    density_kg_m3
        Density. [kg/m³] Any shape.

    Returns
    -------
    Floats
        Geopotential density altitude. [m] The shape of the argument.

    Raises
    ------
    ValueError
        If a density is not above 0, or an altitude would be outside −6 000 to 20 000 m.

    Notes
    -----
    Exact. Cold air at low level may lie below the altitudes at which the rest
    of the module works; the tropospheric law is carried on to −6 000 m.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 33a, 33b and 42 solved for the altitude.

    Examples
    --------
    >>> f"{altitude_at_density(0.904637):.0f}"
    '3048'
    """
    require("density_kg_m3", density_kg_m3, "kg/m³", above=0.0)
    troposphere = np.maximum(density_kg_m3, _TROPOPAUSE_DENSITY_KG_M3) / SEA_LEVEL_DENSITY_KG_M3
    stratosphere = np.minimum(density_kg_m3, _TROPOPAUSE_DENSITY_KG_M3) / _TROPOPAUSE_DENSITY_KG_M3
    low_m = (SEA_LEVEL_TEMPERATURE_K / TROPOSPHERE_LAPSE_K_M) * (
        1 - troposphere ** (1 / (_PRESSURE_EXPONENT - 1))
    )
    altitude_m = floats(low_m - _STRATOSPHERE_SCALE_M * np.log(stratosphere))
    require("density altitude", altitude_m, "m", at_least=-6000.0, at_most=LOWER_STRATOSPHERE_TOP_M + 1e-6)
    return altitude_m


def density_altitude(
    pressure_altitude_m: Floats, temperature_k: Floats, relative_humidity: Floats = 0.0
) -> Floats:
    """Return the altitude of the standard atmosphere that has the air's density.

    Parameters
    ----------
    pressure_altitude_m
        Geopotential pressure altitude. [m] Any shape.
    temperature_k
        Static temperature. [K] Broadcasts.
    relative_humidity
        Vapour pressure over its saturation value, 0 to 1. [-] Broadcasts.

    Returns
    -------
    Floats
        Geopotential density altitude. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument or the result is outside the range of the functions it rests on.

    Notes
    -----
    Exact for dry air; moist air by its virtual temperature. Humidity takes
    more from an engine's power than its density alone says.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 33a, 33b and 42.
    .. [2] E. Williams, Aviation Formulary V1.47, "Standard Atmosphere and Altimetry".

    Examples
    --------
    >>> f"{density_altitude(8000 * 0.3048, 291.15) / 0.3048:.0f}"
    '10145'
    """
    pressure_pa = pressure_at_altitude(pressure_altitude_m)
    moist_k = virtual_temperature(temperature_k, pressure_pa, relative_humidity)
    return altitude_at_density(air_density(pressure_pa, moist_k))
