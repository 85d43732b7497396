"""The simulator itself: the same each time, its physics closed, its faults where they were put."""

from dataclasses import replace

import numpy as np
import pytest

from flyoff.core.units import celsius, ft, hp, kt, lbf
from flyoff.physics.airspeed import calibrated_airspeed
from flyoff.physics.atmosphere import density_altitude
from helpers.simulator.flight import fly
from helpers.simulator.fly import fly_steps
from helpers.simulator.instruments import (
    KT_FPS,
    correction_kt,
    indicated_altitude_ft,
    indicated_kt,
    pressure_altitude_ft,
    pressure_pa,
)
from helpers.simulator.recorder import log_text
from helpers.simulator.scenario import PositionError, Scenario, Step, WindLayer
from helpers.simulator.scenarios import SCENARIOS

GRAVITY_FPS2 = 32.174
SHORT = Scenario(
    "short", 5, "parabola", 700, 10, 1005,
    (WindLayer(0, 200, 10), WindLayer(9000, 250, 30)),
    PositionError("pitot", (60, 140), (2.0, -1.0)),
    (Step("level", 110, 40, 4000), Step("climb", 85, 40, 4200, 5600), Step("glide", 85, 40, 5400, 4300)),
)  # fmt: skip


def by_name(name):
    return next(scenario for scenario in SCENARIOS if scenario.name == name)


def test_the_same_scenario_is_the_same_flight_and_another_seed_another():
    once, again = fly_steps(SHORT), fly_steps(SHORT)
    assert all(np.array_equal(once[name], again[name]) for name in once.columns)
    assert log_text(SHORT, once) == log_text(SHORT, again)
    other = fly_steps(replace(SHORT, seed=6))
    assert not np.array_equal(once["tas_fps"][:500], other["tas_fps"][:500])


def test_the_library_and_flyoff_agree_on_the_air():
    """Two independent codes on density altitude and calibrated airspeed, over climbs, glides and warm air."""
    trace = fly(SHORT).trace
    for i in range(0, len(trace["cas_kt"]), 25):
        altitude_m, kelvin = trace["pressure_altitude_ft"][i] * ft, trace["static_k"][i]
        assert density_altitude(altitude_m, kelvin) / ft == pytest.approx(
            trace["density_altitude_ft"][i], abs=2
        )
        cas = calibrated_airspeed(
            true_airspeed_m_s=trace["tas_fps"][i] * ft, pressure_altitude_m=altitude_m, temperature_k=kelvin
        )
        assert cas / kt == pytest.approx(trace["cas_kt"][i], abs=0.02)


def test_the_wind_triangle_closes():
    trace = fly(SHORT).trace
    north, east = (trace[f"{d}_fps"] - trace[f"wind_{d}_fps"] for d in ("north", "east"))
    up = trace["climb_fps"] + trace["wind_down_fps"]
    through_air = np.sqrt(north**2 + east**2 + up**2)
    assert np.abs(through_air - trace["tas_fps"])[5:].max() < 0.6  # gusts change within a step
    assert np.abs(through_air - trace["tas_fps"])[5:].mean() < 0.05


def test_steady_flight_balances_its_forces():
    """Thrust less drag is what climbing and speeding up take, to a few pounds; lift carries the weight."""
    trace = fly(SHORT).trace
    for _, start, end in trace.stretches:
        part = {name: values[start : end + 1] for name, values in trace.columns.items()}
        rise = (part["climb_fps"] + part["wind_down_fps"]).mean() / part["tas_fps"].mean()
        gain = (part["tas_fps"][-1] - part["tas_fps"][0]) / (end - start) / GRAVITY_FPS2
        excess = (part["thrust_lb"] - part["drag_lb"]).mean() / part["weight_lb"].mean()
        assert excess == pytest.approx(rise + gain, abs=0.006)
        assert part["lift_lb"].mean() == pytest.approx(part["weight_lb"].mean(), rel=0.04)


def test_polars_are_as_written():
    trace = fly(SHORT).trace
    assert trace["cd"] == pytest.approx(0.0280 + 0.0560 * trace["cl"] ** 2, abs=1e-12)
    tabulated = fly(replace(SHORT, airplane="table")).trace
    assert np.interp(0.45, *np.array(sorted(zip(tabulated["cl"], tabulated["cd"], strict=True))).T) == (
        pytest.approx((0.0304 + 0.0352) / 2, abs=2e-4)
    )


def test_fuel_burned_is_weight_lost_and_power_is_thrust_times_speed():
    trace = fly(SHORT).trace
    burned = trace["fuel_flow_lb_h"][:-1].sum() / 3600
    assert trace["weight_lb"][0] - trace["weight_lb"][-1] == pytest.approx(burned, abs=0.05)
    _, start, end = trace.stretches[0]
    useful = (trace["thrust_lb"] * lbf * trace["tas_fps"] * ft)[start:end].mean() / hp
    assert 0.7 < useful / trace["power_hp"][start:end].mean() < 0.83


@pytest.mark.parametrize("cas_kt", [55, 70, 90, 118, 160])
def test_position_error_goes_there_and_back(cas_kt):
    error = PositionError("static", (60, 90, 140), (2.0, 0.5, -2.0))
    ias = indicated_kt(error, cas_kt)
    assert ias + correction_kt(error, ias) == pytest.approx(cas_kt, abs=1e-9)
    assert pressure_altitude_ft(pressure_pa(7000)) == pytest.approx(7000)


def test_a_static_pressure_read_low_shows_more_speed_and_more_height():
    """ΔH = ΔV V / (g σ) at low speed, the altimeter's share of the static source's error."""
    error = PositionError("static", (60, 150), (2.0, 2.0))
    shown = indicated_altitude_ft(error, 0.0, 100.0)
    assert shown == pytest.approx(2.0 * 101.0 * KT_FPS**2 / GRAVITY_FPS2, rel=0.03)
    assert indicated_altitude_ft(replace(error, source="pitot"), 0.0, 100.0) == 0.0


def test_the_probe_is_warm_and_late():
    trace = fly(SHORT).trace
    _, start, end = trace.stretches[0]
    rise = (trace["probe_c"] + 273.15 - trace["static_k"])[start:end].mean()
    assert rise == pytest.approx(0.8 * (trace["tas_fps"][start:end].mean() * ft) ** 2 / 2 / 1004.7, abs=0.1)
    _, start, end = trace.stretches[1]
    assert (trace["probe_c"] + 273.15 - trace["static_k"])[start:end].mean() > 0.8
    assert trace["static_k"][start] < celsius(40)


def test_faults_are_in_the_file_where_they_were_put():
    flight = fly(by_name("faults"))
    lines = flight.log.splitlines()
    rows = [line.split(",") for line in lines[1:]]
    assert len(rows) == len(flight.trace["cas_kt"]) - 26
    assert len(rows[-1]) < len(rows[0])
    times = [row[0] for row in rows]
    assert len(times) - len(set(times)) == 3
    speed = lines[0].split(",").index("indicated_airspeed_kt")
    assert sum(row[speed] == "251" for row in rows[:-1]) == 2
    latitudes = [row[1] for row in rows[:-1]]
    assert max(latitudes.count(value) for value in set(latitudes) if value) >= 60


def test_scripted_conditions_are_flown_as_scripted():
    flight = fly(by_name("smooth"))
    for scripted in flight.scripted:
        assert scripted.truth["ias_kt"] == pytest.approx(scripted.step.ias_kt, abs=2.5)
        assert abs(scripted.truth["cas_slope_kt_min"]) < 2
        if scripted.kind == "level":
            assert abs(scripted.truth["rate_of_climb_fpm"]) < 20
            assert scripted.truth["bank_deg"] < 2
    assert {len(legs) for legs in flight.groups.values()} == {3}
