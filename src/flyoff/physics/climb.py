"""Climb: rate, angle, corrections to standard, time and fuel to height, ceilings."""

from typing import NamedTuple

import numpy as np

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array, Floats
from flyoff.core.units import fpm
from flyoff.physics.limits import floats, require, require_positive

SERVICE_CEILING_RATE_M_S = 100 * fpm
"""[m/s] Rate of climb that defines the service ceiling: 100 ft/min, common practice, no source."""


class ClimbProfile(NamedTuple):
    """Sums from the lowest altitude up: time [s], fuel [kg], still-air distance [m]."""

    time_s: Array
    fuel_kg: Array
    distance_m: Array


def rate_of_climb(excess_power_w: Floats, mass_kg: Floats, acceleration_factor: Floats = 0.0) -> Floats:
    r"""Return the rate of climb from excess power.

    .. math:: \dot h = \frac{P_{ex}}{m g (1 + k)}

    Parameters
    ----------
    excess_power_w
        Thrust power less the power of level flight. [W] Any shape.
    mass_kg
        Mass m. [kg] Broadcasts.
    acceleration_factor
        See `acceleration_factor`, above −1. [-] Broadcasts.

    Returns
    -------
    Floats
        Rate of climb, negative where power lacks. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a mass is not above 0 or an acceleration factor not above −1.

    Notes
    -----
    Shallow climb: lift taken as weight.

    References
    ----------
    .. [1] J. D. Anderson, Introduction to Flight, 6.8 (from memory); Society of Flight Test
       Engineers, SFTE Reference Handbook (2013), 12.5.

    Examples
    --------
    >>> f"{rate_of_climb(58840.0, 1200.0):.2f}"
    '5.00'
    """
    require_positive(mass_kg=mass_kg)
    require("acceleration_factor", acceleration_factor, above=-1.0)
    return floats(excess_power_w / (mass_kg * STANDARD_GRAVITY_M_S2) / (1 + np.asarray(acceleration_factor)))


def acceleration_factor(true_airspeed_m_s: Floats, speed_gradient_per_s: Floats) -> Floats:
    r"""Return the share of excess power that a climb spends on gaining speed.

    .. math:: k = \frac{V}{g} \frac{dV}{dh}

    Parameters
    ----------
    true_airspeed_m_s
        True airspeed V. [m/s] Any shape.
    speed_gradient_per_s
        Gain of true airspeed per gain of height dV/dh. [1/s] Broadcasts.

    Returns
    -------
    Floats
        Acceleration factor. [-] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is negative.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.5.1.

    Examples
    --------
    >>> f"{acceleration_factor(50.0, 0.0027):.4f}"
    '0.0138'
    """
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", at_least=0.0)
    return floats(true_airspeed_m_s / STANDARD_GRAVITY_M_S2 * np.asarray(speed_gradient_per_s))


def climb_angle(rate_of_climb_m_s: Floats, true_airspeed_m_s: Floats) -> Floats:
    r"""Return the angle of climb in still air.

    .. math:: \gamma = \arcsin(\dot h / V)

    Parameters
    ----------
    rate_of_climb_m_s
        Rate of climb. [m/s] Any shape.
    true_airspeed_m_s
        True airspeed along the path V, above 0. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Angle; NaN where the rate exceeds the speed. [rad] The broadcast shape.

    Raises
    ------
    ValueError
        If a speed is not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.5.

    Examples
    --------
    >>> f"{climb_angle(5.0, 50.0):.4f}"
    '0.1002'
    """
    require_positive(true_airspeed_m_s=true_airspeed_m_s)
    sine = np.asarray(rate_of_climb_m_s / np.asarray(true_airspeed_m_s))
    return floats(np.arcsin(np.where(np.abs(sine) <= 1, sine, np.nan)))


def geometric_rate_of_climb(
    pressure_rate_m_s: Floats, temperature_k: Floats, standard_temperature_k: Floats
) -> Floats:
    r"""Return the true rate of climb from the rate of change of pressure altitude.

    .. math:: \dot h = \dot H_p T / T_s

    Parameters
    ----------
    pressure_rate_m_s
        Rate of change of pressure altitude. [m/s] Any shape.
    temperature_k
        Temperature of the air T. [K] Broadcasts.
    standard_temperature_k
        Standard temperature of the pressure altitude Ts. [K] Broadcasts.

    Returns
    -------
    Floats
        Rate of climb. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a temperature is not above 0.

    Notes
    -----
    Exact but for humidity and the local gravity.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.5.2 (tapeline
       rate).

    Examples
    --------
    >>> f"{geometric_rate_of_climb(700.0, 293.244, 278.244):.1f}"
    '737.7'
    """
    require_positive(temperature_k=temperature_k, standard_temperature_k=standard_temperature_k)
    return floats(pressure_rate_m_s * np.asarray(temperature_k) / standard_temperature_k)


def rate_of_climb_at_mass(
    *,
    rate_of_climb_m_s: Floats,
    mass_kg: Floats,
    standard_mass_kg: Floats,
    true_airspeed_m_s: Floats,
    density_kg_m3: Floats,
    effective_span_m: Floats,
) -> Floats:
    r"""Return the rate of climb at another mass, speed and power unchanged.

    .. math:: \dot h_s = \dot h \frac{W_t}{W_s} + \frac{2}{\pi b_e^2 \rho V} \frac{W_t^2 - W_s^2}{W_s}

    Parameters
    ----------
    rate_of_climb_m_s
        Rate of climb at the mass as flown. [m/s] Any shape.
    mass_kg
        Mass as flown Wt / g. [kg] Broadcasts.
    standard_mass_kg
        Standard mass Ws / g. [kg] Broadcasts.
    true_airspeed_m_s
        True airspeed V. [m/s] Broadcasts.
    density_kg_m3
        Air density ρ. [kg/m³] Broadcasts.
    effective_span_m
        Effective span, squared b² e. [m] Broadcasts.

    Returns
    -------
    Floats
        Rate of climb at the standard mass. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If an argument but the rate is not above 0.

    Notes
    -----
    Inertia, then induced drag, in the reference's order.

    References
    ----------
    .. [1] Society of Flight Test Engineers, SFTE Reference Handbook (2013), 12.5.2 (weight:
       inertia and induced drag).

    Examples
    --------
    >>> rate = rate_of_climb_at_mass(
    ...     rate_of_climb_m_s=5.0,
    ...     mass_kg=1100.0,
    ...     standard_mass_kg=1200.0,
    ...     true_airspeed_m_s=45.0,
    ...     density_kg_m3=1.0,
    ...     effective_span_m=9.5,
    ... )
    >>> f"{rate:.3f}"
    '4.289'
    """
    require_positive(
        mass_kg=mass_kg,
        standard_mass_kg=standard_mass_kg,
        true_airspeed_m_s=true_airspeed_m_s,
        density_kg_m3=density_kg_m3,
        effective_span_m=effective_span_m,
    )
    inertia_m_s = rate_of_climb_m_s * np.asarray(mass_kg) / standard_mass_kg
    per_newton = 2 / (np.pi * np.square(effective_span_m) * density_kg_m3 * true_airspeed_m_s)
    lighter_n = STANDARD_GRAVITY_M_S2 * (np.square(mass_kg) - np.square(standard_mass_kg)) / standard_mass_kg
    return floats(inertia_m_s + per_newton * lighter_n)


def climb_profile(
    altitude_m: Array, rate_of_climb_m_s: Array, fuel_flow_kg_s: Array, true_airspeed_m_s: Array
) -> ClimbProfile:
    """Return time, fuel and distance from the lowest altitude to each.

    Parameters
    ----------
    altitude_m
        Altitudes, rising. [m] Shape (n,), n at least 2.
    rate_of_climb_m_s
        Rate of climb at each. [m/s] Shape (n, ...).
    fuel_flow_kg_s
        Fuel flow at each. [kg/s] Shape (n, ...) or (n,).
    true_airspeed_m_s
        True airspeed at each. [m/s] Shape (n, ...) or (n,).

    Returns
    -------
    ClimbProfile
        Running sums, each of shape (n, ...); NaN from where the rate is not above 0.

    Raises
    ------
    ValueError
        If altitudes do not rise, or there are fewer than two.

    Notes
    -----
    Rate of climb linear between altitudes (time then exact), flow and speed averaged. Distance is
    along the ground of still air.

    References
    ----------
    .. [1] Integration of dt = dh / rate; for a rate linear to the ceiling the textbook logarithm,
       J. D. Anderson, Introduction to Flight, 6.11 (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> h = np.array([0.0, 1000.0])
    >>> profile = climb_profile(h, np.array([5.0, 5.0]), np.array([0.01, 0.01]), np.array([50.0, 50.0]))
    >>> f"{profile.time_s[-1]:.0f} {profile.fuel_kg[-1]:.1f} {profile.distance_m[-1]:.0f}"
    '200 2.0 9950'
    """
    steps_m = np.diff(altitude_m)
    if len(altitude_m) < 2 or not np.all(steps_m > 0):
        raise ValueError("altitude_m must be at least two altitudes that rise")
    rate = np.where(np.asarray(rate_of_climb_m_s) > 0, rate_of_climb_m_s, np.nan)
    flow, speed = (_like(values, rate) for values in (fuel_flow_kg_s, true_airspeed_m_s))
    low, high = rate[:-1], rate[1:]
    spread = (high - low) / low
    # log1p(x) / x tends to 1 - x/2 as the rates become equal
    near = np.abs(spread) < 1e-6
    mean_inverse = np.where(near, 1 - spread / 2, np.log1p(spread) / np.where(near, 1.0, spread)) / low
    time_s = _like(steps_m, low) * mean_inverse
    along = np.sqrt(np.maximum(np.square(speed) - np.square(rate), 0.0))
    parts = (time_s, time_s * (flow[:-1] + flow[1:]) / 2, time_s * (along[:-1] + along[1:]) / 2)
    zero = np.zeros((1, *rate.shape[1:]))
    return ClimbProfile(*(np.concatenate([zero, np.cumsum(part, axis=0)]) for part in parts))


def ceiling(altitude_m: Array, rate_of_climb_m_s: Array, least_rate_m_s: float = 0.0) -> Floats:
    """Return the lowest altitude at which the rate of climb has fallen to a least rate.

    Parameters
    ----------
    altitude_m
        Altitudes, rising. [m] Shape (n,).
    rate_of_climb_m_s
        Rate of climb at each. [m/s] Shape (n, ...).
    least_rate_m_s
        0 for the absolute ceiling, `SERVICE_CEILING_RATE_M_S` for the service ceiling. [m/s] A
        number.

    Returns
    -------
    Floats
        Altitude, linear between those given; NaN where it is not reached among them, or is below
        the first. [m] Shape (...).

    Raises
    ------
    ValueError
        If altitudes do not rise.

    Notes
    -----
    Never extrapolates.

    References
    ----------
    .. [1] Definition; J. D. Anderson, Introduction to Flight, 6.10 (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> f"{ceiling(np.array([0.0, 4000.0]), np.array([4.0, -1.0])):.0f}"
    '3200'
    """
    if not np.all(np.diff(altitude_m) > 0):
        raise ValueError("altitude_m must be altitudes that rise")
    rate = np.asarray(rate_of_climb_m_s, dtype=np.float64) - least_rate_m_s
    crossing = (rate[:-1] > 0) & (rate[1:] <= 0)
    first = np.argmax(crossing, axis=0)[np.newaxis]
    low = np.take_along_axis(rate, first, axis=0)[0]
    high = np.take_along_axis(rate, first + 1, axis=0)[0]
    found = np.any(crossing, axis=0)
    share = low / np.where(found, low - high, 1.0)
    base_m, top_m = altitude_m[first[0]], altitude_m[first[0] + 1]
    return floats(np.where(found, base_m + share * (top_m - base_m), np.nan))


def _like(values: Array, example: Array) -> Array:
    array = np.asarray(values, dtype=np.float64)
    return array.reshape(array.shape + (1,) * (example.ndim - array.ndim))
