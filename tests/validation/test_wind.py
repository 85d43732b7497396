"""The wind triangle against published examples."""

import math

import pytest

from flyoff.core.units import kt
from flyoff.physics import runway, wind
from helpers.printed import Printed


def _components(runway_deg: float, wind_deg: float, wind_kt: float) -> tuple[float, float]:
    found = runway.runway_wind(math.radians(runway_deg), math.radians(wind_deg), wind_kt * kt)
    return float(found.head_wind_m_s) / kt, float(found.cross_wind_m_s) / kt


CASES = [
    pytest.param(30, 60, 20, "17.32", "10.00",
        marks=pytest.mark.source("avf", where="Headwind and crosswind")),
    pytest.param(180, 220, 30, "23", "19",
        marks=pytest.mark.source("faa-test", where="runway 18, wind 220/30")),
    pytest.param(
        170, 140, 25, "22", "13",
        marks=pytest.mark.source("phak", where="crosswind sample problem", status="from memory"),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("runway_deg", "wind_deg", "wind_kt", "head", "cross"), CASES)
def test_runway_components(check, runway_deg, wind_deg, wind_kt, head, cross):
    head_kt, cross_kt = _components(runway_deg, wind_deg, wind_kt)
    what = f"runway {runway_deg}°, wind {wind_deg}°/{wind_kt} kt"
    check(f"headwind, {what}", head_kt, Printed(head, "kt"))
    check(f"crosswind, {what}", abs(cross_kt), Printed(cross, "kt"))


@pytest.mark.source("instructor", where="runway 25, wind 210/25")
def test_crosswind(check):
    check("crosswind, runway 250°, wind 210°/25 kt", -_components(250, 210, 25)[1], Printed("16", "kt"))


@pytest.mark.source("instructor", where="30 kt wind, 19 kt crosswind limit")
def test_angle_of_limit(check):
    angle = math.radians(39.0)
    limit = float(wind.cross_wind(0.0, angle, 30.0))
    check("crosswind of 30 kt at 39°", limit, Printed("19", "kt"))


@pytest.mark.source("easa-qb", where="17 kt limit, 55°")
def test_strongest_wind(check):
    check(
        "wind of 17 kt across at 55°",
        wind.wind_speed_at_cross_wind(17.0, math.radians(55)),
        Printed("20.75", "kt"),
    )


# The example's three legs: ground speed, track; its solution is TAS 130 and a first heading of 200.
@pytest.mark.source("gray", where="legs 140/192, 112/283, 120/020")
@pytest.mark.parametrize(
    ("ground_kt", "track_deg", "heading_deg"), [(140, 192, 199.67), (112, 283, 287.79), (120, 20, 11.71)]
)
def test_legs_share_one_wind(check, ground_kt, track_deg, heading_deg):
    speed, wind_from = wind.wind_vector(
        math.radians(heading_deg), 130.0, math.radians(track_deg), float(ground_kt)
    )
    heading = wind.heading(math.radians(track_deg), 130.0, math.radians(314.8), 20.63)
    ground = wind.ground_speed(math.radians(track_deg), 130.0, math.radians(314.8), 20.63)
    check(f"ground speed on track {track_deg}°", ground, Printed(str(ground_kt), "kt"))
    if track_deg == 192:
        check("heading of the first leg", math.degrees(heading), Printed("200", "°"))
    assert (speed, math.degrees(wind_from)) == (pytest.approx(20.63, abs=0.1), pytest.approx(314.8, abs=0.5))
