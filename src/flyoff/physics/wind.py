"""The wind triangle. Directions in radians, clockwise from the north that all of them share."""

import numpy as np

from flyoff.core.typing import Floats
from flyoff.physics.limits import floats, require

_TURN = 2 * np.pi


def head_wind(direction_rad: Floats, wind_from_rad: Floats, wind_speed_m_s: Floats) -> Floats:
    r"""Return the wind component against a direction.

    .. math:: W \cos(\theta_w - \theta)

    Parameters
    ----------
    direction_rad
        Runway or course. [rad] Any shape.
    wind_from_rad
        Direction the wind comes from. [rad] Broadcasts.
    wind_speed_m_s
        Wind speed. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Headwind, negative from behind. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a wind speed is negative.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> import math
    >>> f"{head_wind(math.radians(30), math.radians(60), 20.0):.2f}"
    '17.32'
    """
    require("wind_speed_m_s", wind_speed_m_s, "m/s", at_least=0.0)
    return floats(wind_speed_m_s * np.cos(wind_from_rad - direction_rad))


def cross_wind(direction_rad: Floats, wind_from_rad: Floats, wind_speed_m_s: Floats) -> Floats:
    r"""Return the wind component across a direction.

    .. math:: W \sin(\theta_w - \theta)

    Parameters
    ----------
    direction_rad
        Runway or course. [rad] Any shape.
    wind_from_rad
        Direction the wind comes from. [rad] Broadcasts.
    wind_speed_m_s
        Wind speed. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Crosswind, positive from the right. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a wind speed is negative.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> import math
    >>> f"{cross_wind(math.radians(30), math.radians(60), 20.0):.2f}"
    '10.00'
    """
    require("wind_speed_m_s", wind_speed_m_s, "m/s", at_least=0.0)
    return floats(wind_speed_m_s * np.sin(wind_from_rad - direction_rad))


def wind_speed_at_cross_wind(cross_wind_m_s: Floats, angle_rad: Floats) -> Floats:
    """Return the wind speed that has a crosswind component.

    Parameters
    ----------
    cross_wind_m_s
        Crosswind. [m/s] Any shape.
    angle_rad
        Angle between wind and runway, above 0 to below π. [rad] Broadcasts.

    Returns
    -------
    Floats
        Wind speed. [m/s] The broadcast shape.

    Raises
    ------
    ValueError
        If a crosswind is negative or an angle not between 0 and π.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> import math
    >>> f"{wind_speed_at_cross_wind(17.0, math.radians(55)):.2f}"
    '20.75'
    """
    require("cross_wind_m_s", cross_wind_m_s, "m/s", at_least=0.0)
    require("angle_rad", angle_rad, "rad", above=0.0, below=np.pi)
    return floats(cross_wind_m_s / np.sin(angle_rad))


def heading(
    course_rad: Floats, true_airspeed_m_s: Floats, wind_from_rad: Floats, wind_speed_m_s: Floats
) -> Floats:
    r"""Return the heading that holds a course.

    .. math:: \psi = \chi + \arcsin\left(\frac{W}{V} \sin(\theta_w - \chi)\right)

    Parameters
    ----------
    course_rad
        Course over the ground. [rad] Any shape.
    true_airspeed_m_s
        True airspeed. [m/s] Broadcasts.
    wind_from_rad
        Direction the wind comes from. [rad] Broadcasts.
    wind_speed_m_s
        Wind speed. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Heading, 0 to 2π; NaN where the wind across is too strong to hold the course. [rad] The
        broadcast shape.

    Raises
    ------
    ValueError
        If a wind speed is negative or an airspeed not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> f"{heading(0.0, 60.0, 0.0, 10.0):.2f}"
    '0.00'
    """
    drift = _drift_sine(course_rad, true_airspeed_m_s, wind_from_rad, wind_speed_m_s)
    return floats((course_rad + np.arcsin(drift)) % _TURN)


def ground_speed(
    course_rad: Floats, true_airspeed_m_s: Floats, wind_from_rad: Floats, wind_speed_m_s: Floats
) -> Floats:
    r"""Return the speed over the ground along a course.

    .. math::

        V_g = V \sqrt{1 - s^2} - W \cos(\theta_w - \chi), \\
        s = \frac{W}{V} \sin(\theta_w - \chi)

    Parameters
    ----------
    course_rad
        Course over the ground. [rad] Any shape.
    true_airspeed_m_s
        True airspeed. [m/s] Broadcasts.
    wind_from_rad
        Direction the wind comes from. [rad] Broadcasts.
    wind_speed_m_s
        Wind speed. [m/s] Broadcasts.

    Returns
    -------
    Floats
        Ground speed; NaN where the wind is too strong to hold the course or to make way. [m/s]
        The broadcast shape.

    Raises
    ------
    ValueError
        If a wind speed is negative or an airspeed not above 0.

    Notes
    -----
    Exact.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> f"{ground_speed(0.0, 60.0, 0.0, 10.0):.1f}"
    '50.0'
    """
    drift = _drift_sine(course_rad, true_airspeed_m_s, wind_from_rad, wind_speed_m_s)
    speed_m_s = true_airspeed_m_s * np.sqrt(1 - np.square(drift)) - head_wind(
        course_rad, wind_from_rad, wind_speed_m_s
    )
    return floats(np.where(speed_m_s > 0, speed_m_s, np.nan))


def ground_vector(
    heading_rad: Floats, true_airspeed_m_s: Floats, wind_from_rad: Floats, wind_speed_m_s: Floats
) -> tuple[Floats, Floats]:
    """Return ground speed and track from heading and true airspeed.

    Parameters
    ----------
    heading_rad
        Heading. [rad] Any shape.
    true_airspeed_m_s
        True airspeed. [m/s] Broadcasts.
    wind_from_rad
        Direction the wind comes from. [rad] Broadcasts.
    wind_speed_m_s
        Wind speed. [m/s] Broadcasts.

    Returns
    -------
    tuple[Floats, Floats]
        Ground speed [m/s] and track, 0 to 2π [rad], each of the broadcast shape.

    Raises
    ------
    ValueError
        If a speed is negative.

    Notes
    -----
    Exact sum of vectors.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> speed, track = ground_vector(0.0, 50.0, 0.0, 10.0)
    >>> f"{speed:.1f} {track:.1f}"
    '40.0 0.0'
    """
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", at_least=0.0)
    require("wind_speed_m_s", wind_speed_m_s, "m/s", at_least=0.0)
    north = true_airspeed_m_s * np.cos(heading_rad) - wind_speed_m_s * np.cos(wind_from_rad)
    east = true_airspeed_m_s * np.sin(heading_rad) - wind_speed_m_s * np.sin(wind_from_rad)
    return floats(np.hypot(north, east)), floats(np.arctan2(east, north) % _TURN)


def wind_vector(
    heading_rad: Floats, true_airspeed_m_s: Floats, track_rad: Floats, ground_speed_m_s: Floats
) -> tuple[Floats, Floats]:
    """Return wind speed and direction from the air and the ground vector.

    Parameters
    ----------
    heading_rad
        Heading. [rad] Any shape.
    true_airspeed_m_s
        True airspeed. [m/s] Broadcasts.
    track_rad
        Track over the ground. [rad] Broadcasts.
    ground_speed_m_s
        Ground speed. [m/s] Broadcasts.

    Returns
    -------
    tuple[Floats, Floats]
        Wind speed [m/s] and the direction it comes from, 0 to 2π [rad], each of the broadcast
        shape.

    Raises
    ------
    ValueError
        If a speed is negative.

    Notes
    -----
    Exact difference of vectors.

    References
    ----------
    .. [1] E. Williams, Aviation Formulary V1.47, "Wind Triangles".

    Examples
    --------
    >>> speed, wind_from = wind_vector(0.0, 50.0, 0.0, 40.0)
    >>> f"{speed:.1f} {wind_from:.1f}"
    '10.0 0.0'
    """
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", at_least=0.0)
    require("ground_speed_m_s", ground_speed_m_s, "m/s", at_least=0.0)
    north = true_airspeed_m_s * np.cos(heading_rad) - ground_speed_m_s * np.cos(track_rad)
    east = true_airspeed_m_s * np.sin(heading_rad) - ground_speed_m_s * np.sin(track_rad)
    return floats(np.hypot(north, east)), floats(np.arctan2(east, north) % _TURN)


def _drift_sine(
    course_rad: Floats, true_airspeed_m_s: Floats, wind_from_rad: Floats, wind_speed_m_s: Floats
) -> Floats:
    require("true_airspeed_m_s", true_airspeed_m_s, "m/s", above=0.0)
    sine = cross_wind(course_rad, wind_from_rad, wind_speed_m_s) / true_airspeed_m_s
    return floats(np.where(np.abs(sine) <= 1, sine, np.nan))
