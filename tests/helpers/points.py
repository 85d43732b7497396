"""Points as a reduction has them, with exact readings."""

import math

from flyoff.core.units import degree, fpm, ft, hour, hp, kt, lb, rpm, us_gal
from flyoff.flights.steady import Condition
from flyoff.physics.airspeed import calibrated_airspeed
from flyoff.physics.atmosphere import temperature_at_altitude
from flyoff.reduction.airdata import AirData
from flyoff.reduction.airplane import Airplane
from flyoff.reduction.points import Point
from flyoff.reduction.power import PowerReading, Powers
from flyoff.reduction.readings import Readings
from flyoff.reduction.statistics import Estimate

PLANE = Airplane(
    standard_mass_kg=2400 * lb,
    wing_area_m2=16.0,
    span_m=11.0,
    rated_power_w=180 * hp,
    rated_speed_hz=2700 * rpm,
    consumption_kg_j=Estimate(0.45 * lb / hp / hour, 0.01 * lb / hp / hour),
    consumption_basis="test",
    fuel_density_kg_m3=6.0 * lb / us_gal,
)


def point_at(
    kind="level", tas=118.0, altitude=6000.0, warmer=0.0, mass_lb=2200.0, rate=None, flow=None, heading=0.0,
    drift=0.0, wind_change=None, **means
):  # fmt: skip
    """Return a point whose readings are exact but for a tenth of a knot."""
    altitude_m = altitude * ft
    temperature = float(temperature_at_altitude(altitude_m)) + warmer
    cas = float(
        calibrated_airspeed(
            true_airspeed_m_s=tas * kt, pressure_altitude_m=altitude_m, temperature_k=temperature
        )
    )
    known = {
        "magnetic_heading": Estimate(heading * degree, 0.0),
        **{name: Estimate(value, 0.0) for name, value in means.items()},
    }
    condition = Condition(kind, 0.0, 100.0, drift)
    readings = Readings(condition, "log", (1, 2), known, None, None, None, math.inf, 0.0, wind_change)
    u = 0.1 * kt
    air = AirData(Estimate(cas, u), Estimate(tas * kt, u), Estimate(temperature, 0.1), None)
    return Point(
        readings, air, Estimate(altitude_m, 3.0), Estimate(temperature, 0.1), Estimate(cas, u),
        None if rate is None else Estimate(rate * fpm, 5 * fpm),
        None if flow is None else Estimate(flow * us_gal / hour, 0.01 * us_gal / hour),
        known.get("rpm"), known.get("manifold_pressure"), False, (), mass_lb * lb,
    )  # fmt: skip


def by_hand(power_hp, u_hp=2.0):
    return Powers((PowerReading("chart", Estimate(power_hp * hp, u_hp * hp), "test"),))
