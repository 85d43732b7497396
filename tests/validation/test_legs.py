"""True airspeed and wind from ground velocities, against a published example and published closed forms."""

import math

import numpy as np
import pytest

from flyoff.core.units import degree, kt
from flyoff.reduction.legs import WindSolution, solve_legs
from helpers.printed import Printed


def _solve(ground_kt_deg: list[tuple[float, float]]) -> WindSolution:
    ground = np.array(
        [[v * math.cos(math.radians(t)), v * math.sin(math.radians(t))] for v, t in ground_kt_deg]
    )
    return solve_legs(ground * kt, np.tile(np.eye(2) * (0.3 * kt) ** 2, (len(ground), 1, 1)))


@pytest.mark.source("gray", where="example of three legs", status="opened 2nd-hand")
def test_three_legs_at_any_headings(check):
    legs = [(140.0, 192.0), (112.0, 283.0), (120.0, 20.0)]
    solution = _solve(legs)
    check("true airspeed of three legs", solution.true_airspeed.value / kt, Printed("130", "kt"))
    ground = np.array([[v * math.cos(math.radians(t)), v * math.sin(math.radians(t))] for v, t in legs]) * kt
    check("heading of the first leg", solution.headings_rad(ground)[0] / degree, Printed("200", "°"))


def _ground_speeds(tas: float, wind_from: float, wind: float, directions: tuple[float, ...], by: str):
    """Return (ground speed, track) by the wind triangle, for headings or for tracks."""
    legs = []
    for direction in directions:
        if by == "heading":
            north = tas * math.cos(math.radians(direction)) - wind * math.cos(math.radians(wind_from))
            east = tas * math.sin(math.radians(direction)) - wind * math.sin(math.radians(wind_from))
            legs.append((math.hypot(north, east), math.degrees(math.atan2(east, north))))
        else:
            angle = math.radians(wind_from - direction)
            along = math.sqrt(tas**2 - (wind * math.sin(angle)) ** 2) - wind * math.cos(angle)
            legs.append((along, direction))
    return legs


@pytest.mark.source("avf", where="TAS and windspeed from three GPS ground speeds, headings 120 degrees apart")
def test_three_headings_120_degrees_apart(check):
    legs = _ground_speeds(120, 290, 20, (40, 160, 280), "heading")
    v = [speed**2 for speed, _ in legs]
    mean = sum(v) / 3
    spread = sum((x / mean - 1) ** 2 for x in v) / 6
    root = mean * (1 + math.sqrt(1 - 4 * spread)) / 2  # roots of x² - mean x + mean² spread
    solution = _solve(legs)
    check("true airspeed", solution.true_airspeed.value / kt, Printed(f"{math.sqrt(root):.3f}", "kt"))
    check("wind", solution.wind_speed.value / kt, Printed(f"{math.sqrt(mean - root):.3f}", "kt"))
    check("wind from", solution.wind_from_rad / degree, Printed("290", "°"))


@pytest.mark.source("sfte", where="ch. 4, three perpendicular ground tracks")
def test_three_perpendicular_tracks(check):
    legs = _ground_speeds(150, 70, 25, (360, 90, 180), "track")
    v1, v2, v3 = (speed for speed, _ in legs)
    tas = 0.5 * math.sqrt(v1**2 + v2**2 + v3**2 + (v1 * v3 / v2) ** 2)
    solution = _solve(legs)
    check("true airspeed", solution.true_airspeed.value / kt, Printed(f"{tas:.3f}", "kt"))


@pytest.mark.source("sfte", where="ch. 4, three perpendicular headings")
def test_three_perpendicular_headings(check):
    legs = _ground_speeds(150, 70, 25, (0, 90, 180), "heading")
    solution = _solve(legs)
    wind = solution.wind_speed.value / kt
    tas = math.sqrt((legs[0][0] ** 2 + legs[2][0] ** 2) / 2 - wind**2)
    check("true airspeed", solution.true_airspeed.value / kt, Printed(f"{tas:.3f}", "kt"))
    check("ground speed of the first leg", legs[0][0], Printed("143.3871", "kt"))
