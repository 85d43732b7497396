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


def mean_of(values: Array, step: float = 0.0) -> Estimate | None:
    """Return the mean of a steady stretch of second means; None where fewer than three are known.

    `step` is the resolution of single readings. Where the noise is smaller
    than half a step it does not average out the rounding, and the
    standard uncertainty of a rounded reading, step / sqrt(12), stays whole
    (JCGM 100:2008, F.2.2.1).
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


def slope_of(values: Array, step: float = 0.0) -> Estimate | None:
    """Return the slope per second of second means by least squares; None where fewer than five are known.

    By how much the slope between the ends differs, as it does where the rate
    changes on the way, is taken as a further standard uncertainty.
    """
    index = np.flatnonzero(~np.isnan(values))
    if len(index) < 5:
        return None
    t = index - index.mean()
    known = values[index]
    spread = float((t**2).sum())
    slope = float((t * (known - known.mean())).sum() / spread)
    residuals = np.full(len(values), np.nan)
    residuals[index] = known - known.mean() - slope * t
    tau = autocorrelation_time(residuals)
    dof = max(len(index) / tau - 2, 1.0)
    scatter = math.sqrt(float(np.nansum(residuals**2)) / (len(index) - 2))
    u = math.sqrt((scatter**2 + step**2 / 12) * tau / spread)
    return Estimate(slope, u, dof).widened(abs(_rate_between_ends(known, index) - slope))


def _rate_between_ends(known: Array, index: NDArray[np.int64]) -> float:
    """Return the slope from the first to the last of the readings, each a mean of up to ten."""
    width = max(1, min(10, len(known) // 4))
    rise = float(known[-width:].mean() - known[:width].mean())
    return rise / float(index[-width:].mean() - index[:width].mean())
