"""Propellers: coefficients, efficiency and thrust."""

import numpy as np

from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require, require_positive


def advance_ratio(true_airspeed_m_s: Floats, rotation_speed_hz: Floats, diameter_m: Floats) -> Floats:
    r"""Return the advance ratio.

    .. math:: J = \frac{V}{n D}

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    rotation_speed_hz
        Rotation speed n. [Hz] Broadcasts.
    diameter_m
        Propeller diameter D. [m] Broadcasts.

    Returns
    -------
    Floats
        Advance ratio J. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a rotation speed or diameter is not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.2.

    Examples
    --------
    >>> f"{advance_ratio(60.0, 40.0, 1.9):.3f}"
    '0.789'
    """
    require_positive(rotation_speed_hz=rotation_speed_hz, diameter_m=diameter_m)
    return floats(true_airspeed_m_s / (rotation_speed_hz * diameter_m))


def power_coefficient(
    power_w: Floats, density_kg_m3: Floats, rotation_speed_hz: Floats, diameter_m: Floats
) -> Floats:
    r"""Return the power coefficient.

    .. math:: C_P = \frac{P}{\rho n^3 D^5}

    Parameters
    ----------
    power_w
        Shaft power P. [W] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    rotation_speed_hz
        Rotation speed n. [Hz] Broadcasts.
    diameter_m
        Propeller diameter D. [m] Broadcasts.

    Returns
    -------
    Floats
        Power coefficient. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a density, rotation speed or diameter is not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.3.

    Examples
    --------
    >>> f"{power_coefficient(1e5, 1.225, 40.0, 1.9):.4f}"
    '0.0515'
    """
    require_positive(density_kg_m3=density_kg_m3, rotation_speed_hz=rotation_speed_hz, diameter_m=diameter_m)
    return floats(power_w / (density_kg_m3 * np.power(rotation_speed_hz, 3.0) * np.power(diameter_m, 5.0)))


def thrust_coefficient(
    thrust_n: Floats, density_kg_m3: Floats, rotation_speed_hz: Floats, diameter_m: Floats
) -> Floats:
    r"""Return the thrust coefficient.

    .. math:: C_T = \frac{T}{\rho n^2 D^4}

    Parameters
    ----------
    thrust_n
        Thrust T. [N] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    rotation_speed_hz
        Rotation speed n. [Hz] Broadcasts.
    diameter_m
        Propeller diameter D. [m] Broadcasts.

    Returns
    -------
    Floats
        Thrust coefficient. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a density, rotation speed or diameter is not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.3.

    Examples
    --------
    >>> f"{thrust_coefficient(1500.0, 1.225, 40.0, 1.9):.4f}"
    '0.0587'
    """
    require_positive(density_kg_m3=density_kg_m3, rotation_speed_hz=rotation_speed_hz, diameter_m=diameter_m)
    return floats(thrust_n / (density_kg_m3 * np.square(rotation_speed_hz) * np.power(diameter_m, 4.0)))


def efficiency(advance_ratio: Floats, thrust_coefficient: Floats, power_coefficient: Floats) -> Floats:
    r"""Return the propeller efficiency from its coefficients.

    .. math:: \eta = J C_T / C_P

    Parameters
    ----------
    advance_ratio
        Advance ratio J. [-] Any shape.
    thrust_coefficient
        Thrust coefficient. [-] Broadcasts.
    power_coefficient
        Power coefficient, above 0. [-] Broadcasts.

    Returns
    -------
    Floats
        Efficiency. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a power coefficient is not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.6.

    Examples
    --------
    >>> f"{efficiency(0.7, 0.0704, 0.0622):.3f}"
    '0.792'
    """
    require_positive(power_coefficient=power_coefficient)
    return floats(advance_ratio * thrust_coefficient / power_coefficient)


def thrust(power_w: Floats, efficiency: Floats, true_airspeed_m_s: Floats) -> Floats:
    r"""Return the thrust in flight.

    .. math:: T = \eta P / V

    Parameters
    ----------
    power_w
        Shaft power P. [W] Any shape.
    efficiency
        Propeller efficiency η. [-] Broadcasts.
    true_airspeed_m_s
        True airspeed V, above 0. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Thrust. [N] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is not above 0.

    Notes
    -----
    Exact by definition; at rest see `static_thrust`.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.4.

    Examples
    --------
    >>> f"{thrust(1e5, 0.8, 60.0):.0f}"
    '1333'
    """
    require_positive(true_airspeed_m_s=true_airspeed_m_s)
    return floats(efficiency * power_w / true_airspeed_m_s)


def static_thrust(
    power_w: Floats, rotation_speed_hz: Floats, diameter_m: Floats, thrust_to_power_coefficient: Floats
) -> Floats:
    r"""Return the thrust at rest.

    .. math:: T = \frac{C_T}{C_P} \frac{P}{n D}

    Parameters
    ----------
    power_w
        Shaft power P. [W] Any shape.
    rotation_speed_hz
        Rotation speed n. [Hz] Broadcasts.
    diameter_m
        Propeller diameter D. [m] Broadcasts.
    thrust_to_power_coefficient
        Static Ct/Cp of the propeller. [-] Broadcasts.

    Returns
    -------
    Floats
        Thrust. [N] The broadcast shape.

    Raises
    ------
    ValueError
        If a rotation speed or diameter is not above 0.

    Notes
    -----
    Exact, given the static coefficients.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.6.

    Examples
    --------
    >>> f"{static_thrust(1e5, 40.0, 1.9, 2.0):.0f}"
    '2632'
    """
    require_positive(rotation_speed_hz=rotation_speed_hz, diameter_m=diameter_m)
    return floats(thrust_to_power_coefficient * power_w / (rotation_speed_hz * diameter_m))


def ideal_static_thrust(power_w: Floats, density_kg_m3: Floats, diameter_m: Floats) -> Floats:
    r"""Return the thrust at rest of an actuator disc.

    .. math:: T = (2 \rho A P^2)^{1/3}

    Parameters
    ----------
    power_w
        Shaft power P. [W] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    diameter_m
        Propeller diameter D. [m] Broadcasts.

    Returns
    -------
    Floats
        Thrust, an upper bound. [N] The broadcast shape.

    Raises
    ------
    ValueError
        If a power is negative or another argument not above 0.

    Notes
    -----
    Momentum theory without losses.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.5; H. Glauert, The
       Elements of Aerofoil and Airscrew Theory (from memory).

    Examples
    --------
    >>> f"{ideal_static_thrust(1e5, 1.225, 1.9):.0f}"
    '4111'
    """
    require("power_w", power_w, "W", at_least=0.0)
    require_positive(density_kg_m3=density_kg_m3, diameter_m=diameter_m)
    return floats(np.cbrt(2 * density_kg_m3 * _disc_area(diameter_m) * np.square(power_w)))


def ideal_efficiency(
    power_w: Floats, density_kg_m3: Floats, true_airspeed_m_s: Floats, diameter_m: Floats
) -> Floats:
    r"""Return the efficiency of an actuator disc that absorbs a power.

    .. math::

        1 - \eta = k \eta^3, \\
        k = \frac{P}{2 \rho A V^3}, \\
        \eta = \frac{2}{\sqrt{3 k}} \sinh\left(\frac{1}{3} \sinh^{-1} \frac{3 \sqrt{3 k}}{2}\right)

    Parameters
    ----------
    power_w
        Shaft power P. [W] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    true_airspeed_m_s
        True airspeed V. [m/s] Broadcasts.
    diameter_m
        Propeller diameter D. [m] Broadcasts.

    Returns
    -------
    Floats
        Ideal efficiency, 0 at rest, 1 without power. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a power or speed is negative or another argument not above 0.

    Notes
    -----
    The real root of the cubic in closed form. No propeller does better; good ones reach 85 to 90
    % of it.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.5; H. Glauert, The
       Elements of Aerofoil and Airscrew Theory (from memory).

    Examples
    --------
    >>> f"{ideal_efficiency(1.2e5, 1.225, 60.0, 1.9):.3f}"
    '0.935'
    """
    require("power_w", power_w, "W", at_least=0.0)
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", at_least=0.0)
    require_positive(density_kg_m3=density_kg_m3, diameter_m=diameter_m)
    stream_w = 2 * density_kg_m3 * _disc_area(diameter_m) * np.power(true_airspeed_m_s, 3.0)
    power, stream = np.broadcast_arrays(power_w, stream_w)
    moving = stream > 0
    loading = np.divide(power, stream, out=np.full(power.shape, np.nan), where=moving)
    root = np.sqrt(3 * loading)
    slope = np.divide(
        np.sinh(np.arcsinh(1.5 * root) / 3), root, out=np.full(root.shape, 0.5), where=root > 1e-9
    )
    result = np.where(moving, 2 * np.where(np.isnan(loading), np.nan, slope), 0.0)
    return floats(np.where(np.isnan(power + stream), np.nan, result))


def constant_speed_efficiency(
    power_w: Floats,
    density_kg_m3: Floats,
    true_airspeed_m_s: Floats,
    diameter_m: Floats,
    figure_of_merit: Floats,
) -> Floats:
    r"""Return the efficiency of a constant-speed propeller as a share of the ideal one.

    .. math:: \eta = f \eta_i

    Parameters
    ----------
    power_w
        Shaft power P. [W] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    true_airspeed_m_s
        True airspeed V. [m/s] Broadcasts.
    diameter_m
        Propeller diameter D. [m] Broadcasts.
    figure_of_merit
        Share of the ideal efficiency, 0 to 1: blade drag, swirl, body. [-] Broadcasts.

    Returns
    -------
    Floats
        Efficiency. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a figure of merit is outside 0 to 1 or another argument out of range.

    Notes
    -----
    A model: blade angles free, share constant. NACA Report 640 blades at their peaks reach 0.82
    to 0.88 of the ideal.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 11.5 for the ideal;
       the constant share is common practice, no source.

    Examples
    --------
    >>> f"{constant_speed_efficiency(1.2e5, 1.225, 60.0, 1.9, 0.88):.3f}"
    '0.823'
    """
    require("figure_of_merit", figure_of_merit, at_least=0.0, at_most=1.0)
    return floats(figure_of_merit * ideal_efficiency(power_w, density_kg_m3, true_airspeed_m_s, diameter_m))


def fixed_pitch_efficiency(
    advance_ratio: Floats, power_coefficient: Floats, polar_slope: Floats, polar_intercept: Floats
) -> Floats:
    r"""Return the efficiency of a fixed-pitch propeller from its polar.

    .. math::

        \frac{C_T}{J^2} = m \frac{C_P}{J^2} + b, \\
        \eta = J \left(m + \frac{b J^2}{C_P}\right)

    Parameters
    ----------
    advance_ratio
        Advance ratio J. [-] Any shape.
    power_coefficient
        Power coefficient, above 0. [-] Broadcasts.
    polar_slope
        Slope m of the polar. [-] Broadcasts.
    polar_intercept
        Intercept b of the polar, below 0. [-] Broadcasts.

    Returns
    -------
    Floats
        Efficiency. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a power coefficient is not above 0.

    Notes
    -----
    The propeller polar, thrust over power coefficient both divided by J², is
    nearly straight for fixed pitch. Fitted to NACA Report 640 blades at 15° to
    35°, two numbers follow the efficiency within 0.03 from 0.6 of the advance
    ratio of the peak up to the peak; beyond it they fall short.

    References
    ----------
    .. [1] J. T. Lowry, Journal of Aviation/Aerospace Education & Research 6(1), 1995, art. 7;
       form from memory.

    Examples
    --------
    >>> f"{fixed_pitch_efficiency(0.7, 0.05, 1.70, -0.0564):.3f}"
    '0.803'
    """
    require_positive(power_coefficient=power_coefficient)
    linear = polar_slope + polar_intercept * np.square(advance_ratio) / power_coefficient
    return floats(advance_ratio * linear)


def _disc_area(diameter_m: Floats) -> Floats:
    return floats(np.pi / 4 * np.square(diameter_m))
