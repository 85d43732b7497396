"""What a flight recorded over time, in the units it is read in, thinned to what a picture can show."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import find_unit
from flyoff.reduction.run import Reduction

MOST_COLUMNS = 1000
"""Columns that a signal is thinned to at most: with the least and the greatest of each, 2,000 points."""
_LONGEST_STEP_S = 10.0
"""[s] Readings further apart are not joined, unless all are about as far apart."""


@dataclass(frozen=True)
class Signal:
    """One recorded quantity: known readings alone, shape (n,), in `unit`; `tall` in lines of text."""

    channel: str
    title: str
    unit: str
    tall: float
    time_s: Array
    values: Array


# The first of a group that was recorded is drawn.
_ALTITUDE = (("pressure_altitude", "Pressure altitude", "ft"), ("gps_altitude", "Satellite altitude", "ft"))
_SPEED = (
    ("indicated_airspeed", "Airspeed", "kt"),
    ("true_airspeed", "True airspeed, as recorded", "kt"),
    ("ground_speed", "Ground speed", "kt"),
)
_FLOW = (("fuel_flow", "Fuel flow", "US gal/h"), ("fuel_mass_flow", "Fuel flow", "kg/h"))
_GROUPS = (
    (_ALTITUDE, 8.0),
    (_SPEED, 9.0),
    (_FLOW, 5.0),
    ((("manifold_pressure", "Manifold pressure", "inHg"),), 5.0),
    ((("rpm", "Engine speed", "rpm"),), 5.0),
)


def signals(reduction: Reduction) -> tuple[Signal, ...]:
    """Return what is drawn of a flight: altitude, speed, and what there is of power."""
    found = (_first(reduction, names, tall) for names, tall in _GROUPS)
    return tuple(signal for signal in found if signal is not None)


def _first(reduction: Reduction, names: Sequence[tuple[str, str, str]], tall: float) -> Signal | None:
    for channel, title, label in names:
        for log in reduction.flight.logs:
            values = log.get(channel)
            known = None if values is None else np.isfinite(values)
            if values is not None and known is not None and known.sum() > 1:
                shown = find_unit(label).from_si(values[known])
                return Signal(channel, title, label, tall, log.time_s[known], shown)
    return None


def span_s(every: Sequence[Signal]) -> tuple[float, float]:
    """Return when the first reading of all signals was taken, and the last."""
    return min(float(s.time_s[0]) for s in every), max(float(s.time_s[-1]) for s in every)


def thinned(signal: Signal, columns: int) -> Iterator[tuple[float, float, int]]:
    """Yield time, value and run: the least and the greatest reading of each of `columns` stretches of time.

    A run ends where nothing was recorded for a while.
    """
    time_s, values = signal.time_s, signal.values
    steps = np.diff(time_s)
    usual = float(np.median(steps))
    run = np.concatenate([[0], np.cumsum(steps > max(_LONGEST_STEP_S, 5 * usual))])
    columns = min(columns, MOST_COLUMNS)
    if len(values) > 2 * columns:
        width = (time_s[-1] - time_s[0]) / columns
        column = np.minimum(((time_s - time_s[0]) / width).astype(int), columns - 1)
        heads = np.flatnonzero(np.diff(column, prepend=-1))
        tails = [*heads[1:].tolist(), len(values)]
        parts = list(zip(heads.tolist(), tails, strict=True))
        kept = sorted({a + int(f(values[a:b])) for a, b in parts for f in (np.argmin, np.argmax)})
    else:
        kept = list(range(len(values)))
    for n in kept:
        yield round(float(time_s[n]), 2), _rounded(float(values[n])), int(run[n])


def _rounded(value: float) -> float:
    """Return a value to five significant digits: finer than any pixel."""
    return 0.0 if value == 0 else round(value, 4 - math.floor(math.log10(abs(value))))
