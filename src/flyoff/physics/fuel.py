"""Fuel flow, specific consumption and the power they stand for."""

import numpy as np

from flyoff.core.constants import HEAT_CAPACITY_RATIO
from flyoff.core.typing import Floats
from flyoff.core.units import hour, hp, us_gal
from flyoff.physics.limits import floats, require

LEAN_OF_PEAK_SLOPE_J_M3, LEAN_OF_PEAK_INTERCEPT_J_M3 = (
    1.1604 * hp * hour / us_gal,
    5.030 * hp * hour / us_gal,
)
"""[J/m³] Work per volume of fuel: per unit of compression ratio, and at none.

Owners' forum pages quoting 2004 test data, second-hand.
"""


def fuel_flow(power_w: Floats, specific_consumption_kg_j: Floats) -> Floats:
    """Return the fuel flow at a power.

    Parameters
    ----------
    power_w
        Shaft power. [W] Any shape.
    specific_consumption_kg_j
        Specific fuel consumption. [kg/J] Broadcasts.

    Returns
    -------
    Floats
        Fuel flow. [kg/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is negative.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.2, fuel flow
       model.

    Examples
    --------
    >>> f"{fuel_flow(1e5, 7e-8):.4f}"
    '0.0070'
    """
    require("power_w", power_w, "W", at_least=0.0)
    require("specific_consumption_kg_j", specific_consumption_kg_j, "kg/J", at_least=0.0)
    return floats(power_w * specific_consumption_kg_j)


def specific_consumption(power_w: Floats, fuel_flow_kg_s: Floats) -> Floats:
    """Return the specific fuel consumption.

    Parameters
    ----------
    power_w
        Shaft power. [W] Any shape.
    fuel_flow_kg_s
        Fuel flow. [kg/s] Broadcasts.

    Returns
    -------
    Floats
        Specific fuel consumption. [kg/J] The broadcast shape.

    Raises
    ------
    ValueError
        If a power is not above 0 or a fuel flow negative.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.2, fuel flow
       model.

    Examples
    --------
    >>> f"{specific_consumption(1e5, 0.007):.1e}"
    '7.0e-08'
    """
    require("power_w", power_w, "W", above=0.0)
    require("fuel_flow_kg_s", fuel_flow_kg_s, "kg/s", at_least=0.0)
    return floats(fuel_flow_kg_s / power_w)


def power_at_fuel_flow(fuel_flow_kg_s: Floats, specific_consumption_kg_j: Floats) -> Floats:
    """Return the power that a fuel flow gives at a specific consumption.

    Parameters
    ----------
    fuel_flow_kg_s
        Fuel flow. [kg/s] Any shape.
    specific_consumption_kg_j
        Specific fuel consumption. [kg/J] Broadcasts.

    Returns
    -------
    Floats
        Shaft power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If a flow is negative or a consumption not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 10.2, fuel flow
       model.

    Examples
    --------
    >>> f"{power_at_fuel_flow(0.007, 7e-8):.0f}"
    '100000'
    """
    require("fuel_flow_kg_s", fuel_flow_kg_s, "kg/s", at_least=0.0)
    require("specific_consumption_kg_j", specific_consumption_kg_j, "kg/J", above=0.0)
    return floats(fuel_flow_kg_s / specific_consumption_kg_j)


def lean_of_peak_power(fuel_flow_m3_s: Floats, compression_ratio: Floats) -> Floats:
    r"""Return the power lean of peak, where the fuel flow alone sets it.

    .. math:: P = \dot V (1.1604\,r + 5.030)\ \mathrm{hp\,h/US\,gal}

    Parameters
    ----------
    fuel_flow_m3_s
        Volume flow of aviation gasoline. [m³/s] Any shape.
    compression_ratio
        Compression ratio r, 7.3 to 8.5 as tested; 6.5 to 10 accepted. [-] Broadcasts.

    Returns
    -------
    Floats
        Shaft power. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If a flow is negative or a compression ratio outside 6.5 to 10.

    Notes
    -----
    One test series on spark-ignition engines; the slope with compression ratio is steeper than
    the ideal Otto cycle gives. Not valid at or rich of peak.

    References
    ----------
    .. [1] Owners' forum pages quoting 2004 test data, second-hand: 14.9 hp per US gal/h at 8.5,
       13.7 at 7.5.

    Examples
    --------
    >>> f"{lean_of_peak_power(10 * us_gal / hour, 8.5) / hp:.1f}"
    '148.9'
    """
    require("fuel_flow_m3_s", fuel_flow_m3_s, "m³/s", at_least=0.0)
    require("compression_ratio", compression_ratio, at_least=6.5, at_most=10.0)
    return floats(
        fuel_flow_m3_s * (LEAN_OF_PEAK_SLOPE_J_M3 * compression_ratio + LEAN_OF_PEAK_INTERCEPT_J_M3)
    )


def otto_efficiency(compression_ratio: Floats) -> Floats:
    r"""Return the thermal efficiency of the ideal Otto cycle.

    .. math:: 1 - r^{1 - \gamma}

    Parameters
    ----------
    compression_ratio
        Compression ratio r, above 1. [-] Any shape.

    Returns
    -------
    Floats
        Efficiency. [-] The shape of the argument.

    Raises
    ------
    ValueError
        If a compression ratio is not above 1.

    Notes
    -----
    An upper bound; air with a heat capacity ratio of 1.4.

    References
    ----------
    .. [1] J. B. Heywood, Internal Combustion Engine Fundamentals, eq. 5.31 (from memory).

    Examples
    --------
    >>> f"{otto_efficiency(8.5):.3f}"
    '0.575'
    """
    require("compression_ratio", compression_ratio, above=1.0)
    return floats(1 - np.power(compression_ratio, 1 - HEAT_CAPACITY_RATIO))
