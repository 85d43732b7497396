"""The demo's dossiers read, and contradict neither physics nor themselves."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from flyoff.comparison.equipment import equip
from flyoff.core.problems import Collector
from flyoff.core.units import ft, hour, hp, kt, lb
from flyoff.demo.designs import DESIGNS
from flyoff.demo.handbook import HANDBOOKS, tables
from flyoff.dossier.loading import load
from flyoff.dossier.read import Dossier, read_dossier, read_sources
from flyoff.physics.balance import arm_limits

FILES = Path(str(files("flyoff.demo") / "files"))
KEYS = tuple(DESIGNS)
EQUIPMENT = ("autopilot", "ice protection", "traffic receiver")
FAMILY_KG, BAGS_KG = (70.0, 86.0, 55.0, 40.0), 40.0
DENSITY = {"avgas": 720.0, "jet-a1": 800.0}
GRID = np.arange(0, 8001, 2000) * ft


@pytest.fixture(scope="module")
def dossiers() -> dict[str, Dossier]:
    collector = Collector()
    sources = read_sources(FILES / "sources.toml", "sources.toml", collector)
    found = {
        key: read_dossier(FILES / "aircraft" / f"{key}.toml", f"aircraft/{key}.toml", sources, collector)
        for key in KEYS
    }
    collector.raise_any()
    return {key: dossier for key, dossier in found.items() if dossier is not None}


def cruise(dossier: Dossier, result: str, altitude_m: object, power: float) -> np.ndarray:
    table = dossier.tables["cruise"]
    return table.read(
        result, pressure_altitude=np.asarray(altitude_m), ISA_deviation=0.0, percent_power=power
    )


def test_all_read(dossiers: dict[str, Dossier]) -> None:
    assert set(dossiers) == set(KEYS)


@pytest.mark.parametrize("key", KEYS)
def test_file_and_design_agree(dossiers: dict[str, Dossier], key: str) -> None:
    airplane, design = dossiers[key].airplane, DESIGNS[key]
    assert airplane.weights.takeoff.si == pytest.approx(design.takeoff_mass_kg, abs=0.01)
    assert airplane.engine.rated_power.si == pytest.approx(design.rated_power_w, rel=1e-6)
    assert airplane.engine.rated_speed.si == pytest.approx(design.rated_rotation_speed_hz, rel=1e-6)
    assert airplane.airframe.wing_area.si == pytest.approx(design.wing_area_m2, rel=1e-6)
    assert airplane.airframe.span.si == pytest.approx(design.span_m, rel=1e-6)
    assert airplane.propeller.diameter.si == pytest.approx(design.propeller_diameter_m, rel=1e-6)
    speeds = airplane.speeds
    assert speeds.stall_clean and speeds.stall_landing and speeds.approach
    for said, computed in (
        (speeds.stall_clean, design.stall_speed(design.lift_coefficient_clean)),
        (speeds.stall_landing, design.stall_speed(design.lift_coefficient_landing)),
        (speeds.approach, 1.3 * design.stall_speed(design.lift_coefficient_landing)),
    ):
        assert said.si == pytest.approx(computed, abs=1.2 * said.half_digit_si)
    for record in airplane.tables:
        if record.kind == "cruise":
            assert record.weight is not None
            assert record.weight.si == pytest.approx(HANDBOOKS[key].cruise_mass_kg)


@pytest.mark.parametrize("key", KEYS)
def test_specific_consumption_is_of_its_kind(dossiers: dict[str, Dossier], key: str) -> None:
    dossier = dossiers[key]
    engine = dossier.airplane.engine
    flow_kg_s = cruise(dossier, "fuel flow", 8000 * ft, 0.65) * DENSITY[engine.fuel]
    specific = float(flow_kg_s) / (0.65 * engine.rated_power.si) / (lb / hp / hour)
    low, high = (0.33, 0.38) if engine.ignition == "compression" else (0.36, 0.50)
    assert low < specific < high


@pytest.mark.parametrize("key", KEYS)
def test_speed_rises_with_height_at_constant_power(dossiers: dict[str, Dossier], key: str) -> None:
    # Between the cube root of the density, 1.0 % per 1,000 ft, and nothing: drag due to lift takes its part.
    speeds = cruise(dossiers[key], "true airspeed", GRID, 0.65)
    assert np.all(np.diff(speeds) > 0)
    assert 0.5 < 100 * (speeds[-1] / speeds[0] - 1) / 8 < 1.1


def test_the_turbocharged_one_is_behind_low_and_ahead_high(dossiers: dict[str, Dossier]) -> None:
    def best(key: str, altitude_ft: float) -> float:
        """Return the speed at the highest power up to 65 % that the handbook prints there."""
        powers = [p for p in dossiers[key].tables["cruise"].axes[2].si if p <= 0.65]
        return float(np.nanmax([cruise(dossiers[key], "true airspeed", altitude_ft * ft, p) for p in powers]))

    for rival in ("kattun", "musselin"):
        assert best("damast", 2000) < best(rival, 2000)
        assert best("damast", 10_000) > best(rival, 10_000)


@pytest.mark.parametrize("key", KEYS)
def test_equal_terms_can_be_met(dossiers: dict[str, Dossier], key: str) -> None:
    fit = equip(dossiers[key], EQUIPMENT)
    assert not fit.lacking
    assert 6 <= len(dossiers[key].airplane.options) <= 9


def test_equal_terms_need_other_options_at_each(dossiers: dict[str, Dossier]) -> None:
    added = [frozenset(o.name for o in equip(d, EQUIPMENT).added) for d in dossiers.values()]
    assert len(set(added)) == len(KEYS)


@pytest.mark.parametrize("key", KEYS)
def test_a_family_is_inside_the_envelope(dossiers: dict[str, Dossier], key: str) -> None:
    dossier = dossiers[key]
    airplane, fit = dossier.airplane, equip(dossier, EQUIPMENT)
    loading = load(airplane, FAMILY_KG, BAGS_KG)
    assert not loading.shortfall
    changes = sum(o.weight.si for o in fit.added) - sum(o.weight.si for o in fit.removed)
    zero_fuel = airplane.weights.empty.si + changes + loading.mass_kg
    usable = sum(tank.usable.si for tank in airplane.tanks) * DENSITY[airplane.engine.fuel]
    fuel = np.linspace(0, min(usable, airplane.weights.takeoff.si - zero_fuel), 9)
    assert fuel[-1] > 70, "fuel for a trip is left beside the family"
    arm = sum(t.usable.si * t.arm.si for t in airplane.tanks) / sum(t.usable.si for t in airplane.tanks)
    mass = zero_fuel + fuel
    at = (fit.empty_moment_kg_m + loading.moment_kg_m + fuel * arm) / mass
    edge = airplane.envelopes[0].points
    forward, aft = arm_limits(
        mass, np.array([point.arm.si for point in edge]), np.array([point.weight.si for point in edge])
    )
    assert np.all(forward < at) and np.all(at < aft)
    if airplane.weights.zero_fuel:
        assert zero_fuel < airplane.weights.zero_fuel.si


@pytest.mark.parametrize("key", KEYS)
def test_a_lone_pilot_is_inside_the_envelope(dossiers: dict[str, Dossier], key: str) -> None:
    airplane = dossiers[key].airplane
    loading = load(airplane, (80.0,), 0.0)
    mass = airplane.weights.empty.si + loading.mass_kg
    at = (airplane.weights.empty.si * airplane.weights.empty_arm.si + loading.moment_kg_m) / mass
    edge = airplane.envelopes[0].points
    forward, aft = arm_limits(
        mass, np.array([point.arm.si for point in edge]), np.array([point.weight.si for point in edge])
    )
    assert float(forward) < at < float(aft)


@pytest.mark.parametrize("key", KEYS)
def test_useful_load_is_plausible(dossiers: dict[str, Dossier], key: str) -> None:
    weights = dossiers[key].airplane.weights
    assert 0.28 < 1 - weights.empty.si / weights.takeoff.si < 0.42


@pytest.mark.parametrize("key", ["vadmel", "kattun", "damast"])
def test_climb_slows_with_height(dossiers: dict[str, Dossier], key: str) -> None:
    climb = dossiers[key].tables["climb"].results
    assert np.all(np.diff(climb["rate of climb"].si) < 0)
    for total in ("time", "fuel", "distance"):
        assert np.all(np.diff(climb[total].si) > 0)
    assert climb["calibrated airspeed"].si[0] / kt == pytest.approx(
        dossiers[key].airplane.speeds.best_rate.number, abs=1
    )


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("kind", ["takeoff", "landing"])
def test_runway_distances_are_plausible(dossiers: dict[str, Dossier], key: str, kind: str) -> None:
    results = dossiers[key].tables[kind].results
    ground, total = results["ground roll"].si, results["total distance"].si
    assert np.all(ground > 120) and np.all(total < 1600) and np.all(ground < total)


def test_gaps_are_gaps(dossiers: dict[str, Dossier]) -> None:
    musselin = dossiers["musselin"]
    assert "glide" not in musselin.tables and "glide.csv" not in tables("musselin")
    assert musselin.airplane.weights.zero_fuel is None
    assert musselin.airplane.option("Fluid ice protection").price is None
    assert np.isnan(cruise(musselin, "true airspeed", 10_000 * ft, 0.75))
