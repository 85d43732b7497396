"""The best an airplane does: climbs, ceilings, speeds for range, where cruise speed peaks.

Sought on grids of speed and altitude with a parabola through the best three
points, which is exact enough near a maximum and the same work for every draw.
Not for flight planning or operational use.
"""

from typing import NamedTuple

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3
from flyoff.core.typing import Array, Floats
from flyoff.core.units import ft
from flyoff.model import performance
from flyoff.model.parameters import Model
from flyoff.model.performance import Air, standard_air
from flyoff.physics.climb import SERVICE_CEILING_RATE_M_S, ClimbProfile, ceiling, climb_profile
from flyoff.physics.optimum import best_lift_to_drag_speed

_SPEEDS = 60
_CEILING_STEP_M = 250.0
_CEILING_TOP_M = 14_000.0
_PEAK_TOP_M = 8_000.0


class Best(NamedTuple):
    """A greatest or least value and the true airspeed where it is [m/s]."""

    value: Array
    true_airspeed_m_s: Array


class Peak(NamedTuple):
    """Where cruise speed peaks: pressure altitude [m] and true airspeed [m/s]."""

    pressure_altitude_m: Array
    true_airspeed_m_s: Array


def _speeds(model: Model, air: Air, lowest: float, highest: float) -> Array:
    """Return true airspeeds about that of best lift to drag, in a new first axis."""
    polar = model["drag_area_m2"], model["effective_span_m"]
    equivalent = np.asarray(best_lift_to_drag_speed(air.mass_kg, *polar))
    true = equivalent / np.sqrt(air.density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3)
    factors = np.linspace(lowest, highest, _SPEEDS)
    return np.asarray(factors.reshape(-1, *(1,) * true.ndim) * true)


def _highest(values: Array, at: Array) -> Best:
    """Return the maximum over the first axis, by a parabola through the best three."""
    values = np.where(np.isnan(values), -np.inf, values)
    at = np.broadcast_to(at, values.shape)
    best = np.clip(np.argmax(values, axis=0), 1, values.shape[0] - 2)[np.newaxis]

    def pick(array: Array, offset: int) -> Array:
        return np.asarray(np.take_along_axis(array, best + offset, axis=0)[0])

    low, middle, high = (pick(values, offset) for offset in (-1, 0, 1))
    with np.errstate(invalid="ignore", divide="ignore"):
        bend = low - 2 * middle + high
        shift = np.where(bend < 0, 0.5 * (low - high) / bend, 0.0)
        shift = np.where(np.isfinite(shift), np.clip(shift, -1.0, 1.0), 0.0)
        value = middle - 0.25 * (low - high) * shift
    step = (pick(at, 1) - pick(at, -1)) / 2
    known = np.isfinite(middle)
    return Best(np.where(known, value, np.nan), np.where(known, pick(at, 0) + shift * step, np.nan))


def best_rate_of_climb(model: Model, air: Air, slowest_m_s: Floats = 0.0) -> Best:
    """Return the best rate of climb [m/s] and its speed, not below a slowest true airspeed."""
    speeds = np.maximum(_speeds(model, air, 0.6, 1.6), slowest_m_s)
    return _highest(performance.rate_of_climb(model, speeds, air), speeds)


def best_angle_of_climb(model: Model, air: Air, slowest_m_s: Floats = 0.0) -> Best:
    """Return the best angle of climb [rad] and its speed, not below a slowest true airspeed."""
    speeds = np.maximum(_speeds(model, air, 0.45, 1.3), slowest_m_s)
    sine = np.clip(performance.rate_of_climb(model, speeds, air) / speeds, -1, 1)
    return _highest(np.arcsin(sine), speeds)


def ceilings(model: Model, mass_kg: float, isa_deviation_k: float = 0.0) -> tuple[Floats, Floats]:
    """Return the service and the absolute ceiling [m]; NaN where it is above 14 000 m."""
    altitude_m = np.arange(0.0, _CEILING_TOP_M + 1, _CEILING_STEP_M)
    rate = best_rate_of_climb(model, standard_air(altitude_m[:, None], mass_kg, isa_deviation_k)).value
    found = [ceiling(altitude_m, rate, least) for least in (SERVICE_CEILING_RATE_M_S, 0.0)]
    return found[0], found[1]


def climb_path(
    model: Model,
    altitudes_m: Array,
    temperatures_k: Array,
    mass_kg: float,
    equivalent_airspeeds_m_s: Array | None = None,
    least_rate_m_s: float = 0.0,
) -> ClimbProfile:
    """Return time, fuel and distance from the first altitude to each, at full power.

    At the speed of best rate where none is given. The draws are the last axis.
    """
    air = Air(altitudes_m[:, None], temperatures_k[:, None], mass_kg)
    if equivalent_airspeeds_m_s is None:
        rate, speed = best_rate_of_climb(model, air)
    else:
        root = np.sqrt(air.density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3)
        speed = equivalent_airspeeds_m_s[:, None] / root
        rate = performance.rate_of_climb(model, speed, air)
    flow = performance.climb_fuel_flow(model, performance.full_power(model, air))
    rate, flow, speed = np.broadcast_arrays(np.maximum(rate, least_rate_m_s), flow, speed)
    return climb_profile(altitudes_m, rate, flow, speed)


def _lowest(cost: Array, speeds: Array) -> Best:
    found = _highest(-cost, speeds)
    return Best(-found.value, found.true_airspeed_m_s)


def endurance_speed(model: Model, air: Air) -> Best:
    """Return the least fuel flow of level flight [kg/s] and its speed."""
    speeds = _speeds(model, air, 0.6, 1.4)
    flow = performance.cruise_fuel_flow(model, performance.power_needed(model, speeds, air))
    return _lowest(flow, speeds)


def range_speed(model: Model, air: Air) -> Best:
    """Return the least fuel per distance [kg/m] and its speed."""
    speeds = _speeds(model, air, 0.75, 1.8)
    flow = performance.cruise_fuel_flow(model, performance.power_needed(model, speeds, air))
    return _lowest(flow / speeds, speeds)


def trade_speed(model: Model, air: Air) -> Best:
    """Return the least fuel per distance and speed [kg s/m²] and its speed: the best trade of both.

    B. H. Carson, Fuel Efficiency of Small Aircraft, AIAA-80-1847, with the
    propeller and the engine as they are instead of constants.
    """
    speeds = _speeds(model, air, 0.9, 2.4)
    flow = performance.cruise_fuel_flow(model, performance.power_needed(model, speeds, air))
    return _lowest(flow / speeds**2, speeds)


def cruise_speed(
    model: Model,
    power_ratio: float,
    pressure_altitude_m: Floats,
    mass_kg: float,
    isa_deviation_k: float = 0.0,
) -> Array:
    """Return the true airspeed at a share of rated power, or with the throttle open where it gives less."""
    air = standard_air(pressure_altitude_m, mass_kg, isa_deviation_k)
    wanted = power_ratio * model.known.rated_power_w
    most = performance.full_power(model, air)
    reached = performance.level_speed(model, np.minimum(wanted, most), air)
    return np.where(most < wanted, np.fmin(reached, performance.full_throttle_speed(model, air)), reached)


def peak_altitude(model: Model, power_ratio: float, mass_kg: float, isa_deviation_k: float = 0.0) -> Peak:
    """Return the altitude to 8 000 m at which cruise at a power policy is fastest, and that speed."""
    altitudes_m = np.arange(0.0, _PEAK_TOP_M + 1, 1000 * ft)
    speeds = cruise_speed(model, power_ratio, altitudes_m[:, None], mass_kg, isa_deviation_k)
    highest = np.argmax(np.where(np.isnan(speeds), -np.inf, speeds), axis=0)
    low, high = np.clip([highest.min() - 1, highest.max() + 1], 0, altitudes_m.size - 1)
    # about where every draw has its own, in steps that a parabola bridges
    near_m = np.arange(altitudes_m[low], altitudes_m[high] + 1, 250 * ft)[:, None]
    found = _highest(cruise_speed(model, power_ratio, near_m, mass_kg, isa_deviation_k), near_m)
    return Peak(found.true_airspeed_m_s, found.value)
