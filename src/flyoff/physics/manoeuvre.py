"""Lift, stall and turning."""

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require, require_positive


def lift_coefficient(
    equivalent_airspeed_m_s: Floats, mass_kg: Floats, wing_area_m2: Floats, load_factor: Floats = 1.0
) -> Floats:
    r"""Return the lift coefficient.

    .. math:: C_L = \frac{n m g}{q S}

    Parameters
    ----------
    equivalent_airspeed_m_s
        Equivalent airspeed. [m/s] Any shape.
    mass_kg
        Mass m. [kg] Broadcasts.
    wing_area_m2
        Wing area S. [m²] Broadcasts.
    load_factor
        Load factor n. [-] Broadcasts.

    Returns
    -------
    Floats
        Lift coefficient. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 5.3 (from memory).

    Examples
    --------
    >>> f"{lift_coefficient(27.27, 1156.66, 16.165):.2f}"
    '1.54'
    """
    require_positive(
        equivalent_airspeed_m_s=equivalent_airspeed_m_s, mass_kg=mass_kg, wing_area_m2=wing_area_m2
    )
    q_pa = SEA_LEVEL_DENSITY_KG_M3 / 2 * np.square(equivalent_airspeed_m_s)
    return floats(load_factor * mass_kg * STANDARD_GRAVITY_M_S2 / (q_pa * wing_area_m2))


def stall_speed(
    stall_speed_m_s: Floats, mass_kg: Floats, reference_mass_kg: Floats, load_factor: Floats = 1.0
) -> Floats:
    r"""Return a stall speed at another mass and load factor.

    .. math:: V_s \sqrt{n m / m_0}

    Parameters
    ----------
    stall_speed_m_s
        Equivalent or calibrated stall speed at the reference mass and 1 g. [m/s] Any shape.
    mass_kg
        Mass m. [kg] Broadcasts.
    reference_mass_kg
        Mass of that stall speed. [kg] Broadcasts.
    load_factor
        Load factor n. [-] Broadcasts.

    Returns
    -------
    Floats
        Stall speed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0.

    Notes
    -----
    Constant maximum lift coefficient; in flight it varies by up to 14 % with rate of approach,
    propeller and altitude (NACA, Soulé and Hootman, 1937).

    References
    ----------
    .. [1] FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge (from memory).

    Examples
    --------
    >>> f"{stall_speed(50.0, 900.0, 1000.0):.2f}"
    '47.43'
    """
    require_positive(
        stall_speed_m_s=stall_speed_m_s,
        mass_kg=mass_kg,
        reference_mass_kg=reference_mass_kg,
        load_factor=load_factor,
    )
    return floats(stall_speed_m_s * np.sqrt(load_factor * np.asarray(mass_kg) / reference_mass_kg))


def load_factor_in_turn(bank_rad: Floats) -> Floats:
    r"""Return the load factor of a level turn.

    .. math:: n = 1 / \cos\varphi

    Parameters
    ----------
    bank_rad
        Bank φ, between −π/2 and π/2. [rad] Any shape.

    Returns
    -------
    Floats
        Load factor. [-] The shape of the argument.

    Raises
    ------
    ValueError
        If a bank is not between −π/2 and π/2.

    Notes
    -----
    Exact for a coordinated level turn.

    References
    ----------
    .. [1] FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge (from memory).

    Examples
    --------
    >>> import math
    >>> f"{load_factor_in_turn(math.radians(60)):.3f}"
    '2.000'
    """
    require("bank_rad", bank_rad, "rad", above=-np.pi / 2, below=np.pi / 2)
    return floats(1 / np.cos(bank_rad))


def turn_rate(true_airspeed_m_s: Floats, bank_rad: Floats) -> Floats:
    r"""Return the rate of a level turn.

    .. math:: \omega = g \tan\varphi / V

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    bank_rad
        Bank φ, between −π/2 and π/2. [rad] Broadcasts.

    Returns
    -------
    Floats
        Turn rate. [rad/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is not above 0 or a bank not between −π/2 and π/2.

    Notes
    -----
    Exact for a coordinated level turn.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Turns and pivotal altitude".

    Examples
    --------
    >>> import math
    >>> f"{math.degrees(turn_rate(51.444, math.radians(45))):.1f}"
    '10.9'
    """
    require_positive(true_airspeed_m_s=true_airspeed_m_s)
    require("bank_rad", bank_rad, "rad", above=-np.pi / 2, below=np.pi / 2)
    return floats(STANDARD_GRAVITY_M_S2 * np.tan(bank_rad) / true_airspeed_m_s)


def turn_radius(true_airspeed_m_s: Floats, bank_rad: Floats) -> Floats:
    r"""Return the radius of a level turn in still air.

    .. math:: r = V^2 / (g \tan\varphi)

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    bank_rad
        Bank φ, above 0 and below π/2. [rad] Broadcasts.

    Returns
    -------
    Floats
        Radius. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is not above 0 or a bank not between 0 and π/2.

    Notes
    -----
    Exact for a coordinated level turn.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Turns and pivotal altitude".

    Examples
    --------
    >>> import math
    >>> f"{turn_radius(51.444, math.radians(45)):.0f}"
    '270'
    """
    require("bank_rad", bank_rad, "rad", above=0.0)
    return floats(true_airspeed_m_s / turn_rate(true_airspeed_m_s, bank_rad))


def bank_at_turn_rate(true_airspeed_m_s: Floats, turn_rate_rad_s: Floats) -> Floats:
    r"""Return the bank of a level turn at a rate.

    .. math:: \varphi = \arctan(V \omega / g)

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    turn_rate_rad_s
        Turn rate ω. [rad/s] Broadcasts.

    Returns
    -------
    Floats
        Bank. [rad] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is negative.

    Notes
    -----
    Exact for a coordinated level turn.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Turns and pivotal altitude".

    Examples
    --------
    >>> import math
    >>> f"{math.degrees(bank_at_turn_rate(51.444, math.radians(3))):.1f}"
    '15.4'
    """
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", at_least=0.0)
    return floats(np.arctan(turn_rate_rad_s * np.asarray(true_airspeed_m_s) / STANDARD_GRAVITY_M_S2))
