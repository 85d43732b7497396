"""Power-off glide of a parabolic polar, propeller drag included in the drag area."""

import numpy as np

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Floats
from flyoff.physics.drag import level_drag, level_power
from flyoff.physics.limits import floats, require, require_positive


def glide_ratio(
    *, equivalent_airspeed_m_s: Floats, mass_kg: Floats, drag_area_m2: Floats, effective_span_m: Floats
) -> Floats:
    """Return distance over height lost in still air.

    .. math:: m g / D

    Parameters
    ----------
    equivalent_airspeed_m_s
        Equivalent airspeed. [m/s] Any shape.
    mass_kg
        Mass m. [kg] Broadcasts.
    drag_area_m2
        Zero-lift drag area. [m²] Broadcasts.
    effective_span_m
        Effective span. [m] Broadcasts.

    Returns
    -------
    Floats
        Glide ratio. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Shallow glide: lift taken as weight.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.9 (from memory).

    Examples
    --------
    >>> result = glide_ratio(
    ...     equivalent_airspeed_m_s=40.2, mass_kg=1200.0, drag_area_m2=0.45, effective_span_m=10.0
    ... )
    >>> f"{result:.2f}"
    '13.21'
    """
    drag_n = level_drag(
        equivalent_airspeed_m_s=equivalent_airspeed_m_s,
        mass_kg=mass_kg,
        drag_area_m2=drag_area_m2,
        effective_span_m=effective_span_m,
    )
    return floats(mass_kg * STANDARD_GRAVITY_M_S2 / drag_n)


def sink_rate(
    *,
    true_airspeed_m_s: Floats,
    density_kg_m3: Floats,
    mass_kg: Floats,
    drag_area_m2: Floats,
    effective_span_m: Floats,
) -> Floats:
    """Return the rate of descent without power.

    .. math:: D V / (m g)

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    mass_kg
        Mass m. [kg] Broadcasts.
    drag_area_m2
        Zero-lift drag area. [m²] Broadcasts.
    effective_span_m
        Effective span. [m] Broadcasts.

    Returns
    -------
    Floats
        Sink rate. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Shallow glide: lift taken as weight.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.9 (from memory).

    Examples
    --------
    >>> result = sink_rate(
    ...     true_airspeed_m_s=40.2,
    ...     density_kg_m3=1.225,
    ...     mass_kg=1200.0,
    ...     drag_area_m2=0.45,
    ...     effective_span_m=10.0,
    ... )
    >>> f"{result:.2f}"
    '3.04'
    """
    power_w = level_power(
        true_airspeed_m_s=true_airspeed_m_s,
        density_kg_m3=density_kg_m3,
        mass_kg=mass_kg,
        drag_area_m2=drag_area_m2,
        effective_span_m=effective_span_m,
    )
    return floats(power_w / (mass_kg * STANDARD_GRAVITY_M_S2))


def glide_angle(glide_ratio: Floats) -> Floats:
    r"""Return the angle of a glide below the horizon.

    .. math:: \arctan\frac{1}{L/D}

    Parameters
    ----------
    glide_ratio
        Distance over height lost in still air. [-] Any shape.

    Returns
    -------
    Floats
        Angle. [rad] The shape of the argument.

    Raises
    ------
    ValueError
        If a glide ratio is not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.9.

    Examples
    --------
    >>> import math
    >>> f"{math.degrees(glide_angle(13.6)):.1f}"
    '4.2'
    """
    require_positive(glide_ratio=glide_ratio)
    return floats(np.arctan(1 / np.asarray(glide_ratio)))


def glide_speed(
    lift_coefficient: Floats, wing_loading_n_m2: Floats, density_kg_m3: Floats, angle_rad: Floats = 0.0
) -> Floats:
    r"""Return the true airspeed of a glide at a lift coefficient.

    .. math:: V = \sqrt{\frac{2 \cos\gamma}{\rho C_L} \frac{W}{S}}

    Parameters
    ----------
    lift_coefficient
        Lift coefficient. [-] Any shape.
    wing_loading_n_m2
        Weight over wing area. [N/m²] Broadcasts.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    angle_rad
        Angle below the horizon. [rad] Broadcasts.

    Returns
    -------
    Floats
        True airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Exact, given the angle.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.9.

    Examples
    --------
    >>> f"{glide_speed(0.634, 812.09, 0.905, 0.0733):.2f}"
    '53.13'
    """
    require_positive(
        lift_coefficient=lift_coefficient, wing_loading_n_m2=wing_loading_n_m2, density_kg_m3=density_kg_m3
    )
    q_pa = wing_loading_n_m2 * np.cos(angle_rad) / lift_coefficient
    return floats(np.sqrt(2 * q_pa / density_kg_m3))


def glide_range(
    height_m: Floats, glide_ratio: Floats, true_airspeed_m_s: Floats = 1.0, head_wind_m_s: Floats = 0.0
) -> Floats:
    r"""Return the distance over the ground of a glide.

    .. math:: h \frac{L}{D} (1 - W / V)

    Parameters
    ----------
    height_m
        Height above the ground. [m] Any shape.
    glide_ratio
        Distance over height lost in still air. [-] Broadcasts.
    true_airspeed_m_s
        True airspeed, which matters only against a wind. [m/s] Broadcasts.
    head_wind_m_s
        Headwind, negative from behind. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Distance; NaN where the wind is as fast as the airplane. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a height is negative, or a ratio or speed not above 0.

    Notes
    -----
    Uniform wind, no turns.

    References
    ----------
    .. [1] FAA-H-8083-25, Pilot\'s Handbook of Aeronautical Knowledge; arithmetic.

    Examples
    --------
    >>> f"{glide_range(1000.0, 13.6):.0f}"
    '13600'
    """
    require("height_m", height_m, "m", at_least=0.0)
    require_positive(glide_ratio=glide_ratio, true_airspeed_m_s=true_airspeed_m_s)
    share = 1 - np.asarray(head_wind_m_s) / true_airspeed_m_s
    return floats(height_m * glide_ratio * np.where(share > 0, share, np.nan))
