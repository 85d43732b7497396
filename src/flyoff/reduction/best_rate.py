"""The speed of best rate of climb: the top of a parabola of rate over speed, with its interval by Fieller.

The top is a ratio of two coefficients: where the bend is unsure its interval is wide
and one-sided (E. C. Fieller, Journal of the Royal Statistical Society B 16, 1954, from
memory). What lies beyond the speeds flown is cut off, and said.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.draws import COVERAGE_95
from flyoff.core.typing import Array
from flyoff.core.units import fpm, ft, kt
from flyoff.reduction.statistics import Estimate

SPEED_BAND_M_S = 3 * kt
FALL_PER_S = Estimate(-55 * fpm / (1000 * ft), 20 * fpm / (1000 * ft))
"""[1/s] Change of the rate with height, of engines without turbocharger; common practice, no source."""


@dataclass(frozen=True)
class Speed:
    """Climbs at one speed and height: paired on reciprocal headings and averaged, or alone."""

    members: tuple[int, ...]
    calibrated_airspeed_m_s: float
    pressure_altitude_m: float
    rate: Estimate
    is_paired: bool


@dataclass(frozen=True)
class RateCurve:
    """Rate of climb as a parabola of calibrated speed at the climbs' mean pressure altitude; SI.

    `coefficients` and their `covariance` are of 1, x and x², x the speed less `middle_m_s` over `span_m_s`;
    `speeds_m_s` are the slowest and the fastest climb's.
    """

    coefficients: Array
    covariance: Array
    middle_m_s: float
    span_m_s: float
    speeds_m_s: tuple[float, float]
    pressure_altitude_m: float

    def rate_at(self, calibrated_airspeed_m_s: float) -> Estimate:
        """Return the rate of climb at a calibrated airspeed."""
        x = (calibrated_airspeed_m_s - self.middle_m_s) / self.span_m_s
        terms = np.array([1.0, x, x**2])
        return Estimate(float(terms @ self.coefficients), math.sqrt(float(terms @ self.covariance @ terms)))


@dataclass(frozen=True)
class BestRate:
    """Calibrated speed and rate at the top; `note` says why the band is wide, `missing` why there is none."""

    speed: Estimate | None = None
    rate: Estimate | None = None
    missing: str = ""
    note: str = ""
    curve: RateCurve | None = None


def best_rate(speeds: Sequence[Speed]) -> BestRate:
    """Return the top of a parabola of rate over speed through climbs at one height."""
    v = np.array([s.calibrated_airspeed_m_s for s in speeds])
    if _apart(v) < 3:
        return BestRate(missing="climbs at three speeds and one height make a best rate speed")
    x = (v - v.mean()) / np.ptp(v)
    u = np.array([s.rate.u for s in speeds])
    rate = np.array([s.rate.value for s in speeds])
    height = np.array([s.pressure_altitude_m for s in speeds])
    design = np.column_stack([np.ones_like(x), x, x**2, height - height.mean()]) / u[:, None]
    # what climbs say of the rate's fall with height joins what is usual
    rows = np.vstack([design, [0.0, 0.0, 0.0, 1 / FALL_PER_S.u]])
    covariance = np.linalg.inv(rows.T @ rows)
    fit = covariance @ rows.T @ np.append(rate / u, FALL_PER_S.value / FALL_PER_S.u)
    middle, span, ends = float(v.mean()), float(np.ptp(v)), (float(v.min()), float(v.max()))
    curve = RateCurve(fit[:3], covariance[:3, :3], middle, span, ends, float(height.mean()))
    _, b, c, _ = fit
    if c >= 0:
        return BestRate(missing="the rates do not fall to both sides of any speed", curve=curve)
    top = -b / (2 * c)
    if not x.min() <= top <= x.max():
        side = "slowest" if top < x.min() else "fastest"
        return BestRate(
            missing=f"the best rate lies outside the speeds flown: beyond the {side}", curve=curve
        )
    low, high = _interval(b, c, covariance)
    ends = max(low, float(x.min())), min(high, float(x.max()))
    half, speed = max(top - ends[0], ends[1] - top) * span, middle + float(top) * span
    note = ""
    if ends != (low, high):
        first, last = ((middle + end * span) / kt for end in ends)
        note = (
            "wide: the rates bend little beyond their uncertainty, "
            f"anything from {first:.0f} to {last:.0f} kt fits, and beyond the speeds flown perhaps more"
        )
    return BestRate(Estimate(speed, half / COVERAGE_95), curve.rate_at(speed), "", note, curve)


def _apart(v: Array) -> int:
    """Return how many of the speeds are apart from each other by more than the band."""
    count, last = 0, -math.inf
    for speed in sorted(v.tolist()):
        if speed - last > SPEED_BAND_M_S:
            count, last = count + 1, speed
    return count


def _interval(b: float, c: float, covariance: Array) -> tuple[float, float]:
    """Return where a slope ``b + 2 c x`` is zero within its uncertainty; infinite where nothing ends it."""
    z2 = COVERAGE_95**2
    square = 4 * c**2 - 4 * z2 * covariance[2, 2]
    linear = 4 * b * c - 4 * z2 * covariance[1, 2]
    constant = b**2 - z2 * covariance[1, 1]
    inside = linear**2 - 4 * square * constant
    if square <= 0 or inside < 0:
        return -math.inf, math.inf
    middle, half = -linear / (2 * square), math.sqrt(inside) / (2 * square)
    return middle - half, middle + half
