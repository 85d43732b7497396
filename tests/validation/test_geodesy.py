"""Geodesics against published examples and a general library."""

import math

import numpy as np
import pyproj
import pytest

from flyoff.core.units import nmi
from flyoff.physics import geodesy
from helpers.printed import Printed

SPHERE = geodesy.Ellipsoid(10800 / math.pi * nmi, 0.0)
LAX = (math.radians(33 + 57 / 60), -math.radians(118 + 24 / 60))
JFK = (math.radians(40 + 38 / 60), -math.radians(73 + 47 / 60))


def dms(degrees: float, minutes: float, seconds: float) -> float:
    return math.radians(math.copysign(abs(degrees) + minutes / 60 + seconds / 3600, degrees))


@pytest.mark.source("avf", where="Great circle examples, coast to coast")
@pytest.mark.parametrize("what", ["distance", "radians", "course", "course in degrees", "100 NM", "40 %"])
def test_great_circle(check, what):
    distance = float(geodesy.geodesic_distance(*LAX, *JFK, SPHERE))
    course = float(geodesy.initial_course(*LAX, *JFK, SPHERE))
    if what == "distance":
        check("great-circle distance", distance / nmi, Printed("2144", "NM"))
    elif what == "radians":
        check("great-circle angle", distance / SPHERE.semi_major_axis_m, Printed("0.623585", "rad"))
    elif what == "course":
        check("initial course", course, Printed("1.150035", "rad"))
    elif what == "course in degrees":
        check("initial course in degrees", math.degrees(course), Printed("66", "°"))
    elif what == "100 NM":
        latitude, longitude = np.degrees(geodesy.destination(*LAX, course, 100 * nmi, SPHERE))
        check("latitude after 100 NM, minutes past 34°", (latitude - 34) * 60, Printed("37", "'"))
        check("longitude after 100 NM, minutes past 116° W", (-longitude - 116) * 60, Printed("33", "'"))
    else:
        latitude, longitude = np.degrees(geodesy.points_along(*LAX, *JFK, 0.4, SPHERE))
        check(
            "latitude at 40 %, minutes past 38°",
            (latitude - 38) * 60,
            Printed("40.167", "'", within=0.01, reason="the source carries six digits"),
        )
        check(
            "longitude at 40 %, minutes past 101° W",
            (-longitude - 101) * 60,
            Printed("37.570", "'", within=0.01, reason="the source carries six digits"),
        )


@pytest.mark.source("movable", where="50 03 59 N 5 42 53 W to 58 38 38 N 3 04 12 W")
def test_great_circle_on_mean_sphere(check):
    ends = (dms(50, 3, 59), dms(-5, 42, 53), dms(58, 38, 38), dms(-3, 4, 12))
    sphere = geodesy.Ellipsoid(6371000.0, 0.0)
    check("distance", float(geodesy.geodesic_distance(*ends, sphere)) / 1000, Printed("968.9", "km"))
    course = math.degrees(geodesy.initial_course(*ends, sphere))
    check("initial course, seconds past 9°", (course - 9) * 3600, Printed("431", '"'))


@pytest.mark.source("karney", where="41.32 S 174.81 E to 40.96 N 5.50 W", status="from memory")
def test_nearly_antipodal(check):
    ends = np.radians([-41.32, 174.81, 40.96, -5.50])
    check("distance", geodesy.geodesic_distance(*ends), Printed("19959679.267", "m"))


@pytest.mark.source("vincenty", where="worked example on GRS 80", status="from memory")
def test_survey_example(check):
    grs80 = geodesy.Ellipsoid(6378137.0, 1 / 298.257222101)
    start, end = (
        (dms(-37, 57, 3.72030), dms(144, 25, 29.52440)),
        (dms(-37, 39, 10.15610), dms(143, 55, 35.38390)),
    )
    check("distance", geodesy.geodesic_distance(*start, *end, grs80), Printed("54972.271", "m"))
    course = math.degrees(geodesy.initial_course(*start, *end, grs80))
    check("initial course, seconds past 306°52'", (course - 306) * 3600 - 52 * 60, Printed("5.37", '"'))
    back = math.degrees(geodesy.initial_course(*end, *start, grs80))
    check("reverse course, seconds past 127°10'", (back - 127) * 3600 - 10 * 60, Printed("25.07", '"'))


@pytest.mark.source("pyproj", where="Geod(ellps=WGS84), 500 random pairs")
def test_against_pyproj(check):
    rng = np.random.default_rng(7)
    latitude = np.degrees(np.arcsin(rng.uniform(-1, 1, (2, 500))))
    longitude = rng.uniform(-180, 180, (2, 500))
    azimuth, _, distance = pyproj.Geod(ellps="WGS84").inv(
        longitude[0], latitude[0], longitude[1], latitude[1]
    )
    ends = [np.radians(a) for a in (latitude[0], longitude[0], latitude[1], longitude[1])]
    worst = np.max(np.abs(geodesy.geodesic_distance(*ends) - distance))
    turn = np.degrees(geodesy.initial_course(*ends)) - azimuth
    check("worst difference of distance", worst, Printed("0.000", "m"))
    check("worst difference of course", np.max(np.abs((turn + 180) % 360 - 180)), Printed("0.000000", "°"))
