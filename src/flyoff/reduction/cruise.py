"""Level speed and power freed of weight and density (PIW-VIW), and at the handbook's weight and altitude.

Source: SFTE Reference Handbook (2013), 12.7.1. The reference does not carry
data over more than 5,000 ft or 10 % of weight: beyond, a point is flagged.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import ft
from flyoff.physics.atmosphere import density_ratio, temperature_at_altitude
from flyoff.physics.generalised import (
    generalised_power,
    generalised_speed,
    power_at_condition,
    speed_at_condition,
)
from flyoff.reduction.airplane import MASS_U, Airplane, Correction
from flyoff.reduction.points import AS_IF, Point
from flyoff.reduction.power import Powers
from flyoff.reduction.statistics import Estimate

MOST_ALTITUDE_M = 5000 * ft
MOST_MASS_SHARE = 0.10
LEAST_SPREAD = 1.08
"""Fastest over slowest generalised speed, below which no curve is drawn; common practice, no source."""
_SOURCE = "SFTE Reference Handbook, 2013, 12.7.1"


@dataclass(frozen=True)
class LevelPoint:
    """One level point: generalised, and at the standard mass and the pressure altitude of the handbook."""

    point: int
    power_by: str
    generalised_speed: Estimate
    generalised_power: Estimate
    altitude_m: float
    speed: Estimate
    power: Estimate
    corrections: tuple[Correction, ...]
    flags: tuple[str, ...]


@dataclass(frozen=True)
class SpeedPower:
    """Level points at one standard mass, and the curve ``P = a V³ + b / V`` through them, SI.

    `covariance` is that of (a, b); `missing` says why there is no curve.
    """

    standard_mass_kg: float
    points: tuple[LevelPoint, ...]
    coefficients: Array | None = None
    covariance: Array | None = None
    missing: str = ""

    def power_at(self, generalised_speed_m_s: float) -> Estimate | None:
        """Return the generalised power at a generalised speed."""
        if self.coefficients is None or self.covariance is None:
            return None
        terms = np.array([generalised_speed_m_s**3, 1 / generalised_speed_m_s])
        return Estimate(float(terms @ self.coefficients), float(np.sqrt(terms @ self.covariance @ terms)))


def speed_power(points: Sequence[Point], powers: Sequence[Powers], airplane: Airplane) -> SpeedPower | None:
    """Return the level points at standard conditions; None where no standard weight or no power is known."""
    if airplane.standard_mass_kg is None:
        return None
    level = [
        found
        for index, (point, own) in enumerate(zip(points, powers, strict=True))
        if (found := _level(index, point, own, airplane, airplane.standard_mass_kg)) is not None
    ]
    if not level:
        return None
    still = tuple(found for found in level if not points[found.point].in_moving_air)
    return replace(_fitted(airplane.standard_mass_kg, still), points=tuple(level))


def _level(
    index: int, point: Point, powers: Powers, airplane: Airplane, standard_kg: float
) -> LevelPoint | None:
    altitude, speed, temperature = point.pressure_altitude, point.air.true_airspeed, point.air.temperature
    power, mass_kg = powers.best, point.mass_kg
    if point.condition.kind != "level" or mass_kg is None or power is None or power.power_w.value <= 0:
        return None
    if not point.condition.is_clean:
        return None
    if altitude is None or speed is None or temperature is None or speed.value <= 0:
        return None
    sigma = float(density_ratio(altitude.value, temperature.value))
    u_sigma = temperature.u / temperature.value
    viw = float(generalised_speed(speed.value, mass_kg, standard_kg, sigma))
    piw = float(generalised_power(power.power_w.value, mass_kg, standard_kg, sigma))
    u_viw = math.hypot(speed.u / speed.value, u_sigma / 2, MASS_U / 2)
    u_piw = math.hypot(power.power_w.u / power.power_w.value, u_sigma / 2, 1.5 * MASS_U)
    altitude_m = _nearest(airplane, altitude.value)
    standard_sigma = float(density_ratio(altitude_m, float(temperature_at_altitude(altitude_m))))
    at_speed = float(speed_at_condition(viw, standard_kg, standard_kg, standard_sigma))
    at_power = float(power_at_condition(piw, standard_kg, standard_kg, standard_sigma))
    lighter = standard_kg / mass_kg
    corrections = (
        Correction("weight", speed.value, speed.value * math.sqrt(lighter), "kt", _SOURCE),
        Correction("density", speed.value * math.sqrt(lighter), at_speed, "kt", _SOURCE),
        Correction("weight", power.power_w.value, power.power_w.value * lighter**1.5, "hp", _SOURCE),
        Correction("density", power.power_w.value * lighter**1.5, at_power, "hp", _SOURCE),
    )
    flags = []
    if abs(altitude_m - altitude.value) > MOST_ALTITUDE_M:
        flags.append("carried over more than 5,000 ft")
    if abs(lighter - 1) > MOST_MASS_SHARE:
        flags.append(f"carried over {abs(lighter - 1):.0%} of weight, more than 10 %")
    if powers.conflict:
        flags.append(powers.conflict)
    flags += [flag for flag in point.flags if "drift" in flag or flag.startswith(AS_IF)]
    return LevelPoint(
        index, power.way, Estimate(viw, viw * u_viw), Estimate(piw, piw * u_piw), altitude_m,
        Estimate(at_speed, at_speed * u_viw), Estimate(at_power, at_power * u_piw), corrections, tuple(flags),
    )  # fmt: skip


def _nearest(airplane: Airplane, altitude_m: float) -> float:
    """Return the handbook's altitude next to one flown; without a table, its nearest thousand feet."""
    if airplane.altitudes_m.size:
        return float(airplane.altitudes_m[np.abs(airplane.altitudes_m - altitude_m).argmin()])
    return round(altitude_m / (1000 * ft)) * 1000 * ft


def _fitted(standard_kg: float, points: tuple[LevelPoint, ...]) -> SpeedPower:
    """Fit a V³ + b / V, zero-lift and induced power of a parabolic polar, by weighted least squares."""
    v = np.array([p.generalised_speed.value for p in points])
    power = np.array([p.generalised_power.value for p in points])
    if len(points) < 3 or v.max() / v.min() < LEAST_SPREAD:
        return SpeedPower(standard_kg, points, missing="three level points apart in speed make a curve")
    design = np.column_stack([v**3, 1 / v])
    u = np.array([p.generalised_power.u for p in points])
    u_v = np.array([p.generalised_speed.u for p in points])
    coefficients = np.linalg.lstsq(design / u[:, None], power / u, rcond=None)[0]
    slope = 3 * coefficients[0] * v**2 - coefficients[1] / v**2
    weight = 1 / np.hypot(u, slope * u_v)
    scaled = design * weight[:, None]
    # columns differ by ten powers of ten: scale them before inverting
    size = np.sqrt((scaled**2).sum(axis=0))
    covariance = np.linalg.inv((scaled / size).T @ (scaled / size)) / np.outer(size, size)
    coefficients = covariance @ scaled.T @ (power * weight)
    chi2 = float((((power - design @ coefficients) * weight) ** 2).sum())
    if len(points) > 2:
        covariance = covariance * max(1.0, chi2 / (len(points) - 2))
    if coefficients[0] <= 0 or coefficients[1] <= 0:
        return SpeedPower(
            standard_kg, points, missing="the points do not show both zero-lift and induced power"
        )
    return SpeedPower(standard_kg, points, coefficients, covariance)
