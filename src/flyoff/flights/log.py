"""A recorder log as read: one array per channel, in SI, each row knowing its line."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from flyoff.core.sources import Place
from flyoff.core.typing import Array, Mask
from flyoff.core.units import degree
from flyoff.flights.channels import Channel

Lines = NDArray[np.int64]
Where: TypeAlias = Callable[..., Place]
"""Gives the place of a key path below a log's entry in the flight file; without a key, of the entry."""

FEWEST_ROWS = 2


@dataclass(frozen=True)
class Repair:
    """Something in a log that was not taken as it stands, and why.

    `lines` are the first and last file line it touches; `count` the readings.
    """

    kind: str
    channel: str
    start_s: float
    end_s: float
    lines: tuple[int, int]
    count: int
    why: str


@dataclass(frozen=True)
class Log:
    """Readings of one recorder.

    `time_s` [s since 1970-01-01 UTC], `lines` and each channel have shape
    (n,); a reading that is missing or was rejected is NaN. `resolution` is
    the step of each channel's readings in SI, as written.
    """

    name: str
    time_s: Array
    lines: Lines
    channels: Mapping[str, Array]
    resolution: Mapping[str, float]
    repairs: tuple[Repair, ...] = ()

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.time_s)

    def get(self, channel: str) -> Array | None:
        """Return a channel's readings, or None where the log has none."""
        values = self.channels.get(channel)
        return None if values is None or np.isnan(values).all() else values

    def where(self, keep: Mask) -> "Log":
        """Return the log with only some of its rows."""
        channels = {name: values[keep] for name, values in self.channels.items()}
        return replace(self, time_s=self.time_s[keep], lines=self.lines[keep], channels=channels)

    def between(self, start_s: float, end_s: float) -> "Log":
        """Return the log of a stretch alone, ends included."""
        first, last = np.searchsorted(self.time_s, [start_s, end_s + 1e-6])
        cut = slice(int(first), int(last))
        channels = {name: values[cut] for name, values in self.channels.items()}
        return replace(self, time_s=self.time_s[cut], lines=self.lines[cut], channels=channels)


def utc(time_s: float) -> str:
    """Return a moment as ISO 8601 text, to the millisecond where it is not whole.

    >>> utc(0.0)
    '1970-01-01T00:00:00Z'
    """
    moment = datetime.fromtimestamp(round(time_s * 1000) / 1000, UTC)
    digits = "seconds" if moment.microsecond == 0 else "milliseconds"
    return moment.replace(tzinfo=None).isoformat(timespec=digits) + "Z"


def counted(count: int, noun: str) -> str:
    """Return a number of things in words.

    >>> counted(1, "row"), counted(2500, "row")
    ('1 row', '2,500 rows')
    """
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def runs_of(mask: Mask) -> list[tuple[int, int]]:
    """Return the half-open index ranges in which a mask holds.

    >>> import numpy as np
    >>> runs_of(np.array([True, True, False, True]))
    [(0, 2), (3, 4)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def wrapped(channel: Channel, values: Array) -> Array:
    """Return course 360 as 0; a negative course stays, to be judged as a repair."""
    if not channel.circular:
        return values
    turn = 360 * degree
    return np.where(values >= turn, values - turn, values)


def step_of(numbers: Array) -> float:
    """Return the step that readings are rounded to, 0 where it cannot be told.

    The smallest difference between distinct readings, where all are multiples of it.
    """
    distinct = np.unique(numbers[np.isfinite(numbers)])
    if len(distinct) < 3:
        return 0.0
    steps = np.diff(distinct)
    step = float(steps[steps > 1e-9].min(initial=np.inf))
    if not math.isfinite(step):
        return 0.0
    return float(f"{step:.6g}")
