"""Shortest lines over the Earth."""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from geographiclib.geodesic import Geodesic

from flyoff.core.typing import Array, Floats
from flyoff.physics.limits import floats, require


@dataclass(frozen=True)
class Ellipsoid:
    """A figure of the Earth: semi-major axis [m] and flattening; 0 is a sphere."""

    semi_major_axis_m: float
    flattening: float


WGS84 = Ellipsoid(6378137.0, 1 / 298.257223563)
"""World Geodetic System 1984: NIMA TR8350.2, Table 3.1 (from memory)."""


def geodesic_distance(
    latitude_1_rad: Floats,
    longitude_1_rad: Floats,
    latitude_2_rad: Floats,
    longitude_2_rad: Floats,
    ellipsoid: Ellipsoid = WGS84,
) -> Floats:
    """Return the length of the shortest line.

    Parameters
    ----------
    latitude_1_rad
        Latitude of the start. [rad] Any shape.
    longitude_1_rad
        Longitude of the start. [rad] Broadcasts.
    latitude_2_rad
        Latitude of the end. [rad] Broadcasts.
    longitude_2_rad
        Longitude of the end. [rad] Broadcasts.
    ellipsoid
        Figure of the Earth.

    Returns
    -------
    Floats
        Distance. [m] The broadcast shape.

    Raises
    ------
    ValueError
        If a latitude is outside −π/2 to π/2.

    Notes
    -----
    Accurate to nanometres on the ellipsoid; heights ignored.

    References
    ----------
    .. [1] C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), 43-55; by the
       library geographiclib.

    Examples
    --------
    >>> import math
    >>> f"{geodesic_distance(0.0, 0.0, 0.0, math.radians(1)):.1f}"
    '111319.5'
    """
    return _inverse(ellipsoid, latitude_1_rad, longitude_1_rad, latitude_2_rad, longitude_2_rad)[0]


def initial_course(
    latitude_1_rad: Floats,
    longitude_1_rad: Floats,
    latitude_2_rad: Floats,
    longitude_2_rad: Floats,
    ellipsoid: Ellipsoid = WGS84,
) -> Floats:
    """Return the true course at the start of the shortest line.

    Parameters
    ----------
    latitude_1_rad
        Latitude of the start. [rad] Any shape.
    longitude_1_rad
        Longitude of the start. [rad] Broadcasts.
    latitude_2_rad
        Latitude of the end. [rad] Broadcasts.
    longitude_2_rad
        Longitude of the end. [rad] Broadcasts.
    ellipsoid
        Figure of the Earth.

    Returns
    -------
    Floats
        Course, 0 to 2π. [rad] The broadcast shape.

    Raises
    ------
    ValueError
        If a latitude is outside −π/2 to π/2.

    Notes
    -----
    As accurate as `geodesic_distance`; arbitrary between equal points and antipodes.

    References
    ----------
    .. [1] C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), 43-55; by the
       library geographiclib.

    Examples
    --------
    >>> import math
    >>> f"{math.degrees(initial_course(0.0, 0.0, 0.0, math.radians(1))):.1f}"
    '90.0'
    """
    return _inverse(ellipsoid, latitude_1_rad, longitude_1_rad, latitude_2_rad, longitude_2_rad)[1]


def destination(
    latitude_rad: Floats,
    longitude_rad: Floats,
    course_rad: Floats,
    distance_m: Floats,
    ellipsoid: Ellipsoid = WGS84,
) -> tuple[Floats, Floats]:
    """Return where the shortest line on a course leads.

    Parameters
    ----------
    latitude_rad
        Latitude of the start. [rad] Any shape.
    longitude_rad
        Longitude of the start. [rad] Broadcasts.
    course_rad
        True course at the start. [rad] Broadcasts.
    distance_m
        Distance. [m] Broadcasts.
    ellipsoid
        Figure of the Earth.

    Returns
    -------
    tuple[Floats, Floats]
        Latitude and longitude, −π to π. [rad] Each of the broadcast shape.

    Raises
    ------
    ValueError
        If a latitude is outside −π/2 to π/2.

    Notes
    -----
    Accurate to nanometres on the ellipsoid.

    References
    ----------
    .. [1] C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), 43-55; by the
       library geographiclib.

    Examples
    --------
    >>> import math
    >>> latitude, longitude = destination(0.0, 0.0, math.pi / 2, 111319.5)
    >>> f"{math.degrees(longitude):.4f}"
    '1.0000'
    """
    _require_latitude("latitude_rad", latitude_rad)
    geodesic = _geodesic(ellipsoid)

    def one(latitude: float, longitude: float, course: float, distance_m: float) -> tuple[float, float]:
        if np.isnan([latitude, longitude, course, distance_m]).any():
            return np.nan, np.nan
        end = geodesic.Direct(latitude, longitude, course, distance_m)
        return end["lat2"], end["lon2"]

    latitude, longitude = _each(
        one, np.degrees(latitude_rad), np.degrees(longitude_rad), np.degrees(course_rad), distance_m
    )
    return floats(np.radians(latitude)), floats(np.radians(longitude))


def points_along(
    latitude_1_rad: float,
    longitude_1_rad: float,
    latitude_2_rad: float,
    longitude_2_rad: float,
    share: Floats,
    ellipsoid: Ellipsoid = WGS84,
) -> tuple[Floats, Floats]:
    """Return points on the shortest line.

    Parameters
    ----------
    latitude_1_rad
        Latitude of the start. [rad] Any shape.
    longitude_1_rad
        Longitude of the start. [rad] Broadcasts.
    latitude_2_rad
        Latitude of the end. [rad] Broadcasts.
    longitude_2_rad
        Longitude of the end. [rad] Broadcasts.
    share
        Shares of the distance. [-] Any shape.
    ellipsoid
        Figure of the Earth.

    Returns
    -------
    tuple[Floats, Floats]
        Latitude and longitude, −π to π. [rad] Each of the shape of the shares.

    Raises
    ------
    ValueError
        If a latitude is outside −π/2 to π/2.

    Notes
    -----
    Accurate to nanometres on the ellipsoid.

    References
    ----------
    .. [1] C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), 43-55; by the
       library geographiclib.

    Examples
    --------
    >>> latitude, longitude = points_along(0.0, 0.0, 0.0, 0.2, 0.5)
    >>> f"{longitude:.2f}"
    '0.10'
    """
    ends = (latitude_1_rad, longitude_1_rad, latitude_2_rad, longitude_2_rad)
    distance_m, course_rad = _inverse(ellipsoid, *ends)
    return destination(latitude_1_rad, longitude_1_rad, course_rad, floats(share * distance_m), ellipsoid)


@cache
def _geodesic(ellipsoid: Ellipsoid) -> Any:
    return Geodesic(ellipsoid.semi_major_axis_m, ellipsoid.flattening)


def _inverse(ellipsoid: Ellipsoid, *ends_rad: Floats) -> tuple[Floats, Floats]:
    _require_latitude("latitude_1_rad", ends_rad[0])
    _require_latitude("latitude_2_rad", ends_rad[2])
    geodesic = _geodesic(ellipsoid)

    def one(*ends_deg: float) -> tuple[float, float]:
        if np.isnan(ends_deg).any():
            return np.nan, np.nan
        line = geodesic.Inverse(*ends_deg)
        return line["s12"], line["azi1"] % 360

    distance_m, course_deg = _each(one, *(np.degrees(end) for end in ends_rad))
    return floats(distance_m), floats(np.radians(course_deg))


def _each(function: Any, *arguments: Floats) -> tuple[Array, Array]:
    first, second = np.vectorize(function, otypes=[np.float64, np.float64])(*arguments)
    return first, second


def _require_latitude(name: str, latitude_rad: Floats) -> None:
    require(name, latitude_rad, "rad", at_least=-np.pi / 2, at_most=np.pi / 2)
