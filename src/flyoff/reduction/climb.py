"""Sawtooth climbs to standard weight, reciprocal headings paired, and the best rate speed from them.

Steps, each shown with its size: from pressure to geometric height; the
airspeed's drift and the gain of true airspeed at constant calibrated airspeed
(energy height: USNTPS-FTM-108, Fixed Wing Performance, 1992, 7.3.3); the wind's
growth along the course, by the ground speed; temperature, by engine power and true airspeed;
weight, by inertia and by induced drag; and back to a climb at constant
calibrated airspeed. References: SFTE Reference Handbook (2013), 12.5; power and
temperature 10.2.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.units import degree, ft, kt
from flyoff.physics.airspeed import true_airspeed
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.physics.climb import acceleration_factor, rate_of_climb_at_mass
from flyoff.reduction.airplane import MASS_U, SPAN_EFFICIENCY, Airplane, Correction
from flyoff.reduction.best_rate import SPEED_BAND_M_S, RateCurve, Speed, best_rate
from flyoff.reduction.points import Point
from flyoff.reduction.power import Powers
from flyoff.reduction.statistics import Estimate

ALTITUDE_BAND_M = 750 * ft
RECIPROCAL_RAD = 30 * degree
SHEAR_U_PER_S = 4 * kt / (1000 * ft)
"""[1/s] Standard uncertainty of the wind's change with height on one heading; common practice, no source."""
AIR_U_M_S = 20 * ft / 60
"""[m/s] Standard uncertainty of air that rises or sinks unseen; common practice, no source."""
WIND_U_M_S = 0.5 * kt
"""[m/s] Standard uncertainty of how much the wind along the course changed within a climb; common practice,
no source."""
PROPELLER_EFFICIENCY = Estimate(0.75, 0.06)
"""Of a propeller in a climb; common practice, no source."""
EXPONENT_U = 0.2
"""Of the exponent 0.5 of temperature in engine power: by the law of density it would be near 1."""
_SOURCE = "SFTE Reference Handbook, 2013, 12.5"
_POWER_SOURCE = "SFTE Reference Handbook, 2013, 10.2 and 12.5"


@dataclass(frozen=True)
class Climb:
    """One climb: the rate as measured, and at standard weight at the same calibrated airspeed."""

    point: int
    measured: Estimate
    standard: Estimate
    corrections: tuple[Correction, ...]
    missing: str = ""
    is_wind_known: bool = False


@dataclass(frozen=True)
class Climbs:
    """All climbs; `best_speed` (calibrated) and `best_rate` where the climbs determine them.

    `best_note` says that the speed's band is wide, and why; `curve` is that of the climbs at one height.
    """

    standard_mass_kg: float | None
    climbs: tuple[Climb, ...]
    speeds: tuple[Speed, ...]
    best_speed: Estimate | None = None
    best_rate: Estimate | None = None
    missing: str = ""
    best_note: str = ""
    curve: RateCurve | None = None


def constant_airspeed_factor(point: Point) -> float | None:
    """Return (V / g) dV/dh of a climb at constant calibrated airspeed through the air as it was."""
    cas, altitude, temperature = point.air.calibrated_airspeed, point.pressure_altitude, point.air.temperature
    if cas is None or altitude is None or temperature is None or point.air.true_airspeed is None:
        return None
    warmer = temperature.value - float(temperature_at_altitude(altitude.value))
    around = altitude.value + np.array([-100.0, 100.0])
    true = true_airspeed(
        calibrated_airspeed_m_s=np.full(2, cas.value),
        pressure_altitude_m=around,
        temperature_k=np.asarray(temperature_at_altitude(around)) + warmer,
    )
    geometric_m = 200.0 * temperature.value / (temperature.value - warmer)
    gradient = float(np.diff(np.asarray(true))[0]) / geometric_m
    return float(acceleration_factor(point.air.true_airspeed.value, gradient))


def energy_rate(point: Point) -> Estimate | None:
    """Return the rate of change of energy height: the rate of climb that all excess power would give."""
    rate, speed, factor = point.steady_rate, point.air.true_airspeed, constant_airspeed_factor(point)
    if rate is None or speed is None or factor is None or point.indicated_airspeed is None:
        return None
    ratio = speed.value / point.indicated_airspeed.value
    drift = speed.value * point.condition.drift_m_s2 * ratio / STANDARD_GRAVITY_M_S2
    return rate.scaled(1 + factor, drift)


def wind_rate(point: Point) -> Estimate | None:
    """Return the rate of energy height that a wind growing along the course takes: (V / g) dW/dt.

    By the ground speed's change over the condition that the airspeed does not account for; None
    where it is not known. At constant calibrated airspeed the true one grows with height: that
    part is no wind. In a turn it is not known either.
    """
    change, speed, factor = (
        point.readings.wind_change_m_s, point.air.true_airspeed, constant_airspeed_factor(point),
    )  # fmt: skip
    seconds = (point.condition.end_s - point.condition.start_s) / 2
    if change is None or speed is None or factor is None or point.rate_of_climb is None or seconds <= 0:
        return None
    if any("turn" in flag for flag in point.flags):
        return None
    per_wind = speed.value / STANDARD_GRAVITY_M_S2 / seconds
    return Estimate(per_wind * change - factor * point.rate_of_climb.value, per_wind * WIND_U_M_S)


def reduce_climbs(
    points: Sequence[Point], powers: Sequence[Powers], airplane: Airplane, efficiency: Estimate | None
) -> Climbs | None:
    """Return the climbs at standard temperature and weight. `efficiency` is the span's, from glides."""
    climbs = [
        found
        for index, (point, own) in enumerate(zip(points, powers, strict=True))
        if point.condition.kind == "climb"
        and point.condition.is_clean
        and (found := _climb(index, point, own, airplane, efficiency)) is not None
    ]
    if not climbs:
        return None
    speeds = _speeds(points, [c for c in climbs if not points[c.point].in_moving_air])
    best = best_rate(_near_one_height(speeds))
    return Climbs(
        airplane.standard_mass_kg,
        tuple(climbs),
        tuple(speeds),
        best.speed,
        best.rate,
        best.missing,
        best.note,
        best.curve,
    )


def _near_one_height(speeds: Sequence[Speed]) -> list[Speed]:
    middle = float(np.median([s.pressure_altitude_m for s in speeds])) if speeds else 0.0
    return [s for s in speeds if abs(s.pressure_altitude_m - middle) < ALTITUDE_BAND_M]


def _climb(
    index: int, point: Point, powers: Powers, airplane: Airplane, efficiency: Estimate | None
) -> Climb | None:
    rate, energy, factor = point.rate_of_climb, energy_rate(point), constant_airspeed_factor(point)
    altitude, temperature, speed = point.pressure_altitude, point.air.temperature, point.air.true_airspeed
    if (
        rate is None
        or energy is None
        or factor is None
        or altitude is None
        or temperature is None
        or speed is None
    ):
        return None
    tapeline = temperature.value / float(temperature_at_altitude(altitude.value))
    steps = [
        Correction("tapeline", rate.value / tapeline, rate.value, "ft/min", _SOURCE),
        Correction("acceleration", rate.value, energy.value, "ft/min", _SOURCE),
    ]
    standard, missing = energy, []
    wind = wind_rate(point)
    if wind is not None:
        standard = energy.scaled(1.0, wind.value).widened(wind.u)
        steps.append(Correction("wind gradient", energy.value, standard.value, "ft/min", _SOURCE))
    if powers.best is None or point.mass_kg is None:
        missing.append("not corrected for temperature: no power or no weight is known")
    else:
        before, standard = standard, at_standard_temperature(
            standard, temperature.value / tapeline, temperature, powers.best.power_w,
            point.mass_kg * STANDARD_GRAVITY_M_S2, airplane.is_throttled,
        )  # fmt: skip
        steps.append(
            Correction("temperature and power", before.value, standard.value, "ft/min", _POWER_SOURCE)
        )
    if airplane.standard_mass_kg is None or point.mass_kg is None:
        missing.append("not corrected for weight: no weight is known")
    elif airplane.span_m is None:
        missing.append("not corrected for weight: no span is known")
    else:
        standard, more = _at_mass(point, standard, airplane, efficiency or SPAN_EFFICIENCY)
        steps += more
    final = standard.scaled(1 / (1 + factor))
    steps.append(Correction("constant airspeed", standard.value, final.value, "ft/min", _SOURCE))
    return Climb(index, rate, final, tuple(steps), "; ".join(missing), wind is not None)


def at_standard_temperature(
    rate: Estimate,
    standard_k: float,
    temperature: Estimate,
    power: Estimate,
    weight_n: float,
    is_throttled: bool,
) -> Estimate:
    """Return a rate of energy height in standard air, calibrated airspeed and pressure unchanged.

    With r the root of standard over actual temperature, true airspeed and with it the power of drag, as the
    drag is the same, change by r; a throttled engine's power by 1 / r (SFTE Reference Handbook, 2013, 10.2:
    the square root of temperatures, about 1 % for 6 °C), that of others, as it is governed, not. Of
    the efficiency of the propeller only a usual value is known, and it is taken as unchanged.
    """
    r = math.sqrt(standard_k / temperature.value)
    gain = (1 / r if is_throttled else 1.0) - r
    thrust = PROPELLER_EFFICIENCY.value * power.value / weight_n
    u_thrust = thrust * math.hypot(PROPELLER_EFFICIENCY.u / PROPELLER_EFFICIENCY.value, power.u / power.value)
    u_exponent = thrust * 2 * math.log(r) * EXPONENT_U if is_throttled else 0.0
    u_temperature = temperature.u / temperature.value * (thrust - rate.value / 2)
    return rate.scaled(r, thrust * gain).widened(u_thrust * gain, u_exponent, u_temperature)


def _at_mass(
    point: Point, rate: Estimate, airplane: Airplane, efficiency: Estimate
) -> tuple[Estimate, list[Correction]]:
    mass_kg, standard_kg, span_m = point.mass_kg, airplane.standard_mass_kg, airplane.span_m
    altitude, temperature, speed = point.pressure_altitude, point.air.temperature, point.air.true_airspeed
    assert mass_kg is not None  # _climb has asked
    assert standard_kg is not None
    assert span_m is not None
    assert altitude is not None
    assert temperature is not None
    assert speed is not None
    standard_k = float(temperature_at_altitude(altitude.value))
    inertia = rate.value * mass_kg / standard_kg
    corrected = float(
        rate_of_climb_at_mass(
            rate_of_climb_m_s=rate.value,
            mass_kg=mass_kg,
            standard_mass_kg=standard_kg,
            true_airspeed_m_s=speed.value * math.sqrt(standard_k / temperature.value),
            density_kg_m3=SEA_LEVEL_DENSITY_KG_M3 * float(density_ratio(altitude.value, standard_k)),
            effective_span_m=span_m * math.sqrt(efficiency.value),
        )
    )
    induced = corrected - inertia
    u = math.hypot(
        inertia * MASS_U, induced * efficiency.u / efficiency.value, induced * speed.u / speed.value
    )
    steps = [
        Correction("weight, inertia", rate.value, inertia, "ft/min", _SOURCE),
        Correction("weight, induced drag", inertia, corrected, "ft/min", _SOURCE),
    ]
    return rate.scaled(mass_kg / standard_kg, induced).widened(u), steps


def _heading(point: Point) -> float | None:
    for name in ("magnetic_heading", "true_heading", "ground_track"):
        mean = point.readings.mean(name)
        if mean is not None:
            return mean.value
    return None


def _speeds(points: Sequence[Point], climbs: Sequence[Climb]) -> list[Speed]:
    """Pair each climb with the first later one on a reciprocal heading at its speed and height."""
    left = list(climbs)
    found = []
    while left:
        one = left.pop(0)
        other = next((c for c in left if _are_reciprocal(points[one.point], points[c.point])), None)
        if other is not None:
            left.remove(other)
        found.append(_together(points, one, other))
    return sorted(found, key=lambda s: s.calibrated_airspeed_m_s)


def _are_reciprocal(one: Point, other: Point) -> bool:
    a, b = _heading(one), _heading(other)
    speeds = one.air.calibrated_airspeed, other.air.calibrated_airspeed
    heights = one.pressure_altitude, other.pressure_altitude
    if a is None or b is None or None in speeds or None in heights:
        return False
    apart = abs(math.remainder(a - b, 2 * math.pi))
    return (
        apart > math.pi - RECIPROCAL_RAD
        and abs(speeds[0].value - speeds[1].value) < SPEED_BAND_M_S  # type: ignore[union-attr]
        and abs(heights[0].value - heights[1].value) < ALTITUDE_BAND_M  # type: ignore[union-attr]
    )


def _together(points: Sequence[Point], one: Climb, other: Climb | None) -> Speed:
    members = [one] if other is None else [one, other]
    own = [points[c.point] for c in members]
    cas = float(np.mean([p.air.calibrated_airspeed.value for p in own if p.air.calibrated_airspeed]))
    altitude = float(np.mean([p.pressure_altitude.value for p in own if p.pressure_altitude]))
    rate = float(np.mean([c.standard.value for c in members]))
    u = math.hypot(*(math.hypot(c.standard.u, AIR_U_M_S) for c in members)) / len(members)
    if other is None and not one.is_wind_known:
        true = own[0].air.true_airspeed
        # a wind that grows with height along the heading lifts the rate by (V / g) dW/dh
        u = math.hypot(u, rate * (true.value if true else cas) / STANDARD_GRAVITY_M_S2 * SHEAR_U_PER_S)
    return Speed(tuple(c.point for c in members), cas, altitude, Estimate(rate, u), other is not None)
