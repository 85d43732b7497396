"""Means and slopes of readings whose noise has a memory, with standard uncertainties (JCGM 100:2008).

Successive readings of a gusty air mass are not independent: n of them are
worth n / tau, tau being the integrated autocorrelation time. It is summed
until the correlation of neighbouring pairs turns negative (C. J. Geyer,
Practical Markov chain Monte Carlo, Statistical Science 7, 1992, 3.3).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from flyoff.core.typing import Array

_END_VALUES = 8


@dataclass(frozen=True)
class Estimate:
    """A value with its standard uncertainty and the degrees of freedom of that, in SI."""

    value: float
    u: float
    dof: float = math.inf

    @property
    def u95(self) -> float:
        """Half the width of the 95 % interval (JCGM 100:2008, G.3)."""
        return coverage_factor(self.dof) * self.u

    def scaled(self, factor: float, offset: float = 0.0) -> "Estimate":
        """Return the estimate of ``factor * value + offset``."""
        return Estimate(self.value * factor + offset, abs(factor) * self.u, self.dof)

    def widened(self, *u: float) -> "Estimate":
        """Return the estimate with further, well known, standard uncertainties added.

        The degrees of freedom follow by the Welch-Satterthwaite formula
        (JCGM 100:2008, G.4.1).
        """
        total = math.hypot(self.u, *u)
        if self.u == 0 or math.isinf(self.dof):
            return Estimate(self.value, total)
        return Estimate(self.value, total, self.dof * (total / self.u) ** 4)


def coverage_factor(dof: float) -> float:
    """Return Student's factor for 95 %.

    >>> round(coverage_factor(10), 2)
    2.23
    """
    if math.isinf(dof) or dof > 1e6:
        return float(stats.norm.ppf(0.975))
    return float(stats.t.ppf(0.975, max(dof, 1.0)))


def autocorrelation_time(residuals: Array) -> float:
    """Return the integrated autocorrelation time in samples, at least 1; NaN counts as no deviation."""
    x = np.where(np.isnan(residuals), 0.0, residuals)
    count = int((~np.isnan(residuals)).sum())
    if count < 4:
        return 1.0
    size = 1 << (2 * len(x) - 1).bit_length()
    power = np.abs(np.fft.rfft(x, size)) ** 2
    sums = np.fft.irfft(power, size)[: len(x) // 2]
    if sums[0] <= 0:
        return 1.0
    rho = sums / sums[0]
    pairs = rho[0 : len(rho) - len(rho) % 2 : 2] + rho[1 : len(rho) : 2]
    negative = np.flatnonzero(pairs <= 0)
    until = int(negative[0]) if len(negative) else len(pairs)
    tau = 2 * float(pairs[:until].sum()) - 1
    return min(max(tau, 1.0), count / 2)


def noise_of(values: Array, step: float = 0.0) -> float:
    """Return the standard deviation of single readings about what neighbouring seconds share.

    From second differences, in which a level and a trend vanish; what changes
    over many seconds is taken for the airplane's or the air's own doing. Not
    below what rounding to `step` leaves, step / sqrt(12).
    """
    second = values[2:] - 2 * values[1:-1] + values[:-2]
    second = second[~np.isnan(second)]
    variance = float((second**2).mean()) / 6 if len(second) else 0.0
    return max(math.sqrt(variance), step / math.sqrt(12))


def reading_mean_of(values: Array, step: float = 0.0) -> Estimate | None:
    """Return the mean that an instrument showed over a stretch; None where fewer than three are known.

    What is asked for is the mean of what really was, so that only noise and
    rounding make it unsure, not what the airspeed itself did. Where the
    readings stray less than half a step, rounding does not average out and
    stays whole (JCGM 100:2008, F.2.2.1). `step` is the resolution.
    """
    index = np.flatnonzero(~np.isnan(values))
    if len(index) < 3:
        return None
    known = values[index]
    mean = float(known.mean())
    t = index - index.mean()
    slope = float((t * (known - mean)).sum() / (t**2).sum())
    # what misses a piece is brought to the middle along its trend, where it spans most of the stretch
    spans_most = index[-1] - index[0] > 0.7 * (len(values) - 1)
    off_centre = (len(values) - 1) / 2 - float(index.mean()) if spans_most else 0.0
    rounding = 0.0 if float(known.std(ddof=1)) > step / 2 else step / math.sqrt(12)
    scatter = noise_of(values, step) / math.sqrt(len(known))
    return Estimate(mean + slope * off_centre, scatter, len(known) - 1).widened(rounding)


def mean_of(values: Array, step: float = 0.0) -> Estimate | None:
    """Return the mean of a process with a memory; None where fewer than three values are known.

    What is asked for is the process's level, of which the values are a sample:
    n of them are worth n over the integrated autocorrelation time. `step` is the
    resolution of single readings, treated as in `reading_mean_of`.
    """
    known = values[~np.isnan(values)]
    if len(known) < 3:
        return None
    mean = float(known.mean())
    residuals = values - mean
    scatter = float(known.std(ddof=1))
    independent = max(len(known) / autocorrelation_time(residuals), 2.0)
    rounding = step / math.sqrt(12)
    if scatter > step / 2:
        rounding /= math.sqrt(independent)
    return Estimate(mean, scatter / math.sqrt(independent), independent - 1).widened(rounding)


def rise_of(values: Array, step: float = 0.0) -> Estimate | None:
    """Return the mean rate per second from the first to the last value; None where fewer than six are known.

    The rise between straight lines through up to eight values at either end,
    over the time between the ends: what a rate that changes on the way comes
    to. Unsure by noise, and by what the ends are no straight lines; not by what another stretch's rate
    would be, which `ends_u_of` tells.
    """
    index = np.flatnonzero(~np.isnan(values))
    whole = _rise(values, index)
    if whole is None:
        return None
    width = min(_END_VALUES, len(index) // 2)
    bent = max(_about_line(values, index[:width]), _about_line(values, index[-width:]))
    return Estimate(whole[0], max(noise_of(values, step), bent) * whole[1])


def ends_u_of(values: Array) -> float:
    """Return how much another choice of ends would have changed the rate of `rise_of`.

    As a standard uncertainty: the further of the rates with a fifth cut off at either end; 0 where there
    is no rate.
    """
    index = np.flatnonzero(~np.isnan(values))
    whole = _rise(values, index)
    if whole is None:
        return 0.0
    fifth = len(index) // 5
    cut = [_rise(values, part) for part in (index[fifth:], index[: len(index) - fifth])]
    return max((abs(other[0] - whole[0]) for other in cut if other is not None), default=0.0)


def _rise(values: Array, index: NDArray[np.int64]) -> tuple[float, float] | None:
    """Return the rate between the ends, and its standard uncertainty for noise of one."""
    if len(index) < 6:
        return None
    width = min(_END_VALUES, len(index) // 2)
    first, last = index[:width], index[-width:]
    (low, u_low), (high, u_high) = _line_at(values, first, first[0]), _line_at(values, last, last[-1])
    seconds = float(last[-1] - first[0])
    return (high - low) / seconds, math.hypot(u_low, u_high) / seconds


def _line_at(values: Array, index: NDArray[np.int64], at: int) -> tuple[float, float]:
    """Return a straight line's value, and its standard uncertainty for noise of one."""
    t = index - index.mean()
    spread = float((t**2).sum())
    known = values[index]
    slope = float((t * known).sum()) / spread
    away = float(at - index.mean())
    return float(known.mean()) + slope * away, math.sqrt(1 / len(index) + away**2 / spread)


def _about_line(values: Array, index: NDArray[np.int64]) -> float:
    """Return the scatter about a straight line, 0 where there are too few values for one."""
    if len(index) < 4:
        return 0.0
    left = values[index] - np.polynomial.polynomial.polyval(
        index, np.polynomial.polynomial.polyfit(index, values[index], 1)
    )
    return float(np.sqrt((left**2).sum() / (len(index) - 2)))
