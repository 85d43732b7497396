"""Range and endurance.

Not for flight planning: reserves and limits are for the pilot and the rules.
"""

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require
from flyoff.physics.optimum import best_lift_to_drag


def specific_range(ground_speed_m_s: Floats, fuel_flow_kg_s: Floats) -> Floats:
    """Return the distance per mass of fuel.

    Parameters
    ----------
    ground_speed_m_s
        Ground speed, or true airspeed in still air. [m/s] Any shape.
    fuel_flow_kg_s
        Fuel flow, above 0. [kg/s] Broadcasts.

    Returns
    -------
    Floats
        Specific range. [m/kg] The broadcast shape.

    Raises
    ------
    ValueError
        If a fuel flow is not above 0.

    Notes
    -----
    Exact by definition.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.4.

    Examples
    --------
    >>> f"{specific_range(60.0, 0.007):.0f}"
    '8571'
    """
    require("fuel_flow_kg_s", fuel_flow_kg_s, "kg/s", above=0.0)
    return floats(ground_speed_m_s / fuel_flow_kg_s)


def breguet_range(
    *,
    efficiency: Floats,
    specific_consumption_kg_j: Floats,
    lift_to_drag: Floats,
    start_mass_kg: Floats,
    end_mass_kg: Floats,
) -> Floats:
    r"""Return the range at constant lift coefficient.

    .. math:: R = \frac{\eta}{c g} \frac{L}{D} \ln\frac{m_0}{m_1}

    Parameters
    ----------
    efficiency
        Propeller efficiency η, above 0 to 1. [-] Any shape.
    specific_consumption_kg_j
        Specific fuel consumption c. [kg/J] Broadcasts.
    lift_to_drag
        Lift over drag. [-] Broadcasts.
    start_mass_kg
        Mass at the start. [kg] Broadcasts.
    end_mass_kg
        Mass at the end, not above the start. [kg] Broadcasts.

    Returns
    -------
    Floats
        Still-air range. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0, an efficiency above 1, or the end mass above the start
        mass.

    Notes
    -----
    Constant lift coefficient, efficiency and specific consumption; speed falls, or altitude
    rises, with mass.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.4 (range at
       constant lift coefficient).

    Examples
    --------
    >>> result = breguet_range(
    ...     efficiency=0.8,
    ...     specific_consumption_kg_j=7.6e-8,
    ...     lift_to_drag=13.6,
    ...     start_mass_kg=1338.0,
    ...     end_mass_kg=1172.0,
    ... )
    >>> f"{result / 1000:.0f}"
    '1934'
    """
    _require_masses(start_mass_kg, end_mass_kg)
    _require_propulsion(efficiency, specific_consumption_kg_j)
    require("lift_to_drag", lift_to_drag, above=0.0)
    factor_m = efficiency * lift_to_drag / (specific_consumption_kg_j * STANDARD_GRAVITY_M_S2)
    return floats(factor_m * np.log(start_mass_kg / end_mass_kg))


def constant_speed_range(
    *,
    equivalent_airspeed_m_s: Floats,
    efficiency: Floats,
    specific_consumption_kg_j: Floats,
    drag_area_m2: Floats,
    effective_span_m: Floats,
    start_mass_kg: Floats,
    end_mass_kg: Floats,
) -> Floats:
    r"""Return the range at constant speed and altitude.

    .. math::

        R = \frac{2 \eta}{c g} \left(\frac{L}{D}\right)_{max} (\arctan x_0 - \arctan x_1), \\
        x = \frac{m g}{q b_e \sqrt{\pi f}}

    Parameters
    ----------
    equivalent_airspeed_m_s
        Equivalent airspeed. [m/s] Any shape.
    efficiency
        Propeller efficiency η, above 0 to 1. [-] Broadcasts.
    specific_consumption_kg_j
        Specific fuel consumption c. [kg/J] Broadcasts.
    drag_area_m2
        Zero-lift drag area f. [m²] Broadcasts.
    effective_span_m
        Effective span. [m] Broadcasts.
    start_mass_kg
        Mass at the start. [kg] Broadcasts.
    end_mass_kg
        Mass at the end, not above the start. [kg] Broadcasts.

    Returns
    -------
    Floats
        Still-air range. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0, an efficiency above 1, or the end mass above the start
        mass.

    Notes
    -----
    Parabolic polar, constant efficiency and specific consumption. The reference prints half of
    it, and only for a start at best lift to drag; here derived, and held to a numerical
    integration by the tests.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.4 (range at
       constant speed and altitude), corrected.

    Examples
    --------
    >>> result = constant_speed_range(
    ...     equivalent_airspeed_m_s=60.0,
    ...     efficiency=0.8,
    ...     specific_consumption_kg_j=7.6e-8,
    ...     drag_area_m2=0.4,
    ...     effective_span_m=9.8,
    ...     start_mass_kg=1338.0,
    ...     end_mass_kg=1172.0,
    ... )
    >>> f"{result / 1000:.0f}"
    '1575'
    """
    _require_masses(start_mass_kg, end_mass_kg)
    _require_propulsion(efficiency, specific_consumption_kg_j)
    require("equivalent_airspeed_m_s", equivalent_airspeed_m_s, "m/s", above=0.0)
    best = best_lift_to_drag(drag_area_m2, effective_span_m)
    q_pa = SEA_LEVEL_DENSITY_KG_M3 / 2 * np.square(equivalent_airspeed_m_s)
    per_kg = STANDARD_GRAVITY_M_S2 / (q_pa * effective_span_m * np.sqrt(np.pi * drag_area_m2))
    factor_m = 2 * efficiency * best / (specific_consumption_kg_j * STANDARD_GRAVITY_M_S2)
    return floats(factor_m * (np.arctan(start_mass_kg * per_kg) - np.arctan(end_mass_kg * per_kg)))


def constant_lift_endurance(
    *, start_power_w: Floats, specific_consumption_kg_j: Floats, start_mass_kg: Floats, end_mass_kg: Floats
) -> Floats:
    r"""Return the endurance at constant lift coefficient and altitude.

    .. math:: E = \frac{2 m_0}{c P_0} \left(\sqrt{m_0 / m_1} - 1\right)

    Parameters
    ----------
    start_power_w
        Shaft power at the start P0. [W] Any shape.
    specific_consumption_kg_j
        Specific fuel consumption c. [kg/J] Broadcasts.
    start_mass_kg
        Mass at the start. [kg] Broadcasts.
    end_mass_kg
        Mass at the end, not above the start. [kg] Broadcasts.

    Returns
    -------
    Floats
        Endurance. [s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is not above 0, an efficiency above 1, or the end mass above the start
        mass.

    Notes
    -----
    Power falls with mass to the 1.5; constant efficiency and specific consumption.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.7.3; J. D.
       Anderson, Introduction to Flight, 6.13 (from memory).

    Examples
    --------
    >>> result = constant_lift_endurance(
    ...     start_power_w=46700.0, specific_consumption_kg_j=7.6e-8, start_mass_kg=1338.6, end_mass_kg=1172.1
    ... )
    >>> f"{result / 3600:.2f}"
    '14.39'
    """
    _require_masses(start_mass_kg, end_mass_kg)
    _require_propulsion(1.0, specific_consumption_kg_j)
    require("start_power_w", start_power_w, "W", above=0.0)
    flow_kg_s = start_power_w * specific_consumption_kg_j
    return floats(2 * start_mass_kg / flow_kg_s * (np.sqrt(start_mass_kg / end_mass_kg) - 1))


def endurance(fuel_kg: Floats, fuel_flow_kg_s: Floats) -> Floats:
    """Return how long fuel lasts.

    Parameters
    ----------
    fuel_kg
        Fuel to burn. [kg] Any shape.
    fuel_flow_kg_s
        Fuel flow, above 0. [kg/s] Broadcasts.

    Returns
    -------
    Floats
        Time. [s] The broadcast shape.

    Raises
    ------
    ValueError
        If a fuel flow is not above 0 or fuel negative.

    Notes
    -----
    Exact at a constant flow.

    References
    ----------
    .. [1] Arithmetic.

    Examples
    --------
    >>> f"{endurance(90.0, 0.0125):.0f}"
    '7200'
    """
    require("fuel_kg", fuel_kg, "kg", at_least=0.0)
    require("fuel_flow_kg_s", fuel_flow_kg_s, "kg/s", above=0.0)
    return floats(fuel_kg / fuel_flow_kg_s)


def cruise_fuel(
    *,
    usable_fuel_kg: Floats,
    reserve_time_s: Floats,
    reserve_fuel_flow_kg_s: Floats,
    taxi_fuel_kg: Floats = 0.0,
    climb_fuel_kg: Floats = 0.0,
) -> Floats:
    """Return the fuel left for cruise after taxi, climb and reserve.

    Parameters
    ----------
    usable_fuel_kg
        Usable fuel. [kg] Any shape.
    reserve_time_s
        Reserve. [s] Broadcasts.
    reserve_fuel_flow_kg_s
        Fuel flow of the reserve. [kg/s] Broadcasts.
    taxi_fuel_kg
        Start, taxi and run-up. [kg] Broadcasts.
    climb_fuel_kg
        Fuel of the climb. [kg] Broadcasts.

    Returns
    -------
    Floats
        Fuel; NaN where the rest takes more than there is. [kg] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is negative.

    Notes
    -----
    Bookkeeping.

    References
    ----------
    .. [1] 14 CFR 91.151 and 91.167 for the form of a reserve (second-hand).

    Examples
    --------
    >>> f"{cruise_fuel(usable_fuel_kg=150.0, reserve_time_s=2700.0, reserve_fuel_flow_kg_s=0.01):.0f}"
    '123'
    """
    for name, value in (
        ("usable_fuel_kg", usable_fuel_kg),
        ("reserve_time_s", reserve_time_s),
        ("reserve_fuel_flow_kg_s", reserve_fuel_flow_kg_s),
        ("taxi_fuel_kg", taxi_fuel_kg),
        ("climb_fuel_kg", climb_fuel_kg),
    ):
        require(name, value, at_least=0.0)
    left_kg = usable_fuel_kg - reserve_time_s * reserve_fuel_flow_kg_s - taxi_fuel_kg - climb_fuel_kg
    return floats(np.where(np.asarray(left_kg) >= 0, left_kg, np.nan))


def range_with_reserve(
    *,
    cruise_fuel_kg: Floats,
    specific_range_m_kg: Floats,
    climb_distance_m: Floats = 0.0,
    descent_distance_m: Floats = 0.0,
) -> Floats:
    """Return the distance of climb, cruise and descent.

    Parameters
    ----------
    cruise_fuel_kg
        Fuel left for cruise, see `cruise_fuel`. [kg] Any shape.
    specific_range_m_kg
        Distance per mass of fuel. [m/kg] Broadcasts.
    climb_distance_m
        Distance of the climb. [m] Broadcasts.
    descent_distance_m
        Distance gained in a descent whose fuel is within the cruise fuel. [m] Broadcasts.

    Returns
    -------
    Floats
        Range. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument is negative.

    Notes
    -----
    Bookkeeping.

    References
    ----------
    .. [1] Arithmetic.

    Examples
    --------
    >>> result = range_with_reserve(cruise_fuel_kg=100.0, specific_range_m_kg=8000.0, climb_distance_m=2e4)
    >>> f"{result:.0f}"
    '820000'
    """
    for name, value in (
        ("cruise_fuel_kg", cruise_fuel_kg),
        ("specific_range_m_kg", specific_range_m_kg),
        ("climb_distance_m", climb_distance_m),
        ("descent_distance_m", descent_distance_m),
    ):
        require(name, value, at_least=0.0)
    return floats(climb_distance_m + cruise_fuel_kg * specific_range_m_kg + descent_distance_m)


def _require_masses(start_mass_kg: Floats, end_mass_kg: Floats) -> None:
    require("end_mass_kg", end_mass_kg, "kg", above=0.0)
    require("end_mass_kg / start_mass_kg", floats(end_mass_kg / np.asarray(start_mass_kg)), at_most=1.0)


def _require_propulsion(efficiency: Floats, specific_consumption_kg_j: Floats) -> None:
    require("efficiency", efficiency, above=0.0, at_most=1.0)
    require("specific_consumption_kg_j", specific_consumption_kg_j, "kg/J", above=0.0)
