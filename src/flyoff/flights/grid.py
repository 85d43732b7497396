"""A log on an even one-second grid, and rolling straight-line fits over it.

The rows of a log fall into seconds of the clock: several in one second are
averaged, a second without a row is missing. Rolling fits therefore weigh time,
not rows, whatever the recorder's rate.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from flyoff.core.typing import Array
from flyoff.flights.channels import CHANNELS
from flyoff.flights.log import Log

LONGEST_GAP_S = 120
"""[s] Longer gaps are closed up to this on the grid: it then stays small whatever the clock does."""
LEAST_FILLED = 0.6
"""The share of a window that must have readings for a fit over it."""


@dataclass(frozen=True)
class Grid:
    """Second means of a log, shape (n,); circular channels are unwrapped."""

    time_s: Array
    channels: Mapping[str, Array]

    def get(self, *names: str) -> Array | None:
        """Return the first of these channels that has readings."""
        for name in names:
            values = self.channels.get(name)
            if values is not None and not np.isnan(values).all():
                return values
        return None

    def between(self, start_s: float, end_s: float) -> "Grid":
        """Return the grid of a stretch alone, ends included."""
        first, last = np.searchsorted(self.time_s, [start_s, end_s + 1e-6])
        cut = slice(int(first), int(last))
        return Grid(self.time_s[cut], {name: values[cut] for name, values in self.channels.items()})


def make_grid(log: Log) -> Grid:
    """Return a log's second means."""
    steps = np.diff(log.time_s, prepend=log.time_s[0])
    position = np.cumsum(np.minimum(steps, LONGEST_GAP_S))
    index = np.floor(position + 0.5).astype(np.int64)
    count = int(index[-1]) + 1
    time_s = np.interp(np.arange(count), position, log.time_s)
    channels = {}
    for name, values in log.channels.items():
        if CHANNELS[name].circular:
            east, north = (_means(f(values), index, count) for f in (np.sin, np.cos))
            channels[name] = _unwrap(np.arctan2(east, north))
        else:
            channels[name] = _means(values, index, count)
    return Grid(time_s, channels)


def _means(values: Array, index: np.ndarray[tuple[int], np.dtype[np.int64]], count: int) -> Array:
    known = ~np.isnan(values)
    sums = np.bincount(index[known], values[known], count)
    counts = np.bincount(index[known], minlength=count)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)


def _unwrap(angle_rad: Array) -> Array:
    known = ~np.isnan(angle_rad)
    out = angle_rad.copy()
    out[known] = np.unwrap(angle_rad[known])
    return out


@dataclass(frozen=True)
class Fits:
    """Straight lines fitted to windows around each second: slope per second, scatter; NaN where too few."""

    slope: Array
    scatter: Array


def rolling_fits(values: Array, window_s: int) -> Fits:
    """Return least-squares lines over windows centred on each second.

    By cumulative sums, after subtracting the mean for the sake of float64.
    """
    count = len(values)
    known = ~np.isnan(values)
    if not known.any():
        return Fits(np.full(count, np.nan), np.full(count, np.nan))
    weight = known.astype(float)
    x = np.where(known, values - np.nanmean(values), 0.0)
    t = np.arange(count) - count / 2
    half = window_s // 2

    def rolled(terms: Array) -> Array:
        sums = np.concatenate([[0.0], np.cumsum(terms)])
        low = np.maximum(np.arange(count) - half, 0)
        high = np.minimum(np.arange(count) + half + 1, count)
        between: Array = sums[high] - sums[low]
        return between

    n = rolled(weight)
    safe = np.maximum(n, 1.0)
    mean_t, mean_x = rolled(weight * t) / safe, rolled(x) / safe
    var_t = rolled(weight * t**2) / safe - mean_t**2
    cov = rolled(x * t) / safe - mean_t * mean_x
    var_x = np.maximum(rolled(x**2) / safe - mean_x**2, 0.0)
    enough = (n >= LEAST_FILLED * (2 * half + 1)) & (var_t > 0)
    slope = np.where(enough, cov / np.where(var_t > 0, var_t, 1.0), np.nan)
    scatter = np.where(enough, np.sqrt(np.maximum(var_x - slope**2 * var_t, 0.0)), np.nan)
    return Fits(slope, scatter)
