"""A fast log as second means: what the reduction needs, in a fiftieth of the memory."""

from dataclasses import replace

import numpy as np

from flyoff.core.typing import Array
from flyoff.flights.channels import CHANNELS
from flyoff.flights.log import Lines, Log, Repair


def second_means(log: Log, first_s: float | None = None) -> Log:
    """Return the log with one row for each second of its clock, each channel averaged over it.

    A row keeps the line of the first it stands for. Courses are averaged on
    the circle. `first_s` is where seconds are counted from; the log's first row if None.
    """
    start = float(log.time_s[0]) if first_s is None else first_s
    second = np.floor(log.time_s - start).astype(np.int64)
    heads = np.flatnonzero(np.diff(second, prepend=second[0] - 1))
    row = np.repeat(np.arange(len(heads)), np.diff(np.append(heads, len(log))))
    channels = {}
    for name, values in log.channels.items():
        if CHANNELS[name].circular:
            east, north = (_means(f(values), row, len(heads)) for f in (np.sin, np.cos))
            channels[name] = np.arctan2(east, north) % (2 * np.pi)
        else:
            channels[name] = _means(values, row, len(heads))
    time_s = _means(log.time_s, row, len(heads))
    return replace(log, time_s=time_s, lines=log.lines[heads], channels=channels)


def said_of_means(log: Log, rows: int) -> Repair:
    """Return the remark that a log of so many rows was averaged to second means."""
    return Repair(
        "averaged",
        "row",
        float(log.time_s[0]),
        float(log.time_s[-1]),
        (int(log.lines[0]), int(log.lines[-1])),
        rows,
        "read in parts, and averaged to one row for each second after its repairs: the file is large",
    )


def _means(values: Array, row: Lines, count: int) -> Array:
    known = ~np.isnan(values)
    sums = np.bincount(row[known], values[known], count)
    counts = np.bincount(row[known], minlength=count)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
