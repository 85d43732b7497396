"""Runway distances, the handling scale and sound levels against published examples and texts."""

from pathlib import Path

import pytest

from flyoff.comparison.case import Case
from flyoff.comparison.distances import Weather, distances
from flyoff.core.draws import Draws
from flyoff.core.units import celsius, ft, kt
from flyoff.flights import cooper_harper
from flyoff.physics import runway, sound
from flyoff.physics.atmosphere import temperature_at_altitude
from helpers.printed import Printed
from helpers.runways import case_in, with_runways


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


def _case(folder: Path, kind: str, rows: str, notes: str = "") -> Case:
    """Return the plain airplane with one published runway table."""
    tables = f"""[[tables]]
kind = "{kind}"
file = "plain/published.csv"
axes = ["pressure altitude"]
weight = "1,100 kg"
{notes}"""
    with_runways(folder, tables=tables)
    head = "pressure altitude [ft],ground roll [ft],total distance [ft]"
    (folder / "aircraft/plain/published.csv").write_text(f"{head}\n{rows}", "utf-8")
    return case_in(folder, Draws(10))


@pytest.mark.source("phak", where="figure 10-20, between 2,000 ft and 3,000 ft at 20 °C")
def test_takeoff_table_between_altitudes(check, tmp_path):
    case = _case(tmp_path, "takeoff", "2000,1115,2230\n3000,1230,2460\n")
    weather = Weather(2500 * ft, float(temperature_at_altitude(2500 * ft)))
    found = distances(case, "takeoff", weather, 1100.0)
    check("ground roll", found.roll_m[0] / ft, Printed("1173", "ft", within=0.5, reason="1,172.5 rounded up"))


LANDINGS = {"7,500 ft": ("7500,1255,1255", 7500, "1004"), "5,000 ft": ("5000,1195,1195", 5000, "956"),
            "1,250 ft": ("0,445,445\n2500,470,470", 1250, "366")}  # fmt: skip


@pytest.mark.source("faa-test", where="landing distance items: 8 kt head wind, 10 % off for each 4 kt")
@pytest.mark.parametrize("name", LANDINGS)
def test_landing_table_with_its_note_on_wind(check, tmp_path, name):
    rows, feet, printed = LANDINGS[name]
    case = _case(tmp_path, "landing", f"{rows}\n", 'head_wind_tenth = "4 kt"\n')
    weather = Weather(feet * ft, float(temperature_at_altitude(feet * ft)), 8 * kt)
    found = distances(case, "landing", weather, 1100.0)
    check(f"landing at {name}", found.total_m[0] / ft, Printed(printed, "ft"))


@pytest.mark.source("ssl7", where="table of factors: grass, slope and 20 °C, one on another")
def test_factors_one_on_another(check, tmp_path):
    case = _case(tmp_path, "takeoff", "0,1000,1000\n")
    weather = Weather(0.0, celsius(25.0), slope=0.02, surface="short grass")
    found = distances(case, "takeoff", weather, 1100.0)
    # 1.20 grass, 1.10 uphill, 1.10 for 10 °C above the table's
    check("distance", found.total_m[0] / ft, Printed("1452", "ft"))


BANDS = {"controllable": "9", "adequate": "6", "satisfactory": "3"}


@pytest.mark.source("tn-d-5153", where="figure 7, the three decisions")
@pytest.mark.parametrize(("decision", "printed"), BANDS.items())
def test_highest_rating_of_a_decision(check, decision, printed):
    agreed = [r for r in cooper_harper.SCALE if not list(cooper_harper.contradictions(r, **{decision: True}))]
    check(f"highest rating that is {decision}", float(max(agreed)), Printed(printed))


@pytest.mark.source(
    "iso-1996", where="3.6: two equal levels' energy doubled is 3.0 dB more", status="from memory"
)
def test_level_of_a_mean_energy(check):
    # half of the time silent: the level is 10 lg 2 lower
    check("80 dB half of the time", float(sound.mean_level([80.0, -200.0])), Printed("77.0", "dB"))
