"""Drag, speeds, range, climb and glide of a textbook's light single, and optimum speeds."""

import math

import pytest

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.units import fpm, ft, hour, hp, mi, minute
from flyoff.physics import climb, cruise, drag, glide, optimum
from helpers.printed import Printed

SPAN_M, AREA_M2, WEIGHT_N, FUEL_N = 10.912, 16.165, 13127.5, 1632.5
MASS_KG = WEIGHT_N / STANDARD_GRAVITY_M_S2
END_KG = (WEIGHT_N - FUEL_N) / STANDARD_GRAVITY_M_S2
POLAR = {"drag_area_m2": 0.025 * AREA_M2, "effective_span_m": float(drag.effective_span(SPAN_M, 0.8))}
EFFICIENCY, POWER_W = 0.8, 230 * hp
CONSUMPTION = 2.0025 / STANDARD_GRAVITY_M_S2 / (hp * hour)
GRAPH = "read off a graph by the source"
RHO0 = 1.225


@pytest.mark.source("aif", where="example 6.13, (L/D)max read from its graph")
def test_best_lift_to_drag(check):
    check(
        "best lift over drag", optimum.best_lift_to_drag(**POLAR), Printed("13.62", within=0.02, reason=GRAPH)
    )


@pytest.mark.source("aif", where="example 6.13, (CL^1.5/CD)max read from its graph")
def test_best_power_factor(check):
    speed = float(optimum.minimum_power_speed(MASS_KG, **POLAR))
    cl = WEIGHT_N / (0.5 * RHO0 * speed**2 * AREA_M2)
    cd = float(drag.drag_coefficient(cl, 0.025, SPAN_M**2 / AREA_M2, 0.8))
    check("best CL^1.5/CD", cl**1.5 / cd, Printed("12.81", within=0.02, reason=GRAPH))


@pytest.mark.source("aif", where="example 6.13, maximum range", status="from memory")
def test_range(check):
    lift_to_drag = optimum.best_lift_to_drag(**POLAR)
    distance = cruise.breguet_range(
        efficiency=EFFICIENCY, specific_consumption_kg_j=CONSUMPTION, lift_to_drag=lift_to_drag,
        start_mass_kg=MASS_KG, end_mass_kg=END_KG,
    )  # fmt: skip
    check(
        "maximum range",
        float(distance) / mi,
        Printed(
            "1207",
            "mi",
            within=3.5,
            reason="the source used 13.62, off a graph, and U.S. inputs that its SI transcription rounds",
        ),
    )


@pytest.mark.source("aif", where="example 6.13, maximum endurance", status="from memory")
def test_endurance(check):
    power = optimum.minimum_power(RHO0, MASS_KG, **POLAR) / EFFICIENCY
    time = cruise.constant_lift_endurance(
        start_power_w=power, specific_consumption_kg_j=CONSUMPTION, start_mass_kg=MASS_KG, end_mass_kg=END_KG
    )
    check("maximum endurance at sea level", float(time) / hour, Printed("14.4", "h"))


@pytest.mark.source("aif", where="example 6.3, maximum speed at sea level", status="from memory")
def test_fastest_level_speed(check):
    fast = drag.level_speed(thrust_power_w=EFFICIENCY * POWER_W, density_kg_m3=RHO0, mass_kg=MASS_KG, **POLAR)
    check("maximum speed at sea level", float(fast) / ft, Printed("265", "ft/s", within=4, reason=GRAPH))


@pytest.mark.source("aif", where="example 6.7, maximum rate of climb", status="from memory")
def test_rate_of_climb(check):
    excess = EFFICIENCY * POWER_W - optimum.minimum_power(RHO0, MASS_KG, **POLAR)
    rate = float(climb.rate_of_climb(excess, MASS_KG)) / fpm
    check(
        "maximum rate of climb at sea level",
        rate,
        Printed("1500", "ft/min", within=20, reason="the source says about"),
    )


@pytest.mark.source("aif", where="example 6.9, minimum glide angle at L/D 13.6")
def test_glide_angle(check):
    check("least glide angle", math.degrees(glide.glide_angle(13.6)), Printed("4.2", "°"))


@pytest.mark.source("aif", where="example 6.9, glide from 10,000 ft", status="from memory")
def test_glide_range(check):
    distance = float(glide.glide_range(10000 * ft, 13.6)) / mi
    check("glide from 10,000 ft at 13.6", distance, Printed("25.8", "mi"))


@pytest.mark.source("aif", where="example 6.10, equilibrium glide at CL 0.634")
@pytest.mark.parametrize(("density", "printed"), [(0.905, "53.1"), (1.155, "47.0")])
def test_glide_speed(check, density, printed):
    speed = glide.glide_speed(0.634, WEIGHT_N / AREA_M2, density, math.radians(4.2))
    check(f"glide speed at {density} kg/m³", speed, Printed(printed, "m/s"))


@pytest.mark.source("carson", where="ratio of Carson speed to best glide speed, 3^(1/4)")
def test_carson_speed(check):
    ratio = optimum.carson_speed(MASS_KG, **POLAR) / optimum.best_lift_to_drag_speed(MASS_KG, **POLAR)
    check("Carson over best-glide speed", ratio, Printed("1.31607"))


@pytest.mark.source("carson", where="drag at Carson speed over least drag", status="from memory")
def test_carson_drag(check):
    speed = optimum.carson_speed(MASS_KG, **POLAR)
    force = drag.level_drag(equivalent_airspeed_m_s=speed, mass_kg=MASS_KG, **POLAR)
    check(
        "drag at Carson speed over least drag",
        force * optimum.best_lift_to_drag(**POLAR) / WEIGHT_N,
        Printed("1.1547"),
    )


@pytest.mark.source("aif", where="6.14 and public teaching text, least-power over best-glide speed")
def test_minimum_power_speed(check):
    ratio = optimum.minimum_power_speed(MASS_KG, **POLAR) / optimum.best_lift_to_drag_speed(MASS_KG, **POLAR)
    check("least-power over best-glide speed", ratio, Printed("0.76"))


@pytest.mark.source("training", where="15 L in 20 min; 90 L; 30 min reserve")
def test_fuel_left(check):
    flow = 15 / (20 * minute)
    check("fuel flow", flow * hour, Printed("45", "L/h"))
    check("endurance of 90 L", float(cruise.endurance(90.0, flow)) / minute, Printed("120", "min"))
    left = cruise.cruise_fuel(
        usable_fuel_kg=90.0 - 15.0, reserve_time_s=30 * minute, reserve_fuel_flow_kg_s=flow
    )
    check(
        "time left with the reserve kept", float(cruise.endurance(left, flow)) / minute, Printed("70", "min")
    )
