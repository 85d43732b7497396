"""Small distances on the ellipsoid: how far a degree reaches at a latitude."""

import math

# World Geodetic System 1984 (NIMA TR8350.2, third edition, table 3.1).
SEMI_MAJOR_M = 6378137.0
ECCENTRICITY_SQUARED = 6.69437999014e-3


def radii_m(latitude_rad: float) -> tuple[float, float]:
    """Return metres for each radian of latitude, and of longitude, at a latitude.

    The meridian's radius of curvature, and the prime vertical's times the
    cosine of the latitude. Good for distances of some tens of kilometres.

    >>> north, east = radii_m(0.0)
    >>> round(north), round(east)
    (6335439, 6378137)
    """
    term = 1 - ECCENTRICITY_SQUARED * math.sin(latitude_rad) ** 2
    meridian = SEMI_MAJOR_M * (1 - ECCENTRICITY_SQUARED) / term**1.5
    return meridian, SEMI_MAJOR_M / math.sqrt(term) * math.cos(latitude_rad)
