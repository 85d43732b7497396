"""Ranges in every direction, in a wind from the west, for the invented airplanes."""

import numpy as np

from flyoff.comparison.places import Spot
from flyoff.comparison.results import RangeRing
from flyoff.core.units import ft, nmi

PLACES = (
    Spot("EKCH", "Copenhagen", 55.618, 12.656, 17 * ft, "tests"),
    Spot("EKVG", "Vagar", 62.064, -7.277, 280 * ft, "tests"),
    Spot("ESSB", "Bromma", 59.354, 17.940, 47 * ft, "tests"),
    Spot("LFMD", "Mandelieu", 43.546, 6.954, 13 * ft, "tests"),
)
_COURSES = np.radians(np.arange(0.0, 360.0, 2.0))
RINGS = tuple(
    RangeRing(aircraft, _COURSES, (still + drift * np.sin(_COURSES)) * nmi)
    for aircraft, still, drift in (
        ("lomvi", 872.0, 95.0), ("tjaldur", 798.0, 80.0), ("rita", 742.0, 78.0), ("lundi", 905.0, 75.0),
    )
)  # fmt: skip
