"""Cruise with falling weight: distance and time by fuel burnt, for every draw at once.

Fuel is the independent variable: it is what an airplane starts with, and what
the weight falls by. dx/dm = ground speed / flow, dt/dm = 1 / flow.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from flyoff.core.typing import Array

GroundSpeed = Callable[[Array], Array]
_STEPS = 4
_ROUNDS = 4
_CLOSE = 1e-9


@dataclass(frozen=True)
class Rates:
    """True airspeed [m/s] and fuel flow [kg/s] by weight: quadratics through three weights, or constants.

    `speeds` and `flows` are coefficients by rising power of ``mass − about_kg``,
    shape (1 or 3, samples).
    """

    about_kg: float
    speeds: Array
    flows: Array

    @property
    def constant(self) -> bool:
        """Whether weight changes nothing."""
        return len(self.speeds) == 1

    def at(self, mass_kg: Array) -> tuple[Array, Array]:
        """Return true airspeed and fuel flow at some weights."""
        off = mass_kg - self.about_kg
        return _polynomial(self.speeds, off), _polynomial(self.flows, off)


def _polynomial(coefficients: Array, x: Array) -> Array:
    total: Array = coefficients[-1]
    for part in coefficients[-2::-1]:
        total = total * x + part
    return total


def rates_through(masses_kg: Array, speeds_m_s: Array, flows_kg_s: Array) -> Rates:
    """Return the rates that pass through samples at one weight or at three, shape (1 or 3, samples)."""
    about = float(masses_kg[len(masses_kg) // 2])
    powers = np.vander(masses_kg - about, len(masses_kg), increasing=True)
    inverse = np.linalg.inv(powers)
    return Rates(about, inverse @ speeds_m_s, inverse @ flows_kg_s)


def burnt(rates: Rates, ground: GroundSpeed, start_kg: Array, fuel_kg: Array) -> tuple[Array, Array]:
    """Return the distance [m] and time [s] that some fuel lasts in cruise, by Runge and Kutta's fourth order.

    Exact where the rates do not depend on weight.
    """
    steps = 1 if rates.constant else _STEPS
    step = fuel_kg / steps
    distance, time = np.zeros_like(step), np.zeros_like(step)
    mass = np.asarray(start_kg)
    with np.errstate(invalid="ignore", divide="ignore"):
        here = _slopes(rates, ground, mass)
        for _ in range(steps):
            middle = here if rates.constant else _slopes(rates, ground, mass - step / 2)
            mass = mass - step
            after = here if rates.constant else _slopes(rates, ground, mass)
            # the slopes do not depend on what is summed: the two middle ones are the same
            distance = distance + step / 6 * (here[0] + 4 * middle[0] + after[0])
            time = time + step / 6 * (here[1] + 4 * middle[1] + after[1])
            here = after
    return distance, time


def _slopes(rates: Rates, ground: GroundSpeed, mass_kg: Array) -> tuple[Array, Array]:
    speed, flow = rates.at(mass_kg)
    return ground(speed) / flow, 1 / flow


def fuel_for(rates: Rates, ground: GroundSpeed, start_kg: Array, distance_m: Array) -> tuple[Array, Array]:
    """Return the fuel [kg] and time [s] of a distance in cruise; NaN where no way is made."""
    with np.errstate(invalid="ignore", divide="ignore"):
        fuel = np.asarray(distance_m / _slopes(rates, ground, start_kg)[0])
        reached, time = burnt(rates, ground, start_kg, fuel)
        for _ in range(_ROUNDS):
            if rates.constant:
                break
            lacking = distance_m - reached
            if not np.any(np.abs(lacking) > _CLOSE * np.abs(distance_m)):
                break
            fuel = fuel + lacking / _slopes(rates, ground, start_kg - fuel)[0]
            reached, time = burnt(rates, ground, start_kg, fuel)
    return fuel, time
