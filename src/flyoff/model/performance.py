"""What an airplane does at any condition, from its parameters.

Everything broadcasts: conditions of any shape against draws of the parameters
in the last axis. Speeds are true airspeeds unless named equivalent. Not for
flight planning or operational use.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array, Floats
from flyoff.model import propulsion
from flyoff.model.parameters import CONSUMPTION_SHARES, Model
from flyoff.physics import manoeuvre
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.physics.optimum import best_lift_to_drag, best_lift_to_drag_speed

_STEPS = 8
_CONVERGED = 1e-4
_SETTLED = 1e-8
"""Relative power lacking at which one more of Newton's steps has corrected all that a float can hold."""
_CHUNK = 1 << 14


class Air(NamedTuple):
    """Where an airplane flies: pressure altitude, static temperature, mass."""

    pressure_altitude_m: Floats
    temperature_k: Floats
    mass_kg: Floats

    @property
    def density_kg_m3(self) -> Array:
        """Air density [kg/m³]."""
        ratio = density_ratio(self.pressure_altitude_m, self.temperature_k)
        return np.asarray(SEA_LEVEL_DENSITY_KG_M3 * np.asarray(ratio))


def standard_air(pressure_altitude_m: Floats, mass_kg: Floats, isa_deviation_k: Floats = 0.0) -> Air:
    """Return the air at a deviation from the standard temperature."""
    return Air(pressure_altitude_m, temperature_at_altitude(pressure_altitude_m, isa_deviation_k), mass_kg)


def full_power(model: Model, air: Air) -> Array:
    """Return the most power at rated speed [W]; turbocharged flat to the critical altitude."""
    known, loss = model.known, model["lapse_loss_ratio"]
    standard_k = temperature_at_altitude(air.pressure_altitude_m)
    ratio = np.asarray(density_ratio(air.pressure_altitude_m, standard_k))
    exponent = model["temperature_exponent"]
    if known.turbocharged:
        critical_m = np.asarray(model["critical_altitude_m"])
        critical = density_ratio(critical_m, temperature_at_altitude(critical_m))
        ratio = np.minimum(ratio / critical, 1.0)
        if known.ignition == "compression":
            # the fuel that is injected sets the power until the air runs short
            exponent = np.where(air.pressure_altitude_m > critical_m, exponent, 0.0)
    lapse = (1 + loss) * ratio - loss
    warmth = np.power(np.asarray(standard_k) / air.temperature_k, exponent)
    return np.asarray(known.rated_power_w * model["full_power_factor"] * lapse * warmth)


def cruise_rotation(model: Model, power_w: Floats) -> Array:
    """Return the propeller's speed of rotation in cruise at a power [Hz]: as printed, else the rated one."""
    known = model.known
    if not known.rotation_speeds:
        return np.asarray(known.rated_rotation_speed_hz)
    shares, speeds = zip(*known.rotation_speeds, strict=True)
    return np.asarray(np.interp(np.asarray(power_w) / known.rated_power_w, shares, speeds))


def drag_force(
    model: Model, true_airspeed_m_s: Floats, density_kg_m3: Floats, mass_kg: Floats, load_factor: float = 1.0
) -> Array:
    """Return the drag [N]."""
    q = np.asarray(density_kg_m3) / 2 * np.square(true_airspeed_m_s)
    lift = load_factor * np.asarray(mass_kg) * STANDARD_GRAVITY_M_S2
    return np.asarray(q * model["drag_area_m2"] + np.square(lift / model["effective_span_m"]) / (np.pi * q))


def level_speed(
    model: Model,
    power_w: Floats,
    air: Air,
    rotation_speed_hz: Floats | None = None,
    load_factor: float = 1.0,
) -> Array:
    """Return the fast true airspeed of level flight at a shaft power; NaN where it does not suffice.

    Newton's steps from the fast side, where the power needed is convex:
    millions of solutions at once, until the next step would change none.
    """
    rotation = cruise_rotation(model, power_w) if rotation_speed_hz is None else rotation_speed_hz
    names = sorted(name for name, value in model.values.items() if np.ndim(value) > 0)
    inputs = np.broadcast_arrays(
        power_w, air.density_kg_m3, air.mass_kg, rotation, *(model.values[name] for name in names)
    )
    shape, size = inputs[0].shape, inputs[0].size
    if size <= _CHUNK:
        return _level_speed(model, inputs[:4], load_factor)
    # pieces that stay in the processor's cache
    flat = [array.ravel() for array in inputs]
    result = np.empty(size)
    for start in range(0, size, _CHUNK):
        piece = [array[start : start + _CHUNK] for array in flat]
        part = Model(model.known, {**model.values, **dict(zip(names, piece[4:], strict=True))})
        result[start : start + _CHUNK] = _level_speed(part, piece[:4], load_factor)
    return result.reshape(shape)


def _level_speed(model: Model, inputs: Sequence[Array], load_factor: float) -> Array:
    power, density, mass, rotation = inputs
    fixed = model.known.propeller == "fixed pitch"
    parasite = density * model["drag_area_m2"]
    lift = load_factor * mass * STANDARD_GRAVITY_M_S2
    induced = 2 * np.square(lift / model["effective_span_m"]) / (np.pi * density)
    with np.errstate(all="ignore"):  # where power lacks, steps go astray and end as NaN
        v = np.cbrt(2.2 * power / parasite)
        for _ in range(_STEPS):
            push, squared = parasite * v, v * v
            drag = push * v / 2 + induced / squared
            slope = push - 2 * induced / (squared * v)
            step = _fixed_pitch_step if fixed else _constant_speed_step
            excess, rise = step(model, power, drag, slope, density, v, rotation)
            v = v - excess / rise
            if np.all(np.abs(excess) < _SETTLED * power):
                break
        off = np.abs(excess) / power
        return np.asarray(np.where((off < _CONVERGED) & (rise > 0) & (v > 0), v, np.nan))


def _constant_speed_step(
    model: Model, power: Array, drag: Array, slope: Array, density: Array, v: Array, rotation: Array
) -> tuple[Array, Array]:
    needed = propulsion.shaft_power_needed(model, drag, slope, density, v, rotation)
    return needed.power_w - power, needed.slope


def _fixed_pitch_step(
    model: Model, power: Array, drag: Array, slope: Array, density: Array, v: Array, _: Array
) -> tuple[Array, Array]:
    engines, diameter = model.known.engines, model.known.diameter_m
    speed = propulsion.fixed_pitch_rotation(model, power, density, v)
    advance = model["power_coefficient_slope"] / model["power_coefficient"]
    gain = advance * np.square(v / speed) / diameter**3
    pull = model["polar_slope"] * power / (speed * diameter)
    induced = propulsion.induced_slope(model, power, speed, density)
    brake = engines * model["polar_drag_coefficient"] * diameter**2 * density
    lacking = drag - pull + induced * v + brake * v * v
    rise = slope + pull * gain / speed + induced * (1 - v * gain / (2 * speed)) + 2 * brake * v
    return lacking * v, rise * v + lacking


def full_throttle_speed(model: Model, air: Air) -> Array:
    """Return the fastest level true airspeed [m/s]."""
    power = full_power(model, air)
    if model.known.propeller == "constant speed":
        return level_speed(model, power, air, model.known.rated_rotation_speed_hz)
    # thrust of a constant torque and drag are a few powers of speed: convex, so Newton's steps come down
    density, rated_hz = air.density_kg_m3, model.known.rated_rotation_speed_hz
    pull = propulsion.full_throttle_thrust(model, power, density, 0.0)
    induced = propulsion.induced_slope(model, power, rated_hz, density)
    brake = model.known.engines * model["polar_drag_coefficient"] * model.known.diameter_m**2
    parasite = density * (np.asarray(model["drag_area_m2"]) / 2 + brake)
    weight = np.asarray(air.mass_kg) * STANDARD_GRAVITY_M_S2
    lifting = 2 * np.square(weight / model["effective_span_m"]) / (np.pi * density)
    with np.errstate(all="ignore"):  # where thrust lacks, steps go astray and end as NaN
        v = np.asarray(np.sqrt(pull / parasite))
        for _ in range(_STEPS):
            excess = parasite * v**2 + induced * v - pull + lifting / v**2
            rise = 2 * parasite * v + induced - 2 * lifting / v**3
            v = v - excess / rise
        balanced = (np.abs(excess) < _CONVERGED * pull) & (rise > 0) & (v > 0)
    return np.asarray(np.where(balanced, v, np.nan))


def specific_consumption(model: Model, power_w: Floats) -> Array:
    """Return the specific consumption in cruise [kg/J], straight between the shares of the parameters."""
    share = np.asarray(power_w) / model.known.rated_power_w
    low, middle, high = CONSUMPTION_SHARES
    below = (np.asarray(model["low_power_consumption_factor"]) - 1) / (middle - low)
    above = (np.asarray(model["high_power_consumption_factor"]) - 1) / (high - middle)
    bend = np.where(share < middle, below * (middle - share), above * (share - middle))
    return np.asarray(model["specific_consumption_kg_j"] * (1 + bend))


def cruise_fuel_flow(model: Model, power_w: Floats) -> Array:
    """Return the fuel flow in cruise [kg/s]."""
    return np.asarray(power_w * specific_consumption(model, power_w))


def climb_fuel_flow(model: Model, power_w: Floats) -> Array:
    """Return the fuel flow at full power [kg/s]."""
    full = model["specific_consumption_kg_j"] * np.asarray(model["full_power_consumption_factor"])
    return np.asarray(power_w * full)


def power_at_fuel_flow(model: Model, fuel_flow_kg_s: Floats) -> Array:
    """Return the cruise power of a fuel flow [W]."""
    power = np.asarray(fuel_flow_kg_s / np.asarray(model["specific_consumption_kg_j"]))
    for _ in range(12):  # consumption hardly depends on power: each round gains most of a digit
        power = np.asarray(fuel_flow_kg_s / specific_consumption(model, power))
    return power


def power_needed(
    model: Model, true_airspeed_m_s: Floats, air: Air, rotation_speed_hz: Floats | None = None
) -> Array:
    """Return the shaft power of level flight at a speed [W]."""
    v, density = np.asarray(true_airspeed_m_s, dtype=np.float64), air.density_kg_m3
    drag = drag_force(model, v, density, air.mass_kg)
    if model.known.propeller == "constant speed":
        rotation = cruise_rotation(model, drag * v / 0.8) if rotation_speed_hz is None else rotation_speed_hz
        return propulsion.shaft_power_needed(model, drag, np.zeros_like(drag), density, v, rotation).power_w
    power = drag * v / 0.7
    for _ in range(40):  # each round takes half of what is left
        thrust = propulsion.thrust_power(model, power, density, v, 1.0)
        power = power * np.clip(drag * v / np.where(thrust > 0, thrust, 1.0), 0.5, 2.0)
    return power


def rate_of_climb(
    model: Model,
    true_airspeed_m_s: Floats,
    air: Air,
    power_w: Floats | None = None,
    rotation_speed_hz: Floats | None = None,
    *,
    accelerating: bool = False,
) -> Array:
    """Return the rate of climb at full power and rated speed, or at a given power as in cruise [m/s].

    At full power what cooling flaps and trim add to drag in a climb counts, where a fit has found it.
    `accelerating` counts what holding one equivalent airspeed costs as true
    airspeed grows with height (SFTE Reference Handbook, 2013, 12.5.1).
    """
    known, v, density = model.known, np.asarray(true_airspeed_m_s), air.density_kg_m3
    full = full_power(model, air) if power_w is None else np.asarray(power_w)
    if known.propeller == "fixed pitch" and power_w is None:
        thrust_power = propulsion.full_throttle_thrust(model, full, density, v) * v
    else:
        rotation = rotation_speed_hz
        if rotation is None:
            rotation = known.rated_rotation_speed_hz if power_w is None else cruise_rotation(model, power_w)
        thrust_power = propulsion.thrust_power(model, full, density, v, rotation)
    weight = np.asarray(air.mass_kg) * STANDARD_GRAVITY_M_S2
    drag = drag_force(model, v, density, air.mass_kg)
    if power_w is None:
        drag = drag + density / 2 * np.square(v) * model.values.get("climb_drag_area_m2", 0.0)
    rate = (thrust_power - drag * v) / weight
    return np.asarray(rate / (1 + _acceleration(v, air)) if accelerating else rate)


def _acceleration(true_airspeed_m_s: Array, air: Air) -> Array:
    """Return what holding one equivalent airspeed takes of a rate, as true airspeed grows with height."""
    fall = (STANDARD_GRAVITY_M_S2 / 287.05287 - 0.0065) / np.asarray(air.temperature_k)
    return np.asarray(np.square(true_airspeed_m_s) * fall / (2 * STANDARD_GRAVITY_M_S2))


def glide_polar(model: Model) -> tuple[Floats, Floats]:
    """Return drag area [m²] and effective span [m] with the propeller windmilling."""
    return np.asarray(model["drag_area_m2"]) * model["glide_drag_factor"], model["effective_span_m"]


def best_glide(model: Model, mass_kg: Floats) -> tuple[Array, Array]:
    """Return the best glide ratio and its equivalent airspeed [m/s]."""
    polar = glide_polar(model)
    return np.asarray(best_lift_to_drag(*polar)), np.asarray(best_lift_to_drag_speed(mass_kg, *polar))


def sink_rate(model: Model, true_airspeed_m_s: Floats, air: Air, *, accelerating: bool = False) -> Array:
    """Return the rate of descent without power [m/s]; `accelerating` as for a climb."""
    v, density = np.asarray(true_airspeed_m_s), air.density_kg_m3
    area_m2, span_m = glide_polar(model)
    gliding = Model(model.known, {"drag_area_m2": area_m2, "effective_span_m": span_m})
    force = drag_force(gliding, v, density, air.mass_kg)
    sink = force * v / (np.asarray(air.mass_kg) * STANDARD_GRAVITY_M_S2)
    return np.asarray(sink / (1 + _acceleration(v, air)) if accelerating else sink)


def stall_speed(
    stall_speed_m_s: Floats, reference_mass_kg: Floats, mass_kg: Floats, bank_rad: Floats = 0.0
) -> Floats:
    """Return a stated stall speed at another mass and in a level turn [m/s]."""
    load = manoeuvre.load_factor_in_turn(bank_rad)
    return manoeuvre.stall_speed(stall_speed_m_s, mass_kg, reference_mass_kg, load)
