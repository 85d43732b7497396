"""Drag, speeds, range, climb and glide of a textbook's light single, and optimum speeds."""

import math

import numpy as np
import pytest

from flyoff.core.constants import STANDARD_GRAVITY_M_S2
from flyoff.core.units import fpm, ft, hour, hp, kt, lb, mi, minute, nmi
from flyoff.physics import climb, cruise, drag, glide, optimum
from flyoff.physics.airspeed import true_airspeed
from flyoff.physics.atmosphere import density_at_altitude, temperature_at_altitude
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


def best_rates(altitude_m):
    """Return the light single's best rates of climb: power falls with density, as the source has it."""
    density = density_at_altitude(altitude_m)
    excess = EFFICIENCY * POWER_W * density / RHO0 - optimum.minimum_power(density, MASS_KG, **POLAR)
    return np.asarray(climb.rate_of_climb(excess, MASS_KG))


def time_to_climb(altitude_m, rate_m_s):
    """Return the time from the first altitude to the last [s]."""
    still = np.zeros_like(altitude_m)
    return float(climb.climb_profile(altitude_m, rate_m_s, still, still).time_s[-1])


@pytest.mark.source("aif", where="6.10, ceilings of the light single", status="from memory")
@pytest.mark.parametrize(("least", "printed"), [(0.0, "27000"), (climb.SERVICE_CEILING_RATE_M_S, "25000")])
def test_ceilings(check, least, printed):
    altitude_m = np.arange(0, 30_001, 500.0) * ft
    found = float(climb.ceiling(altitude_m, best_rates(altitude_m), least)) / ft
    check(f"ceiling at {least / fpm:.0f} ft/min", found, Printed(printed, "ft", within=500, reason=GRAPH))


@pytest.mark.source("aif", where="6.11, time of the light single to 20,000 ft", status="from memory")
def test_time_to_climb(check):
    altitude_m = np.arange(0, 20_001, 500.0) * ft
    time_s = time_to_climb(altitude_m, best_rates(altitude_m))
    check("time to 20,000 ft", time_s / minute, Printed("27.0", "min"))


@pytest.mark.source("ceilings", where="example 1, ceiling 5 km, 360 m/min at sea level, to 3 km")
def test_time_to_climb_where_the_rate_falls_in_a_straight_line(check):
    """One step from sea level to 3 km is the logarithm of the source."""
    rates = np.array([360.0, 360.0 * (1 - 3 / 5)]) / minute
    found = time_to_climb(np.array([0.0, 3000.0]), rates) / minute
    check("time to 3 km under a ceiling of 5 km", found, Printed("12.73", "min"))


@pytest.mark.source("apd", where="example 5.17 by areas under a curve, rates of example 5.16")
def test_time_to_climb_by_areas(check):
    altitude_m = np.array([0.0, 10_000.0, 20_000.0, 30_000.0]) * ft
    rates = np.interp(altitude_m / ft, [0, 10_000, 20_000, 50_000], [179.9, 156.6, 133.8, 58.2]) * ft
    reason = "areas under a curve; the rate at 30,000 ft is between those at 20,000 and 50,000"
    printed = Printed("3.51", "min", within=0.04, reason=reason)
    check("least time to 30,000 ft", time_to_climb(altitude_m, rates) / minute, printed)


@pytest.mark.source("apd", where="example 5.18, equation 5.141", status="from memory")
def test_time_to_climb_by_a_straight_line(check):
    altitude_m = np.array([0.0, 30_000.0]) * ft
    rates = (179.9 - 2.52e-3 * altitude_m / ft) * ft
    check("by the straight line", time_to_climb(altitude_m, rates) / minute, Printed("3.6", "min"))


@pytest.mark.source("akts", where="4,000 lb, 110 KIAS, 120 lb/h, standard temperature")
def test_time_fuel_and_distance_to_climb(check):
    """The table's own rates, fuel flow and speed give its sums from sea level."""
    altitude_m = np.array([0.0, 4000.0, 8000.0]) * ft
    speed = true_airspeed(
        calibrated_airspeed_m_s=110 * kt, pressure_altitude_m=altitude_m,
        temperature_k=temperature_at_altitude(altitude_m),
    )  # fmt: skip
    rates = np.array([605.0, 570.0, 530.0]) * fpm
    found = climb.climb_profile(altitude_m, rates, np.full(3, 120 * lb / hour), np.asarray(speed))
    for i, (minutes, pounds, miles) in enumerate([("7", "14", "13"), ("14", "28", "27")], 1):
        at = f"to {4000 * i:,} ft"
        check(f"time {at}", float(found.time_s[i]) / minute, Printed(minutes, "min"))
        check(f"fuel {at}", float(found.fuel_kg[i]) / lb, Printed(pounds, "lb"))
        check(f"distance {at}", float(found.distance_m[i]) / nmi, Printed(miles, "nmi"))


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
