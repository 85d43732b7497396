"""Airspeeds against worked examples and published sensitivities."""

import numpy as np
import pytest

from flyoff.core.units import celsius, ft, inhg, kt, lbf
from flyoff.physics import airspeed, atmosphere, mach
from helpers.printed import Printed

CASE = {"calibrated_airspeed_m_s": 250 * kt, "pressure_altitude_m": 10000 * ft}


def _example(what: str) -> float:
    number = airspeed.mach_number(**CASE)
    outside = mach.static_temperature(celsius(2.0), number, 0.8)
    values = {
        "impact pressure": airspeed.impact_pressure(250 * kt) / inhg,
        "static pressure": atmosphere.pressure_at_altitude(10000 * ft) / inhg,
        "Mach number": number,
        "outside air temperature": outside - 273.15,
        "true airspeed": airspeed.true_airspeed(**CASE, temperature_k=outside) / kt,
    }
    return float(values[what])


@pytest.mark.source("avf", where="Mach numbers, true vs calibrated airspeeds, worked example")
@pytest.mark.parametrize(
    ("what", "printed", "unit"),
    [
        ("impact pressure", "3.1001", "inHg"),
        ("static pressure", "20.577", "inHg"),
        ("Mach number", "0.4523", ""),
        ("outside air temperature", "-6.72", "°C"),
        ("true airspeed", "287.7", "kt"),
    ],
)
def test_worked_example(check, what, printed, unit):
    check(f"{what}, 250 KCAS at 10,000 ft", _example(what), Printed(printed, unit))


def _calibrated_kt(true_kt: float, altitude_ft: float, deviation_k: float = 0.0) -> float:
    temperature = atmosphere.temperature_at_altitude(altitude_ft * ft, deviation_k)
    result = airspeed.calibrated_airspeed(
        true_airspeed_m_s=true_kt * kt, pressure_altitude_m=altitude_ft * ft, temperature_k=temperature
    )
    return float(result) / kt


@pytest.mark.source(
    "sfte", where="ch. 4, effect of errors on calibrated airspeed: temperature", status="opened chart"
)
@pytest.mark.parametrize(
    ("altitude_ft", "true_kt", "printed"),
    [(0, 100, "-0.17"), (0, 200, "-0.345"), (0, 300, "-0.52"), (9000, 200, "-0.325"), (18000, 200, "-0.305")],
)
def test_effect_of_temperature(check, altitude_ft, true_kt, printed):
    change = _calibrated_kt(true_kt, altitude_ft, 0.5) - _calibrated_kt(true_kt, altitude_ft, -0.5)
    printed_value = Printed(printed, "kt", within=0.005, reason="read off a chart")
    check(f"change of KCAS by +1 °C, {altitude_ft} ft, {true_kt} KTAS", change, printed_value)


@pytest.mark.source(
    "sfte", where="ch. 4, effect of errors on calibrated airspeed: true airspeed", status="opened chart"
)
@pytest.mark.parametrize(("altitude_ft", "printed"), [(9000, "0.875"), (18000, "0.76")])
def test_effect_of_true_airspeed(check, altitude_ft, printed):
    change = _calibrated_kt(100.5, altitude_ft) - _calibrated_kt(99.5, altitude_ft)
    check(
        f"change of KCAS by +1 KTAS, {altitude_ft} ft, 100 KTAS",
        change,
        Printed(printed, "kt", within=0.005, reason="read off a chart"),
    )


@pytest.mark.source(
    "sfte", where="ch. 4, effect of errors on calibrated airspeed: total pressure", status="opened chart"
)
@pytest.mark.parametrize(
    ("calibrated_kt", "printed", "within"),
    [(100, "1.47", 0.025), (150, "0.96", 0.01), (200, "0.69", 0.02), (300, "0.45", 0.01)],
)
def test_effect_of_total_pressure(check, calibrated_kt, printed, within):
    one = lbf / ft**2
    pressures = airspeed.impact_pressure(calibrated_kt * kt) + np.array([-0.5, 0.5]) * one
    change = np.diff(airspeed.calibrated_airspeed_at_impact_pressure(pressures))[0] / kt
    check(
        f"change of KCAS by +1 lb/ft², {calibrated_kt} KCAS",
        change,
        Printed(printed, "kt", within=within, reason="read off a chart"),
    )


@pytest.mark.source("avf", where="ram rise, K TAS²/7592 °C")
def test_ram_rise(check):
    number = mach.mach_at_true_airspeed(100 * kt, 288.15)
    rise = mach.probe_temperature(288.15, number, 1.0) - 288.15
    printed = Printed("7592", "kt²/K", within=1, reason="the source rounds R")
    check("KTAS squared over ram rise", 100**2 / float(rise), printed)
