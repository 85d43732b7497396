"""Dry and moist air: density, speed of sound, viscosity, humidity."""

import numpy as np

from flyoff.core.constants import (
    AIR_GAS_CONSTANT_J_KG_K,
    AIR_MOLAR_MASS_KG_MOL,
    HEAT_CAPACITY_RATIO,
    SUTHERLAND_BETA_KG_M_S_K05,
    SUTHERLAND_TEMPERATURE_K,
    WATER_MOLAR_MASS_KG_MOL,
)
from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require

_COLDEST_K, _HOTTEST_K = 150.0, 350.0


def air_density(pressure_pa: Floats, temperature_k: Floats) -> Floats:
    r"""Return the density of dry air, or of moist air by its virtual temperature.

    .. math:: \rho = \frac{p}{R T}

    Parameters
    ----------
    pressure_pa
        Static pressure :math:`p`. [Pa] Any shape.
    temperature_k
        Static temperature :math:`T`, or `virtual_temperature`. [K] Broadcasts.

    Returns
    -------
    Floats
        Density. [kg/m³] The broadcast shape.

    Raises
    ------
    ValueError
        If a pressure is negative, or a temperature outside 150 to 350 K.

    Notes
    -----
    Perfect gas; good to 0.1 % where airplanes fly.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 42.

    Examples
    --------
    >>> f"{air_density(101325.0, 288.15):.4f}"
    '1.2250'
    """
    require("pressure_pa", pressure_pa, "Pa", at_least=0.0)
    require_temperature("temperature_k", temperature_k)
    return floats(pressure_pa / (AIR_GAS_CONSTANT_J_KG_K * temperature_k))


def sound_speed(temperature_k: Floats) -> Floats:
    r"""Return the speed of sound.

    .. math:: a = \sqrt{\gamma R T}

    Parameters
    ----------
    temperature_k
        Static temperature :math:`T`. [K] Any shape.

    Returns
    -------
    Floats
        Speed of sound. [m/s] The shape of the argument.

    Raises
    ------
    ValueError
        If a temperature is outside 150 to 350 K.

    Notes
    -----
    Dry air, perfect gas.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 50.

    Examples
    --------
    >>> f"{sound_speed(288.15):.3f}"
    '340.294'
    """
    require_temperature("temperature_k", temperature_k)
    return floats(np.sqrt(HEAT_CAPACITY_RATIO * AIR_GAS_CONSTANT_J_KG_K * temperature_k))


def dynamic_viscosity(temperature_k: Floats) -> Floats:
    r"""Return the dynamic viscosity of air.

    .. math:: \mu = \frac{\beta T^{3/2}}{T + S}

    Parameters
    ----------
    temperature_k
        Static temperature :math:`T`. [K] Any shape.

    Returns
    -------
    Floats
        Dynamic viscosity. [Pa s] The shape of the argument.

    Raises
    ------
    ValueError
        If a temperature is outside 150 to 350 K.

    Notes
    -----
    Sutherland's law.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 51.

    Examples
    --------
    >>> f"{dynamic_viscosity(288.15):.4e}"
    '1.7894e-05'
    """
    require_temperature("temperature_k", temperature_k)
    numerator = SUTHERLAND_BETA_KG_M_S_K05 * np.power(temperature_k, 1.5)
    return floats(numerator / (temperature_k + SUTHERLAND_TEMPERATURE_K))


def kinematic_viscosity(temperature_k: Floats, density_kg_m3: Floats) -> Floats:
    r"""Return the kinematic viscosity of air.

    .. math:: \nu = \mu / \rho

    Parameters
    ----------
    temperature_k
        Static temperature. [K] Any shape.
    density_kg_m3
        Density :math:`\rho`. [kg/m³] Broadcasts.

    Returns
    -------
    Floats
        Kinematic viscosity. [m²/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a temperature is outside 150 to 350 K, or a density not above 0.

    Notes
    -----
    Sutherland's law.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562, eq. 51 and 52.

    Examples
    --------
    >>> f"{kinematic_viscosity(288.15, 1.225):.4e}"
    '1.4607e-05'
    """
    require("density_kg_m3", density_kg_m3, "kg/m³", above=0.0)
    return floats(dynamic_viscosity(temperature_k) / density_kg_m3)


def saturation_vapour_pressure(temperature_k: Floats) -> Floats:
    r"""Return the pressure of water vapour saturated over water.

    .. math:: e_s = 6.11 \exp\frac{17.27\,t}{t + 237.3}\ \mathrm{hPa}, \quad t = T - 273.15

    Parameters
    ----------
    temperature_k
        Static temperature :math:`T`. [K] Any shape.

    Returns
    -------
    Floats
        Saturation vapour pressure. [Pa] The shape of the argument.

    Raises
    ------
    ValueError
        If a temperature is outside 223.15 to 333.15 K (−50 to 60 °C).

    Notes
    -----
    Tetens's formula, within 1 % of the tables from −20 to 50 °C (from memory).

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Standard Atmosphere and Altimetry", with its coefficients.

    Examples
    --------
    >>> f"{saturation_vapour_pressure(293.15):.0f}"
    '2339'
    """
    require("temperature_k", temperature_k, "K", at_least=223.15, at_most=333.15)
    t = temperature_k - 273.15
    return floats(611.0 * np.exp(17.27 * t / (t + 237.3)))


def virtual_temperature(
    temperature_k: Floats, pressure_pa: Floats, relative_humidity: Floats = 0.0
) -> Floats:
    r"""Return the temperature at which dry air has the density of moist air.

    .. math:: T_v = \frac{T}{1 - (1 - M_w / M_a)\,e / p}

    Parameters
    ----------
    temperature_k
        Static temperature :math:`T`. [K] Any shape.
    pressure_pa
        Static pressure :math:`p`. [Pa] Broadcasts.
    relative_humidity
        :math:`e / e_s`, 0 to 1. [-] Broadcasts.

    Returns
    -------
    Floats
        Virtual temperature. [K] The broadcast shape.

    Raises
    ------
    ValueError
        If a humidity is outside 0 to 1, a pressure not above 0, or, where the
        air is moist, a temperature outside −50 to 60 °C.

    Notes
    -----
    A mixture of perfect gases; the ratio of molar masses is 0.622.

    References
    ----------
    .. [1] J. M. Wallace and P. V. Hobbs, Atmospheric Science, 2nd ed., eq. 3.16 (from memory).

    Examples
    --------
    >>> f"{virtual_temperature(303.15, 101325.0, 1.0):.1f}"
    '308.0'
    """
    require("relative_humidity", relative_humidity, at_least=0.0, at_most=1.0)
    require("pressure_pa", pressure_pa, "Pa", above=0.0)
    require_temperature("temperature_k", temperature_k)
    if not np.any(relative_humidity):
        return floats(temperature_k + 0.0 * (pressure_pa + relative_humidity))
    vapour_pa = relative_humidity * saturation_vapour_pressure(temperature_k)
    lighter = 1 - WATER_MOLAR_MASS_KG_MOL / AIR_MOLAR_MASS_KG_MOL
    return floats(temperature_k / (1 - lighter * vapour_pa / pressure_pa))


def require_temperature(name: str, temperature_k: Floats) -> None:
    """Hold a temperature to 150 to 350 K.

    Raises
    ------
    ValueError
        If any is outside.
    """
    require(name, temperature_k, "K", at_least=_COLDEST_K, at_most=_HOTTEST_K)
