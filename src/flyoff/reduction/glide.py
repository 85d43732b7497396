"""Glides to a drag polar: lift and drag coefficients of each, and a parabola through them.

The loss of height and speed is the drag's work: sin of the angle is the
energy height lost over the way through the air (SFTE Reference Handbook, 2013,
12.5 and 12.6). Thrust is taken as none: the drag includes the propeller's, as
it was, and that is stated.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array
from flyoff.core.units import fpm, rpm
from flyoff.physics.atmosphere import density_ratio
from flyoff.reduction.airplane import MASS_U, Airplane, Correction
from flyoff.reduction.climb import energy_rate, wind_rate
from flyoff.reduction.points import Point
from flyoff.reduction.statistics import Estimate

IDLE_SHARE = 0.25
"""Fuel flow, over the largest of the flight, below which an engine idles; common practice, no source."""
IDLE_ABOVE_LEAST = 1.5
"""Fuel flow, over the least of the flight's descents, above which a descent keeps some power;
common practice, no source."""
POWERED_SHARE = 0.05
"""Recorded share of rated power above which a descent is no glide; common practice, no source."""
NO_FLOW_SHARE = 0.02
"""Fuel flow, over the largest of the flight, below which an engine gets none; common practice, no source."""
STOPPED_HZ = 60 * rpm
AIR_U_M_S = 20 * fpm
"""[m/s] Standard uncertainty of air that rises or sinks unseen; common practice, no source."""


@dataclass(frozen=True)
class Glide:
    """One glide: coefficients, glide ratio, and what the propeller did."""

    point: int
    lift_coefficient: Estimate
    drag_coefficient: Estimate
    glide_ratio: Estimate
    propeller: str
    corrections: tuple[Correction, ...]


@dataclass(frozen=True)
class Polar:
    """``CD = cd0 + k CL²`` through the glides; `covariance` of (cd0, k); `missing` says why there is none."""

    glides: tuple[Glide, ...]
    coefficients: Array | None = None
    covariance: Array | None = None
    span_efficiency: Estimate | None = None
    missing: str = ""


def glide_polar(points: Sequence[Point], airplane: Airplane) -> Polar | None:
    """Return the glides and their polar; None where there is no glide or no wing area is known."""
    idle = idle_flow(points)
    glides = [
        found
        for index, point in enumerate(points)
        if (found := _glide(index, point, airplane, idle)) is not None
    ]
    still = tuple(glide for glide in glides if not points[glide.point].in_moving_air)
    return replace(_polar(still, airplane), glides=tuple(glides)) if glides else None


@dataclass(frozen=True)
class IdleFlow:
    """Fuel flows that tell a glide: up to `idle_m3_s` the engine idles, up to `none_m3_s` it gets none."""

    idle_m3_s: float
    none_m3_s: float


def idle_flow(points: Sequence[Point]) -> IdleFlow:
    """Return what fuel flow is idle in this flight."""
    flows = [p.fuel_flow.value for p in points if p.fuel_flow is not None]
    most = max(flows, default=0.0)
    none = NO_FLOW_SHARE * most
    descents = [
        p.fuel_flow.value for p in points if p.condition.kind == "descent" and p.fuel_flow is not None
    ]
    least = min((flow for flow in descents if flow > none), default=most)
    return IdleFlow(min(IDLE_SHARE * most, IDLE_ABOVE_LEAST * least), none)


def propeller_state(point: Point, idle: IdleFlow) -> str:
    """Return what the propeller does in a descent without power; empty under power or if not known."""
    if point.condition.is_feathered:
        return "feathered"
    flow, speed, share = point.fuel_flow, point.rpm, point.readings.mean("power_percent")
    if share is not None and share.value > POWERED_SHARE:
        return ""
    if speed is not None and speed.value < STOPPED_HZ:
        return "stopped"
    if flow is None or idle.none_m3_s <= 0 or flow.value > max(idle.idle_m3_s, idle.none_m3_s):
        return ""
    return "windmilling, no fuel flow" if flow.value < idle.none_m3_s else "turning, engine idling"


def _glide(index: int, point: Point, airplane: Airplane, idle: IdleFlow) -> Glide | None:
    state = propeller_state(point, idle)
    speed, altitude, temperature, rate = (
        point.air.true_airspeed, point.pressure_altitude, point.air.temperature, point.rate_of_climb,
    )  # fmt: skip
    area_m2, mass_kg = airplane.wing_area_m2, point.mass_kg
    if point.condition.kind != "descent" or not state or area_m2 is None or mass_kg is None:
        return None
    if speed is None or altitude is None or temperature is None or rate is None:
        return None
    if not point.condition.is_clean:
        return None
    drift = energy_rate(point)
    if drift is None:
        return None
    wind = wind_rate(point)
    energy = drift if wind is None else drift.scaled(1.0, wind.value).widened(wind.u)
    if not -0.5 * speed.value < energy.value < 0:
        return None
    sine = -energy.value / speed.value
    u_sine = math.hypot(energy.u / speed.value, AIR_U_M_S / speed.value, sine * speed.u / speed.value)
    density = SEA_LEVEL_DENSITY_KG_M3 * float(density_ratio(altitude.value, temperature.value))
    per_newton = 2 / (density * speed.value**2 * area_m2)
    weight_n = mass_kg * STANDARD_GRAVITY_M_S2
    lift, drag = (weight_n * part * per_newton for part in (math.sqrt(1 - sine**2), sine))
    shared = math.hypot(2 * speed.u / speed.value, temperature.u / temperature.value, MASS_U)
    source = "SFTE Reference Handbook, 2013, 12.5"
    steps = [Correction("airspeed change", rate.value, drift.value, "ft/min", source)]
    if wind is not None:
        steps.append(Correction("wind gradient", drift.value, energy.value, "ft/min", source))
    # faster raises the dynamic pressure and lowers the sine: three powers of speed in the drag coefficient
    u_drag = math.hypot(math.hypot(energy.u, AIR_U_M_S) / energy.value, 3 * speed.u / speed.value, MASS_U)
    return Glide(
        index, Estimate(lift, lift * shared), Estimate(drag, drag * u_drag),
        Estimate(math.sqrt(1 - sine**2) / sine, u_sine / sine**2), state, tuple(steps),
    )  # fmt: skip


def _polar(glides: tuple[Glide, ...], airplane: Airplane) -> Polar:
    lift2 = np.array([g.lift_coefficient.value**2 for g in glides])
    drag = np.array([g.drag_coefficient.value for g in glides])
    states = {g.propeller for g in glides}
    if len(glides) < 2 or lift2.max() < 1.3 * lift2.min():
        return Polar(glides, missing="two glides apart in speed make a polar")
    if len(states) > 1:
        return Polar(
            glides, missing=f"the propeller was not the same in all glides: {', '.join(sorted(states))}"
        )
    u = np.array([g.drag_coefficient.u for g in glides])
    design = np.column_stack([np.ones_like(lift2), lift2])
    scaled = design / u[:, None]
    covariance = np.linalg.inv(scaled.T @ scaled)
    coefficients = covariance @ scaled.T @ (drag / u)
    if len(glides) > 2:
        chi2 = float((((drag - design @ coefficients) / u) ** 2).sum())
        covariance = covariance * max(1.0, chi2 / (len(glides) - 2))
    efficiency = None
    if airplane.span_m is not None and airplane.wing_area_m2 is not None and coefficients[1] > 0:
        aspect = airplane.span_m**2 / airplane.wing_area_m2
        value = 1 / (math.pi * aspect * float(coefficients[1]))
        efficiency = Estimate(value, value * float(np.sqrt(covariance[1, 1]) / coefficients[1]))
    return Polar(glides, coefficients, covariance, efficiency)
