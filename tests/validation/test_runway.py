"""Runway distances against published examples and factors."""

import pytest

from flyoff.physics import runway
from helpers.printed import Printed


@pytest.mark.source("phak", where="wind of 10 % of takeoff speed, ch. 10", status="from memory")
@pytest.mark.parametrize(("wind", "printed"), [(0.1, "-19"), (-0.1, "21")])
def test_wind_of_ten_percent(check, wind, printed):
    change = (float(runway.ground_roll_in_wind(1.0, wind, 1.0, 2.0)) - 1) * 100
    check(f"roll with wind of {wind:+.0%}", change, Printed(printed, "%"))


@pytest.mark.source("phak", where="p. 10-14, 10 % more weight")
def test_weight(check):
    check(
        "landing roll with 10 % more weight", runway.landing_roll_at_condition(1.0, 1.1, 1.0), Printed("1.21")
    )
    printed = Printed("1.275", within=0.025, reason="the source says 25 to 30 %")
    check("takeoff roll with 10 % more weight", runway.takeoff_roll_at_condition(1.0, 1.1, 1.0), printed)


TAKEOFF = {
    "mass_plus_10_percent": "20", "elevation_plus_1000_ft": "10", "temperature_plus_10_c": "10",
    "dry_short_grass": "20", "dry_long_grass": "25", "wet_short_grass": "25", "wet_long_grass": "30",
    "uphill_2_percent": "10", "tailwind_10_percent": "20", "soft_ground": "25",
}  # fmt: skip
LANDING = {
    "mass_plus_10_percent": "10", "elevation_plus_1000_ft": "5", "temperature_plus_10_c": "5",
    "dry_short_grass": "20", "dry_long_grass": "30", "wet_short_grass": "30", "wet_long_grass": "40",
    "uphill_2_percent": "-10", "downhill_1_percent": "5", "tailwind_10_percent": "20", "soft_ground": "25",
}  # fmt: skip


@pytest.mark.source("ssl7", where="table of factors, takeoff")
@pytest.mark.parametrize(("name", "printed"), TAKEOFF.items())
def test_takeoff_factor(check, name, printed):
    increase = float(runway.factored_distance(100.0, (runway.TAKEOFF_FACTORS[name],))) - 100.0
    check(f"takeoff, {runway.TAKEOFF_FACTORS[name].condition}", increase, Printed(printed, "%"))


@pytest.mark.source("ssl7", where="table of factors, landing")
@pytest.mark.parametrize(("name", "printed"), LANDING.items())
def test_landing_factor(check, name, printed):
    increase = float(runway.factored_distance(100.0, (runway.LANDING_FACTORS[name],))) - 100.0
    check(f"landing, {runway.LANDING_FACTORS[name].condition}", increase, Printed(printed, "%"))
