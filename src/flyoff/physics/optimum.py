"""The speeds that a parabolic polar singles out."""

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Floats
from flyoff.physics.drag import level_power
from flyoff.physics.limits import floats, require_positive


def best_lift_to_drag(drag_area_m2: Floats, effective_span_m: Floats) -> Floats:
    r"""Return the best ratio of lift to drag.

    .. math:: \frac{b_e}{2} \sqrt{\frac{\pi}{f}}

    Parameters
    ----------
    drag_area_m2
        Zero-lift drag area f. [m²] Any shape.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.

    Returns
    -------
    Floats
        Best lift over drag. [-] The broadcast shape.

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
       scripts. There as sqrt(CD0 π e AR) / (2 CD0).

    Examples
    --------
    >>> f"{best_lift_to_drag(0.45, 10.0):.2f}"
    '13.21'
    """
    require_positive(drag_area_m2=drag_area_m2, effective_span_m=effective_span_m)
    return floats(effective_span_m / 2 * np.sqrt(np.pi / drag_area_m2))


def best_lift_to_drag_speed(mass_kg: Floats, drag_area_m2: Floats, effective_span_m: Floats) -> Floats:
    r"""Return the equivalent airspeed of the best ratio of lift to drag.

    .. math:: q = \frac{m g}{b_e \sqrt{\pi f}}

    Parameters
    ----------
    mass_kg
        Mass m. [kg] Any shape.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.

    Returns
    -------
    Floats
        Equivalent airspeed. [m/s] The broadcast shape.

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
    >>> f"{best_lift_to_drag_speed(1200.0, 0.45, 10.0):.1f}"
    '40.2'
    """
    require_positive(mass_kg=mass_kg, drag_area_m2=drag_area_m2, effective_span_m=effective_span_m)
    q_pa = mass_kg * STANDARD_GRAVITY_M_S2 / (effective_span_m * np.sqrt(np.pi * drag_area_m2))
    return floats(np.sqrt(2 * q_pa / SEA_LEVEL_DENSITY_KG_M3))


def minimum_power_speed(mass_kg: Floats, drag_area_m2: Floats, effective_span_m: Floats) -> Floats:
    """Return the equivalent airspeed at which level flight takes least power.

    .. math:: 3^{-1/4} V_{L/D}

    Parameters
    ----------
    mass_kg
        Mass m. [kg] Any shape.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.

    Returns
    -------
    Floats
        Equivalent airspeed. [m/s] The broadcast shape.

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
       scripts. The factor 0.76 also in public teaching text.

    Examples
    --------
    >>> f"{minimum_power_speed(1200.0, 0.45, 10.0):.1f}"
    '30.5'
    """
    return floats(best_lift_to_drag_speed(mass_kg, drag_area_m2, effective_span_m) * 3**-0.25)


def carson_speed(mass_kg: Floats, drag_area_m2: Floats, effective_span_m: Floats) -> Floats:
    """Return the equivalent airspeed that costs least fuel per unit of speed.

    .. math:: 3^{1/4} V_{L/D}

    Parameters
    ----------
    mass_kg
        Mass m. [kg] Any shape.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.

    Returns
    -------
    Floats
        Equivalent airspeed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Parabolic polar: no rise near the stall, no compressibility, no thrust along the lift.

    References
    ----------
    .. [1] B. H. Carson, Fuel Efficiency of Small Aircraft, AIAA-80-1847 (second-hand).

    Examples
    --------
    >>> f"{carson_speed(1200.0, 0.45, 10.0):.1f}"
    '52.9'
    """
    return floats(best_lift_to_drag_speed(mass_kg, drag_area_m2, effective_span_m) * 3**0.25)


def minimum_power(
    density_kg_m3: Floats, mass_kg: Floats, drag_area_m2: Floats, effective_span_m: Floats
) -> Floats:
    """Return the least thrust power of level flight.

    Parameters
    ----------
    density_kg_m3
        Air density ρ. [kg/m³] Any shape.
    mass_kg
        Mass m. [kg] Broadcasts.
    drag_area_m2
        Zero-lift drag area f = S CD0. [m²] Broadcasts.
    effective_span_m
        Effective span, see `effective_span`. [m] Broadcasts.

    Returns
    -------
    Floats
        Thrust power. [W] The broadcast shape.

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
    >>> f"{minimum_power(1.225, 1200.0, 0.45, 10.0):.0f}"
    '31417'
    """
    require_positive(density_kg_m3=density_kg_m3)
    speed_m_s = minimum_power_speed(mass_kg, drag_area_m2, effective_span_m) / np.sqrt(
        density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3
    )
    return level_power(
        true_airspeed_m_s=floats(speed_m_s),
        density_kg_m3=density_kg_m3,
        mass_kg=mass_kg,
        drag_area_m2=drag_area_m2,
        effective_span_m=effective_span_m,
    )
