"""Invented airplanes with fixed pitch: a blade of NACA Report 640 at 20°, stretched to a pitch."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import PchipInterpolator

from flyoff.core.units import hp
from helpers.invented import CHART, G, Invented, invent, standard

_ADVANCES = np.linspace(0.12, 0.98, 400)


@dataclass(frozen=True)
class FixedPitch(Invented):
    """An airplane whose propeller takes the power that its speed of rotation gives."""

    pitch: float = 1.0
    solidity: float = 0.67

    def curves(self):
        """Return advance ratios with power coefficient and efficiency."""
        js, etas, coefficients = CHART[20]
        cp = PchipInterpolator([0.0, *js], [0.089, *coefficients])(_ADVANCES)
        eta = PchipInterpolator([0.0, *js], [0.0, *etas])(_ADVANCES)
        return self.pitch * _ADVANCES, self.solidity * cp, self.installation * eta

    def efficiency(self, power, density, speed, _=None):
        """Return the efficiency at a power: Cp over J cubed falls with J, so J follows from it."""
        advance, cp, eta = self.curves()
        loading = np.asarray(power) / (density * self.known.diameter_m**2 * np.asarray(speed) ** 3)
        return np.interp(-np.log(loading), -np.log(cp / advance**3), eta)

    def rate_of_climb(self, speed, altitude, kelvin, density, mass):
        """Return the rate of climb at full throttle: torque is that of full power at rated speed."""
        advance, cp, eta = self.curves()
        speed = np.asarray(speed, dtype=float)
        diameter, rated = self.known.diameter_m, self.known.rated_rotation_speed_hz
        full = self.full_power(altitude, kelvin)
        loading = full / (rated * density * diameter**3 * speed**2)
        where = np.interp(-np.log(loading), -np.log(cp / advance**2), advance)
        power = full * speed / (where * diameter) / rated
        thrust = power * np.interp(where, advance, eta)
        return (thrust - self.drag(speed, density, mass) * speed) / (mass * G)


def invent_fixed(seed, *, tabulated=None):
    """Return one drawn at random: cruise at 75 % and 6,000 ft turns 0.93 of rated."""
    rng = np.random.default_rng((seed, 7))
    other = invent(seed, tabulated=tabulated)
    power = rng.uniform(115, 185) * hp
    known = replace(
        other.known, propeller="fixed pitch", blades=2, rated_power_w=power, turbocharged=False,
        critical_altitude_m=None, retractable=False, takeoff_mass_kg=float(560 + 3.9 * power / 1000),
        diameter_m=float(1.92 * (power / (160 * hp)) ** 0.1),
    )  # fmt: skip
    values = {**vars(other), "known": known}
    values["zero_lift"] = 0.031 * np.exp(0.12 * rng.standard_normal())
    # two blades of about the report's width, pitched to take cruise power at cruise speed of rotation
    airplane = FixedPitch(**values, solidity=float(rng.uniform(0.95, 1.2)) * 2 / 3)
    density, mass = float(standard(6000)[2]), 0.95 * known.takeoff_mass_kg
    wanted, rotation = 0.75 * power, 0.93 * known.rated_rotation_speed_hz
    coefficient = wanted / (density * rotation**3 * known.diameter_m**5) / airplane.solidity
    for _ in range(6):
        speed = float(airplane.level_speed(wanted, density, mass))
        here = float(np.interp(-coefficient, -airplane.curves()[1] / airplane.solidity, _ADVANCES))
        pitch = speed / (rotation * known.diameter_m) / here
        airplane = replace(airplane, pitch=float(np.clip(pitch, 0.9, 1.4)))
    return airplane
