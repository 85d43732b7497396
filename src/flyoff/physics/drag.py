"""Level flight of an airplane with a parabolic polar.

The polar is kept as two lengths that a reader can picture: the zero-lift drag
area f and the effective span, the span an elliptical wing would need for the
same induced drag. Neither needs a reference area.
"""

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require, require_positive


def effective_span(span_m: Floats, span_efficiency: Floats) -> Floats:
    r"""Return the span that an elliptical wing would need for the same induced drag.

    .. math:: b_e = b \sqrt{e}

    Parameters
    ----------
    span_m
        Span b. [m] Any shape.
    span_efficiency
        Span efficiency e, above 0 to 1.2. [-] Broadcasts.

    Returns
    -------
    Floats
        Effective span. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a span is not above 0 or an efficiency outside 0 to 1.2.

    Notes
    -----
    Exact by definition of the span efficiency.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.14; section number as quoted by its example
       scripts.

    Examples
    --------
    >>> f"{effective_span(10.0, 0.81):.1f}"
    '9.0'
    """
    require_positive(span_m=span_m)
    require("span_efficiency", span_efficiency, above=0.0, at_most=1.2)
    return floats(span_m * np.sqrt(span_efficiency))


def drag_coefficient(
    lift_coefficient: Floats,
    zero_lift_drag_coefficient: Floats,
    aspect_ratio: Floats,
    span_efficiency: Floats,
) -> Floats:
    r"""Return the drag coefficient of a parabolic polar.

    .. math:: C_D = C_{D0} + \frac{C_L^2}{\pi e AR}

    Parameters
    ----------
    lift_coefficient
        Lift coefficient. [-] Any shape.
    zero_lift_drag_coefficient
        Zero-lift drag coefficient. [-] Broadcasts.
    aspect_ratio
        Aspect ratio. [-] Broadcasts.
    span_efficiency
        Span efficiency e. [-] Broadcasts.

    Returns
    -------
    Floats
        Drag coefficient. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If an aspect ratio or span efficiency is not above 0.

    Notes
    -----
    Parabolic polar: no rise near the stall, no compressibility, no thrust along the lift.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.14; section number as quoted by its example
       scripts.

    Examples
    --------
    >>> f"{drag_coefficient(0.68, 0.025, 7.37, 0.8):.4f}"
    '0.0500'
    """
    require_positive(aspect_ratio=aspect_ratio, span_efficiency=span_efficiency)
    induced = np.square(lift_coefficient) / (np.pi * span_efficiency * aspect_ratio)
    return floats(zero_lift_drag_coefficient + induced)


def level_drag(
    *,
    equivalent_airspeed_m_s: Floats,
    mass_kg: Floats,
    drag_area_m2: Floats,
    effective_span_m: Floats,
    load_factor: Floats = 1.0,
) -> Floats:
    r"""Return the drag at a speed and load factor.

    .. math:: D = q f + \frac{(n m g)^2}{\pi q b_e^2}

    Parameters
    ----------
    equivalent_airspeed_m_s
        Equivalent airspeed. [m/s] Any shape.
    mass_kg
        Mass m. [kg] Broadcasts.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.
    load_factor
        Load factor n. [-] Broadcasts.

    Returns
    -------
    Floats
        Drag. [N] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Parabolic polar: no rise near the stall, no compressibility, no thrust along the lift.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.14; section number as quoted by its example
       scripts.

    Examples
    --------
    >>> result = level_drag(
    ...     equivalent_airspeed_m_s=60.0, mass_kg=1200.0, drag_area_m2=0.45, effective_span_m=10.0
    ... )
    >>> f"{result:.0f}"
    '1192'
    """
    require_positive(
        equivalent_airspeed_m_s=equivalent_airspeed_m_s,
        mass_kg=mass_kg,
        drag_area_m2=drag_area_m2,
        effective_span_m=effective_span_m,
    )
    q_pa = SEA_LEVEL_DENSITY_KG_M3 / 2 * np.square(equivalent_airspeed_m_s)
    lift_n = load_factor * mass_kg * STANDARD_GRAVITY_M_S2
    return floats(q_pa * drag_area_m2 + np.square(lift_n / effective_span_m) / (np.pi * q_pa))


def level_power(
    *,
    true_airspeed_m_s: Floats,
    density_kg_m3: Floats,
    mass_kg: Floats,
    drag_area_m2: Floats,
    effective_span_m: Floats,
    load_factor: Floats = 1.0,
) -> Floats:
    """Return the thrust power that level flight takes.

    .. math:: P = D V

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    mass_kg
        Mass m. [kg] Broadcasts.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.
    load_factor
        Load factor n. [-] Broadcasts.

    Returns
    -------
    Floats
        Drag times true airspeed. [W] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Parabolic polar: no rise near the stall, no compressibility, no thrust along the lift. Shaft
    power is this over the propeller efficiency.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.14; section number as quoted by its example
       scripts.

    Examples
    --------
    >>> result = level_power(
    ...     true_airspeed_m_s=60.0,
    ...     density_kg_m3=1.225,
    ...     mass_kg=1200.0,
    ...     drag_area_m2=0.45,
    ...     effective_span_m=10.0,
    ... )
    >>> f"{result:.0f}"
    '71530'
    """
    require_positive(density_kg_m3=density_kg_m3)
    equivalent_m_s = floats(true_airspeed_m_s * np.sqrt(density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3))
    drag_n = level_drag(
        equivalent_airspeed_m_s=equivalent_m_s,
        mass_kg=mass_kg,
        drag_area_m2=drag_area_m2,
        effective_span_m=effective_span_m,
        load_factor=load_factor,
    )
    return floats(drag_n * true_airspeed_m_s)


def level_speeds(
    *,
    thrust_power_w: Floats,
    density_kg_m3: Floats,
    mass_kg: Floats,
    drag_area_m2: Floats,
    effective_span_m: Floats,
) -> tuple[Floats, Floats]:
    r"""Return the two true airspeeds at which level flight takes a thrust power.

    .. math:: \frac{\rho f}{2} V^4 - P V + \frac{2 (m g)^2}{\pi \rho b_e^2} = 0

    Parameters
    ----------
    thrust_power_w
        Shaft power times propeller efficiency P. [W] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    mass_kg
        Mass m. [kg] Broadcasts.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.

    Returns
    -------
    tuple[Floats, Floats]
        The slow and the fast true airspeed; NaN where the power does not suffice. [m/s] Each of
        the broadcast shape.

    Raises
    ------
    ValueError
        If a power is negative or another argument not above 0.

    Notes
    -----
    Parabolic polar: no rise near the stall, no compressibility, no thrust along the lift. Exact
    roots of the quartic, without iteration.

    References
    ----------
    .. [1] L. Ferrari's resolvent of the quartic in any handbook of mathematics; J. D. Anderson,
       Introduction to Flight, 6.5 for the power balance (from memory).

    Examples
    --------
    >>> slow, fast = level_speeds(
    ...     thrust_power_w=71530.0,
    ...     density_kg_m3=1.225,
    ...     mass_kg=1200.0,
    ...     drag_area_m2=0.45,
    ...     effective_span_m=10.0,
    ... )
    >>> f"{fast:.2f}"
    '60.00'
    """
    require("thrust_power_w", thrust_power_w, "W", at_least=0.0)
    require_positive(
        density_kg_m3=density_kg_m3,
        mass_kg=mass_kg,
        drag_area_m2=drag_area_m2,
        effective_span_m=effective_span_m,
    )
    a = density_kg_m3 * drag_area_m2 / 2
    p = thrust_power_w / a
    c = 2 * np.square(mass_kg * STANDARD_GRAVITY_M_S2 / effective_span_m) / (np.pi * density_kg_m3 * a)
    argument = 1.5 * np.square(p) * np.sqrt(3) / np.power(4 * c, 1.5)
    reachable = np.where(argument >= 1 - 1e-12, np.maximum(argument, 1.0), np.nan)
    z = 2 * np.sqrt(4 * c / 3) * np.cosh(np.arccosh(reachable) / 3)
    u = np.sqrt(z)
    spread = np.sqrt(np.maximum(2 * p / u - z, 0.0))
    fast_m_s = (u + spread) / 2
    # the four roots' product is c: dividing keeps the digits that a difference would lose
    slow_m_s = c / ((z + p / u) / 2) / fast_m_s
    return floats(slow_m_s), floats(fast_m_s)


def level_speed(
    *,
    thrust_power_w: Floats,
    density_kg_m3: Floats,
    mass_kg: Floats,
    drag_area_m2: Floats,
    effective_span_m: Floats,
) -> Floats:
    """Return the fast true airspeed at which level flight takes a thrust power.

    Parameters
    ----------
    thrust_power_w
        Shaft power times propeller efficiency. [W] Any shape.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    mass_kg
        Mass m. [kg] Broadcasts.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.

    Returns
    -------
    Floats
        True airspeed; NaN where the power does not suffice. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a power is negative or another argument not above 0.

    Notes
    -----
    Parabolic polar: no rise near the stall, no compressibility, no thrust along the lift.

    References
    ----------
    .. [1] As `level_speeds`; J. D. Anderson, Introduction to Flight, 6.5 (from memory).

    Examples
    --------
    >>> result = level_speed(
    ...     thrust_power_w=71530.0,
    ...     density_kg_m3=1.225,
    ...     mass_kg=1200.0,
    ...     drag_area_m2=0.45,
    ...     effective_span_m=10.0,
    ... )
    >>> f"{result:.2f}"
    '60.00'
    """
    return level_speeds(
        thrust_power_w=thrust_power_w,
        density_kg_m3=density_kg_m3,
        mass_kg=mass_kg,
        drag_area_m2=drag_area_m2,
        effective_span_m=effective_span_m,
    )[1]


def flap_drag_coefficient(flap_angle_rad: Floats, chord_ratio: float, area_ratio: float) -> Floats:
    r"""Return what flaps add to the drag coefficient at no lift.

    .. math:: 1.7 \left(\frac{c_f}{c}\right)^{1.38} \frac{S_f}{S} \sin^2 \delta

    Parameters
    ----------
    flap_angle_rad
        Deflection δ, 0 to 1.05. [rad] Any shape.
    chord_ratio
        Chord of the flap over that of the wing, 0 to 0.5. [-]
    area_ratio
        Wing area ahead of and with the flaps over all of it, 0 to 1. [-]

    Returns
    -------
    Floats
        Drag coefficient by wing area. [-] The shape of the angle.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Plain flaps; slotted ones about half of it.

    References
    ----------
    .. [1] A. D. Young, The Aerodynamic Characteristics of Flaps, ARC R&M 2622 (1953) (from memory).

    Examples
    --------
    >>> f"{flap_drag_coefficient(0.6109, 0.25, 0.5):.4f}"
    '0.0413'
    """
    require("flap_angle_rad", flap_angle_rad, "rad", at_least=0.0, at_most=1.05)
    require("chord_ratio", chord_ratio, at_least=0.0, at_most=0.5)
    require("area_ratio", area_ratio, at_least=0.0, at_most=1.0)
    return floats(1.7 * chord_ratio**1.38 * area_ratio * np.square(np.sin(flap_angle_rad)))
