"""Shaft power to thrust and thrust to shaft power, in forms that need no search.

Constant speed: the actuator disc takes the induced loss, blade-element theory
the profile loss (tan φ over tan(φ + γ) at seven tenths of the radius, with
tan γ the blades' drag over lift), a figure of merit the rest. With thrust
given, all of it is explicit. References: H. Glauert, The Elements of Aerofoil
and Airscrew Theory, chapters 15 and 16 (from memory); SFTE Reference Handbook
(2013), 11.5. The profile loss goes by the geometric advance angle, a
simplification.

Fixed pitch: a polar of thrust coefficient over power coefficient, both over J².
J. T. Lowry (JAAER 6(1), 1995, form from memory) takes it as straight, which
misses the blades of NACA Report 640 by a tenth; the bend that goes with the
root, as the disc's induced loss does, follows them within 4 %. The power
coefficient falls with J³, which is an own reading of the same report: the
blades at 15° to 30° follow it within 0.0015.
"""

from typing import NamedTuple

import numpy as np

from flyoff.core.typing import Array, Floats
from flyoff.model.parameters import Model
from flyoff.physics.propeller import ideal_efficiency

REFERENCE_ADVANCE_RATIO = 0.9
"""Advance ratio at which the figure of merit holds: cruise of a light airplane, common practice."""
POLAR_BEND = 0.12
"""Bend of the fixed-pitch polar over its slope, three blades at 15° to 30° (fitted to NACA Report 640)."""
_ADVANCE_TO_TANGENT = 1 / (0.7 * np.pi)


class Needed(NamedTuple):
    """Shaft power [W] and its slope with true airspeed [W s/m]."""

    power_w: Array
    slope: Array


def blade_share(model: Model, true_airspeed_m_s: Floats, rotation_speed_hz: Floats) -> Array:
    """Return the constant-speed propeller's efficiency over the actuator disc's."""
    scale = _ADVANCE_TO_TANGENT / (np.asarray(rotation_speed_hz) * model.known.diameter_m)
    reference = _profile(np.asarray(REFERENCE_ADVANCE_RATIO * _ADVANCE_TO_TANGENT), model["blade_drag_ratio"])
    profile = _profile(np.asarray(true_airspeed_m_s * scale), model["blade_drag_ratio"])
    return np.asarray(model["figure_of_merit"] * profile / reference)


def _profile(tangent: Array, drag_ratio: Floats) -> Array:
    return np.asarray(tangent * (1 - tangent * drag_ratio) / (tangent + drag_ratio))


def thrust_power(
    model: Model,
    power_w: Floats,
    density_kg_m3: Floats,
    true_airspeed_m_s: Floats,
    rotation_speed_hz: Floats,
) -> Array:
    """Return the thrust power of a shaft power [W]."""
    known = model.known
    each_w = np.asarray(power_w) / known.engines
    if known.propeller == "constant speed":
        ideal = ideal_efficiency(each_w, density_kg_m3, true_airspeed_m_s, known.diameter_m)
        return np.asarray(power_w * ideal * blade_share(model, true_airspeed_m_s, rotation_speed_hz))
    speed_hz = fixed_pitch_rotation(model, power_w, density_kg_m3, true_airspeed_m_s)
    return np.asarray(
        fixed_pitch_thrust(model, power_w, speed_hz, density_kg_m3, true_airspeed_m_s) * true_airspeed_m_s
    )


def fixed_pitch_thrust(
    model: Model,
    power_w: Floats,
    rotation_speed_hz: Floats,
    density_kg_m3: Floats,
    true_airspeed_m_s: Floats,
) -> Array:
    """Return the thrust of all engines with fixed pitch at a power and its speed of rotation [N]."""
    known = model.known
    pull = model["polar_slope"] * np.asarray(power_w) / (np.asarray(rotation_speed_hz) * known.diameter_m)
    loss = induced_slope(model, power_w, rotation_speed_hz, density_kg_m3) * true_airspeed_m_s
    area_m2 = known.engines * model["polar_drag_coefficient"] * known.diameter_m**2
    return np.asarray(pull - loss - area_m2 * density_kg_m3 * np.square(true_airspeed_m_s))


def induced_slope(model: Model, power_w: Floats, rotation_speed_hz: Floats, density_kg_m3: Floats) -> Array:
    """Return the thrust lost to the polar's bend, per true airspeed [N s/m]."""
    known = model.known
    bend = POLAR_BEND * (known.blades / 3) ** 0.5 * np.asarray(model["polar_slope"])
    torque = np.asarray(power_w) / rotation_speed_hz
    return np.asarray(bend * np.sqrt(known.engines * density_kg_m3 * known.diameter_m * torque))


def full_throttle_thrust(
    model: Model, full_power_w: Floats, density_kg_m3: Floats, true_airspeed_m_s: Floats
) -> Array:
    """Return the full-throttle thrust with fixed pitch [N]: torque does not depend on the speed of rotation.

    `full_power_w` is the power at rated speed.
    """
    rated_hz = model.known.rated_rotation_speed_hz
    return fixed_pitch_thrust(model, full_power_w, rated_hz, density_kg_m3, true_airspeed_m_s)


def fixed_pitch_rotation(
    model: Model, power_w: Floats, density_kg_m3: Floats, true_airspeed_m_s: Floats
) -> Array:
    """Return the speed of rotation at which a fixed-pitch propeller takes a power [Hz]."""
    diameter_m = model.known.diameter_m
    loading = np.asarray(power_w) / model.known.engines / (density_kg_m3 * diameter_m**5)
    advance = model["power_coefficient_slope"] * np.power(true_airspeed_m_s / diameter_m, 3.0)
    return np.asarray(np.cbrt((loading + advance) / model["power_coefficient"]))


def shaft_power_needed(
    model: Model,
    drag_n: Array,
    drag_slope: Array,
    density_kg_m3: Floats,
    true_airspeed_m_s: Array,
    rotation_speed_hz: Floats,
) -> Needed:
    """Return the shaft power that a drag takes with constant speed, and its slope with true airspeed."""
    known, v = model.known, true_airspeed_m_s
    drag_ratio = model["blade_drag_ratio"]
    scale = _ADVANCE_TO_TANGENT / (np.asarray(rotation_speed_hz) * known.diameter_m)
    t = v * scale
    reference = _profile(np.asarray(REFERENCE_ADVANCE_RATIO * _ADVANCE_TO_TANGENT), drag_ratio)
    kept, sum_ = 1 - t * drag_ratio, t + drag_ratio
    thrust = drag_n * (reference / model["figure_of_merit"]) * sum_ / (t * kept)
    growth = drag_slope / drag_n - scale * (1 / t - drag_ratio / kept - 1 / sum_)
    loading = thrust * ((8 / np.pi) / (known.engines * known.diameter_m**2)) / (density_kg_m3 * np.square(v))
    root = np.sqrt(1 + loading)
    power = thrust * v * (1 + root) / 2
    slope = power * (growth + 1 / v + loading * (growth - 2 / v) / (2 * root * (1 + root)))
    return Needed(power, slope)
