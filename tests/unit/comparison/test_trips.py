"""Trips in full: wind aloft, descent, alternates, altitudes, stops, there and back, how often nonstop."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import ndtr

import flyoff.demo
from flyoff.comparison.aloft import steady
from flyoff.comparison.profile import Flown, profile
from flyoff.core.draws import Draws
from flyoff.core.quantity import parse_quantity
from flyoff.core.units import hour, kt, minute, nmi
from flyoff.model import performance
from flyoff.model.fit import fit_handbook
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of, load
from helpers.study_files import write_study

DEMO = Path(flyoff.demo.__file__).parent / "files"
KEY = "plain.trip.over-the-water"
slow = settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
LEVELS = (
    "[terms.aloft.westerly]\nlevels = [\n"
    '{ altitude = "0 ft", direction = "270 °", speed = "10 kt", temperature = "15 °C" },\n'
    '{ altitude = "10,000 ft", direction = "270 °", speed = "30 kt", temperature = "-4.81 °C" } ]\n'
)
SPREAD = '[terms.wind_spread]\nmean = "0 kt"\ndeviation = "20 kt"\n'


def figures(folder, terms="", trip="", tank="200 L", wind="0 kt"):
    write_study(
        folder, study=('wind = "0 kt"', f'wind = "{wind}"'), plain=('usable = "200 L"', f'usable = "{tank}"')
    )
    study = folder / "study.toml"
    text = study.read_text().replace("[[trips]]", f"{terms}[[trips]]")
    study.write_text(text.replace('end = "ESSA"\n', f'end = "ESSA"\n{trip}'))
    return load(folder).figures()


@pytest.fixture(scope="module")
def still(tmp_path_factory):
    return figures(tmp_path_factory.mktemp("still"), trip="there_and_back = true\n")


def test_a_declared_descent_is_flown_as_declared(tmp_path, still):
    descent = '[terms.descent]\nrate = "500 ft/min"\nairspeed = "100 %"\nfuel_flow = "50 %"\n'
    down = figures(tmp_path, descent)
    # ESSA lies at 137 ft: 7,863 ft take 15.7 minutes, at the cruise speed and half its flow.
    took = 7863 / 500 * minute
    assert down[f"{KEY}.time"].si == pytest.approx(still[f"{KEY}.time"].si, rel=1e-3)
    saved = (still[f"{KEY}.fuel"].si - down[f"{KEY}.fuel"].si) / (30e-3 / hour)
    assert saved == pytest.approx(took / 2, rel=0.01)


def test_wind_aloft_helps_one_way_and_hinders_the_other(tmp_path, still):
    blown = figures(tmp_path, LEVELS, 'aloft = "westerly"\nthere_and_back = true\n')
    west, east = blown[f"{KEY}.time"], blown[f"{KEY}-back.time"]
    assert west.si > still[f"{KEY}.time"].si > east.si
    assert blown[f"{KEY}.both_ways"].si == pytest.approx(west.si + east.si)
    assert blown[f"{KEY}.both_ways"].si > still[f"{KEY}.both_ways"].si


def test_a_stop_takes_its_time_on_the_ground(tmp_path):
    waits = 'taxi_time = "10 min"\nground_time = "40 min"\n'
    write_study(
        tmp_path, plain=('usable = "200 L"', 'usable = "75 L"'), study=("reserve =", f"{waits}reserve =")
    )
    found = load(tmp_path).figures()
    assert found[f"{KEY}.stops"].value == 1
    waited = found[f"{KEY}.elapsed"].si - found[f"{KEY}.time"].si
    assert waited == pytest.approx((2 * 10 + 40) * minute)


def test_an_alternate_is_kept_beside_the_reserve(tmp_path, still):
    alternate = figures(tmp_path, trip='alternate_distance = "122 nmi"\n' + SPREAD.replace("terms", "trips"))
    # 122 nmi at 122 kt take one hour at 30 L/h, which the strongest head wind pays for.
    assert alternate[f"{KEY}.time"].si == pytest.approx(still[f"{KEY}.time"].si)
    flying = 200 - 4 - 8 - 22.5 - 30
    hours = 11 / 60 + flying / 30
    air_nmi = 17 + flying / 30 * 122
    distance = load(tmp_path).comparison.trip_legs[0].distance_m / nmi
    strongest = alternate[f"{KEY}.strongest"]
    assert strongest.value == pytest.approx((air_nmi - distance) / hours, rel=5e-3)


def test_how_often_nonstop_is_how_often_the_wind_is_weak_enough(tmp_path):
    often = figures(tmp_path, SPREAD, tank="85 L", trip="there_and_back = true\n")
    strongest = often[f"{KEY}.strongest"]
    assert often[f"{KEY}.share"].si == pytest.approx(float(ndtr(strongest.si / (20 * kt))), abs=6e-4)
    assert 0 < often[f"{KEY}.share"].si < 1


def test_a_table_of_winds_counts_those_weak_enough(tmp_path):
    table = '[terms.wind_spread]\ntable = ["-30 kt", "0 kt", "60 kt", "110 kt"]\n'
    assert figures(tmp_path, table)[f"{KEY}.share"].si in (0.5, 0.75)


def test_the_best_altitude_obeys_the_oxygen_rule(tmp_path):
    best = 'best_altitude = "time"\n'
    free = figures(tmp_path / "a", trip=best)
    assert free[f"{KEY}.altitude"].value == 12_000
    write_study(tmp_path / "b", study=("reserve =", 'oxygen_rule = "European"\nreserve ='))
    study = tmp_path / "b/study.toml"
    study.write_text(study.read_text().replace('end = "ESSA"\n', f'end = "ESSA"\n{best}'))
    bound = load(tmp_path / "b").figures()[f"{KEY}.altitude"]
    assert bound.value == 8_000
    assert "NCO.OP.190" in bound.remarks[0]


def test_an_altitude_that_needs_oxygen_is_said(tmp_path):
    write_study(tmp_path, study=("reserve =", 'oxygen_rule = "European"\nreserve ='))
    study = tmp_path / "study.toml"
    study.write_text(study.read_text().replace('end = "ESSA"\n', 'end = "ESSA"\naltitude = "12,000 ft"\n'))
    assert any("without oxygen" in remark for remark in load(tmp_path).figures()[f"{KEY}.time"].remarks)


def test_a_reserve_larger_than_the_tanks_is_said_and_the_rest_answered(tmp_path):
    found = figures(tmp_path, tank="20 L")
    assert found["plain.range"].missing == "the reserve is more than the tanks hold"
    assert found["plain.cruise_speed"].si is not None


def test_each_rule_keeps_its_minutes(still):
    day, night = (still[f"plain.endurance?reserve=us-visual-by-{when}"] for when in ("day", "night"))
    assert day.si - night.si == pytest.approx(15 * minute)
    assert still["plain.range?reserve=us-instrument"].remarks
    assert "91.151" in day.trace.source


@slow
@given(st.integers(0, 40), st.integers(1, 40))
def test_there_and_back_is_never_faster_in_wind(tmp_path, still, wind, more):
    blown = figures(tmp_path, trip="there_and_back = true\n", wind=f"{wind + more} kt")
    assert blown[f"{KEY}.both_ways"].si >= still[f"{KEY}.both_ways"].si


def test_a_fitted_airplane_agrees_with_a_general_solver():
    folder = read_folder(DEMO)
    dossier = next(d for d in folder.dossiers if d.key == "kattun")
    case = case_of(folder, dossier, Draws(3), {})
    fit = fit_handbook(dossier, fuel_density_kg_m3=case.fuel.density.si, draws=case.draws)
    case = replace(case, kind="fitted", evidences=replace(case.evidences, fitted=fit, flights=("day",)))
    air = steady(parse_quantity("12 kt", "speed"), parse_quantity("0 °C", "temperature_difference"))
    way = profile(case, 300.0, Flown(2438.4, air))
    time, fuel = way.over(500 * nmi)
    power = case.terms.power.si * fit.known.rated_power_w
    options = float(way.cruise.true_airspeed_m_s[0]) - float(
        performance.level_speed(
            fit.nominal, power, performance.standard_air(2438.4, case.masses_kg(300.0)[1])
        )
    )
    flow = float(performance.cruise_fuel_flow(fit.nominal, power))

    def slope(_, state):
        air_there = performance.standard_air(2438.4, float(way.start_kg[0]) - state[0])
        ground = float(performance.level_speed(fit.nominal, power, air_there)) + options - 12 * kt
        return [flow / ground, 1 / ground]

    level = 500 * nmi - float(way.climb.ground_m[0] + way.descent.ground_m[0])
    solved = solve_ivp(slope, (0.0, level), [0.0, 0.0], rtol=1e-9, atol=1e-9)
    assert fuel[0] == pytest.approx(float(way.aside_kg[0]) + solved.y[0, -1], rel=3e-4)
    assert time[0] == pytest.approx(
        float(way.climb.time_s[0] + way.descent.time_s[0]) + solved.y[1, -1], rel=3e-4
    )
    assert np.isfinite(fuel).all()


def test_a_trip_that_ends_too_heavy_to_land_is_named(tmp_path):
    """Start with all that fits, less what is burnt, is above a landing limit just below it; by hand."""
    limit = ('takeoff = "1,100 kg"', 'takeoff = "1,100 kg"\nlanding = "980 kg"')
    study = load(write_study(tmp_path, plain=limit))
    every, case = study.figures(), study.cases[0]
    density = case.fuel.density.si
    fuel_kg = (every["plain.fuel_within_limits"].si - every["plain.trip.over-the-water.fuel"].si) * density
    over_kg = float(case.empty_kg[0]) + case.loading.mass_kg + fuel_kg - 980
    assert over_kg > 1
    said = [r for r in every["plain.trip.over-the-water.time"].remarks if "landing weight" in r]
    assert said
    assert f"arrives {over_kg:.0f} kg above the landing weight of 980 kg" in said[0]
