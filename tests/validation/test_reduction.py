"""The reduction's own steps against published worked examples and a handbook's table."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from flyoff.core.units import celsius, ft, hp, kt, lb
from flyoff.flights.steady import Condition
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.reduction.airdata import AirData, Probe, reduce_air
from flyoff.reduction.airplane import Airplane
from flyoff.reduction.cruise import speed_power
from flyoff.reduction.points import Point
from flyoff.reduction.power import PowerReading, Powers
from flyoff.reduction.readings import Readings
from flyoff.reduction.statistics import Estimate
from helpers.printed import Printed

ROWS = (
    (75, 0, "112"), (75, 4000, "116"), (65, 0, "106"), (65, 8000, "112"), (55, 4000, "99"), (55, 8000, "102"),
)  # fmt: skip
"""Percent of 150 bhp, pressure altitude in ft, true airspeed printed in kt; standard day, 2,300 lb."""


@pytest.mark.source("avf", where="Mach numbers, true vs calibrated airspeeds, worked example")
def test_air_data_of_a_point(check):
    exact = Probe(0.8, 0.0, 0.0, 0.0, 0.0, 0.0)
    air = reduce_air(Estimate(250 * kt, 0.0), Estimate(10_000 * ft, 0.0), Estimate(celsius(2.0), 0.0), exact)
    check("temperature of the air, °C", air.temperature.value - celsius(0.0), Printed("-6.72"))
    check("true airspeed, kt", air.true_airspeed.value / kt, Printed("287.7"))


@pytest.mark.source("poh-150", where="Figure 4-3, six of nine points; weight from memory")
def test_a_printed_table_falls_on_one_generalised_curve(check):
    points, powers = [], []
    for percent, altitude, printed in ROWS:
        temperature = float(temperature_at_altitude(altitude * ft))
        air = AirData(None, Estimate(float(printed) * kt, 0.3 * kt), Estimate(temperature, 0.1), None)
        readings = Readings(Condition("level", 0.0, 60.0), "table", (1, 1), {}, None, None, None, math.inf)
        height = Estimate(altitude * ft, 3.0)
        mass_kg = 2300 * lb
        points.append(Point(readings, air, height, None, None, None, None, None, None, False, (), mass_kg))
        powers.append(Powers((PowerReading("chart", Estimate(1.5 * percent * hp, 0.5 * hp), "printed"),)))
    found = speed_power(points, powers, Airplane(standard_mass_kg=2300 * lb))
    for percent, altitude, printed in ROWS:
        sigma = float(density_ratio(altitude * ft, float(temperature_at_altitude(altitude * ft))))
        piw = 1.5 * percent * hp * math.sqrt(sigma)
        viw = brentq(lambda v, piw=piw: found.power_at(v).value - piw, 70 * kt, 140 * kt)
        within = Printed(
            printed, "kt", within=0.8, reason="one two-term curve through speeds printed to 1 kt"
        )
        check(f"{percent} % at {altitude} ft", viw / math.sqrt(sigma) / kt, within)
    assert np.all(found.coefficients > 0)
