"""Air that rose or sank evenly under a point: what no point shows alone, all of them together do.

Level points, full-power climbs and glides of one airplane obey one balance of
power: weight times the rate of energy height is thrust power less the power of
drag. With a parabolic polar, a propeller efficiency that grows with airspeed, and
a propeller's drag in glides, that is linear in six unknowns,

    dE/dt = (P / W) (h + h' (V - V0) / V0 + d) - rho V³ (f + f') / 2 W - 2 W B / (pi rho V),

d for climbs and f' for glides alone. They are fitted robustly (Tukey's biweight;
P. J. Huber, Robust Statistics, 1981, from memory). A point that
departs from what the others foretell by more than its uncertainty was flown as if the air
rose or sank by so much. Energy height and excess power: USNTPS-FTM-108, Fixed Wing
Performance, 1992, 7.3; the wind's gradient: SFTE Reference Handbook, 2013, 12.5.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from flyoff.core.typing import Array
from flyoff.core.units import fpm
from flyoff.flights.log import utc
from flyoff.physics.atmosphere import density_ratio
from flyoff.reduction.airplane import SPAN_EFFICIENCY, Airplane
from flyoff.reduction.climb import energy_rate, wind_rate
from flyoff.reduction.glide import IdleFlow, idle_flow, propeller_state
from flyoff.reduction.points import AS_IF, Point
from flyoff.reduction.power import Powers
from flyoff.reduction.statistics import Estimate

LEAST_RATE_M_S = 70 * fpm
"""Rising or sinking that is worth a word; common practice, no source."""
SIGMAS = 3.5
SMOOTH_M_S = 18 * fpm
"""[m/s] Standard deviation of a point's balance in smooth air; common practice, no source."""
MIDDLE_SPEED_M_S = 50.0
FEWEST = 4
"""Fewer points than this say nothing of each other."""
_TUNING = 4.685
"""Tukey's constant for 95 % efficiency on normal errors (Huber, 1981, from memory)."""
_STEPS = 30
_EFFICIENCY, _SLOPE, _CLIMB = (0.78, 0.12), (0.16, 0.12), (0.0, 0.06)
_FLAT_PLATE_M2, _PROPELLER_M2 = (0.5, 0.4), (0.06, 0.06)
"""Means and standard deviations that the unknowns have before the flight; common practice, no source."""
_SPAN_U = 0.15


@dataclass(frozen=True)
class RisingAir:
    """How fast the air rose under a point, by the others; `is_significant` where it is worth a flag."""

    point: int
    rate: Estimate

    @property
    def is_significant(self) -> bool:
        """Whether it is beyond its uncertainty and worth a word."""
        return abs(self.rate.value) > max(SIGMAS * self.rate.u, LEAST_RATE_M_S)


@dataclass(frozen=True)
class GlidesApart:
    """How much faster the energy of the first of two glides grew than that of the second tells."""

    first: int
    second: int
    rate: Estimate

    @property
    def is_significant(self) -> bool:
        """Whether it is beyond its 95 % interval, for it is one question of a flight, and worth a word."""
        return abs(self.rate.value) > max(self.rate.u95, LEAST_RATE_M_S)


@dataclass(frozen=True)
class _Balance:
    """Rows of the balance: what is known of each point, in the order of the unknowns."""

    members: tuple[int, ...]
    design: Array
    rate: Array
    u: Array


def flag_rising_air(
    points: Sequence[Point], powers: Sequence[Powers], airplane: Airplane
) -> tuple[Point, ...]:
    """Return the points with a flag on each that was flown as if the air rose or sank.

    Of two glides that disagree each may be the one: both are flagged.
    """
    flags = {
        found.point: _flag(found) for found in rising_air(points, powers, airplane) if found.is_significant
    }
    apart = glides_apart(points, powers, airplane)
    if apart is not None and apart.is_significant and not {apart.first, apart.second} & flags.keys():
        flags |= {apart.first: _pair_flag(apart, points[apart.second])}
        flags |= {apart.second: _pair_flag(apart, points[apart.first])}
    return tuple(
        replace(point, flags=(*point.flags, flags[index])) if index in flags else point
        for index, point in enumerate(points)
    )


def _flag(found: RisingAir) -> str:
    rate = found.rate
    moved = "rose" if rate.value > 0 else "sank"
    return (
        f"{AS_IF} {moved} at {abs(rate.value) / fpm:.0f} ± {rate.u95 / fpm:.0f} ft/min, "
        "by the other points' balance of power"
    )


def _pair_flag(apart: GlidesApart, other: Point) -> str:
    size = f"{abs(apart.rate.value) / fpm:.0f} ± {apart.rate.u95 / fpm:.0f} ft/min"
    at = f"{utc(other.condition.start_s)[11:19]} UTC"
    return f"disagrees with the other glide, at {at}, by {size}: under one of the two the air rose or sank"


def rising_air(
    points: Sequence[Point], powers: Sequence[Powers], airplane: Airplane
) -> tuple[RisingAir, ...]:
    """Return how fast the air rose under each point that the others foretell."""
    balance = _balance(points, powers)
    if len(balance.members) < FEWEST:
        return ()
    prior, u_prior = _before(airplane)
    weights = _robust_weights(balance, prior, u_prior)
    found = []
    for row, member in enumerate(balance.members):
        others = np.where(weights > 0.3, 1.0, 0.0)
        others[row] = 0.0
        fitted, covariance, scale = _fitted(balance, prior, u_prior, others)
        terms = balance.design[row]
        u = math.sqrt(float(terms @ covariance @ terms) + (scale * balance.u[row]) ** 2)
        found.append(RisingAir(member, Estimate(float(balance.rate[row] - terms @ fitted), u)))
    return tuple(found)


def glides_apart(points: Sequence[Point], powers: Sequence[Powers], airplane: Airplane) -> GlidesApart | None:
    """Return how far the only two glides of a flight are apart, the balance of all else allowed for.

    The propeller's drag, which nothing else tells, is in both; with three glides or more the others say
    which is odd.
    """
    balance = _balance(points, powers)
    glides = [row for row, member in enumerate(balance.members) if points[member].condition.kind == "descent"]
    if len(balance.members) < FEWEST or len(glides) != 2:
        return None
    prior, u_prior = _before(airplane)
    others = np.where(_robust_weights(balance, prior, u_prior) > 0.3, 1.0, 0.0)
    others[glides] = 0.0
    fitted, covariance, scale = _fitted(balance, prior, u_prior, others)
    one, two = glides
    terms = balance.design[one] - balance.design[two]
    own = scale * math.hypot(balance.u[one], balance.u[two])
    u = math.hypot(math.sqrt(float(terms @ covariance @ terms)), own)
    apart = float(balance.rate[one] - balance.rate[two] - terms @ fitted)
    return GlidesApart(balance.members[one], balance.members[two], Estimate(apart, u))


def _balance(points: Sequence[Point], powers: Sequence[Powers]) -> _Balance:
    way = _common_way(points, powers)
    idle = idle_flow(points)
    members, design, rates, us = [], [], [], []
    for index, (point, own) in enumerate(zip(points, powers, strict=True)):
        energy, terms = energy_rate(point), _terms(point, own, way, idle)
        if energy is None or terms is None or any("turn" in flag for flag in point.flags):
            continue
        members.append(index)
        design.append(terms)
        rates.append(energy.value + (wind.value if (wind := wind_rate(point)) else 0.0))
        us.append(math.hypot(SMOOTH_M_S, _u_of_speed(point, terms)))
    return _Balance(tuple(members), np.array(design), np.array(rates), np.array(us))


def _common_way(points: Sequence[Point], powers: Sequence[Powers]) -> str:
    """Return the way that most level points and climbs have their power by: ways do not mix."""
    ways = Counter(
        reading.way
        for point, own in zip(points, powers, strict=True)
        if point.condition.kind != "descent"
        for reading in own.readings
    )
    return ways.most_common(1)[0][0] if ways else ""


def _terms(point: Point, powers: Powers, way: str, idle: IdleFlow) -> Array | None:
    """Return one point's factors of the unknowns: efficiency, its slope, climb, plate, span, propeller."""
    altitude, speed, temperature, mass_kg = (
        point.pressure_altitude, point.air.true_airspeed, point.air.temperature, point.mass_kg,
    )  # fmt: skip
    if altitude is None or speed is None or temperature is None or mass_kg is None:
        return None
    if not point.condition.is_clean or point.condition.is_feathered:
        return None
    kind, power_w = point.condition.kind, 0.0
    is_glide = kind == "descent" and bool(propeller_state(point, idle))
    if not is_glide:
        power = next((r.power_w.value for r in powers.readings if r.way == way), None)
        if power is None or kind == "descent":
            return None
        power_w = power
    weight_n = mass_kg * STANDARD_GRAVITY_M_S2
    density = SEA_LEVEL_DENSITY_KG_M3 * float(density_ratio(altitude.value, temperature.value))
    v = speed.value
    plate = density * v**3 / (2 * weight_n)
    return np.array(
        [
            power_w / weight_n,
            power_w / weight_n * (v - MIDDLE_SPEED_M_S) / MIDDLE_SPEED_M_S,
            power_w / weight_n if kind == "climb" else 0.0,
            -plate,
            -2 * weight_n / (math.pi * density * v),
            -plate if is_glide else 0.0,
        ]
    )


def _u_of_speed(point: Point, terms: Array) -> float:
    """Return what the scatter of a point's own airspeed, not the shared calibration, does to its balance."""
    indicated, speed = point.readings.mean("indicated_airspeed"), point.air.true_airspeed
    if indicated is None or speed is None or indicated.value <= 0:
        return 0.0
    # 3 f V³ less B / V, of the typical f and B
    slope = 3 * terms[3] * _FLAT_PLATE_M2[0] - terms[4] / 75.0
    return abs(float(slope)) * indicated.u / indicated.value


def _before(airplane: Airplane) -> tuple[Array, Array]:
    """Return the unknowns and their standard uncertainties before any flight."""
    span = 10.0 if airplane.span_m is None else airplane.span_m
    induced = 1 / (SPAN_EFFICIENCY.value * span**2)
    spread = induced * (_SPAN_U if airplane.span_m is not None else 0.5)
    pairs = [_EFFICIENCY, _SLOPE, _CLIMB, _FLAT_PLATE_M2, (induced, spread), _PROPELLER_M2]
    mean, u = np.array(pairs).T
    return mean, u


def _fitted(balance: _Balance, prior: Array, u_prior: Array, weights: Array) -> tuple[Array, Array, float]:
    """Return the unknowns, their covariance and the scatter over the balance's own, at least 1."""
    root = np.sqrt(weights) / balance.u
    rows = np.vstack([balance.design * root[:, None] * u_prior, np.eye(len(prior))])
    right = np.concatenate([(balance.rate - balance.design @ prior) * root, np.zeros(len(prior))])
    normal = np.linalg.inv(rows.T @ rows)
    moved = normal @ rows.T @ right
    left = right - rows @ moved
    free = float(weights.sum()) - (len(prior) - float(np.trace(normal)))
    scale2 = float((left**2).sum()) / free if free >= 1 else 1.0
    scale = math.sqrt(max(1.0, scale2))
    return prior + moved * u_prior, normal * np.outer(u_prior, u_prior) * scale**2, scale


def _robust_weights(balance: _Balance, prior: Array, u_prior: Array) -> Array:
    """Return Tukey's weights from the residuals, begun with least absolute deviations."""
    weights = np.ones(len(balance.rate))
    for step in range(_STEPS):
        fitted, _, _ = _fitted(balance, prior, u_prior, weights)
        away = np.abs(balance.rate - balance.design @ fitted) / balance.u
        if step < _STEPS // 2:
            weights = 1 / np.maximum(away, 0.1)
            weights /= weights.max()
            continue
        scale = max(1.0, 1.4826 * float(np.median(away)))
        weights = np.maximum(1 - (away / (_TUNING * scale)) ** 2, 0.0) ** 2
    return weights
