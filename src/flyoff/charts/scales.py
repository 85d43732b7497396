"""Axes with round numbers, computed from the data so that nothing is left to a renderer."""

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from flyoff.charts.spec import Spec

LEAST_TICKS = 3
"""Labelled ticks on an axis: fewer do not tell how it runs."""


@dataclass(frozen=True)
class Scale:
    """A linear axis: where it begins and ends, its ticks, and its length in pixels."""

    low: float
    high: float
    step: float
    pixels: float

    @property
    def ticks(self) -> list[float]:
        """The round numbers along it."""
        first = math.ceil(self.low / self.step - 1e-9)
        last = math.floor(self.high / self.step + 1e-9)
        return [round(n * self.step, 9) for n in range(first, last + 1)]

    def pixel(self, value: float) -> float:
        """Return how far along the axis a value lies."""
        return (value - self.low) / (self.high - self.low) * self.pixels

    def value(self, pixel: float) -> float:
        """Return the value at a distance along the axis."""
        return self.low + pixel / self.pixels * (self.high - self.low)

    def encoding(self, field: str, title: str | None, **axis: object) -> Spec:
        """Return the channel that draws this axis."""
        decimals = max(0, -math.floor(math.log10(self.step) + 1e-9))
        return {
            "field": field,
            "type": "quantitative",
            "scale": {"domain": [self.low, self.high], "nice": False, "zero": False},
            "axis": {
                "title": title,
                "values": self.ticks,
                "format": f",.{decimals}f",
                **axis,
            },
        }


@dataclass(frozen=True)
class HourScale(Scale):
    """An axis of hours, its ticks as hours and minutes."""

    def encoding(self, field: str, title: str | None, **axis: object) -> Spec:
        """Return the channel that draws this axis."""
        minutes = "format(round(datum.value * 60) % 60, '02d')"
        shown = f"format(floor(datum.value + 0.001), 'd') + ':' + {minutes}"
        return super().encoding(field, title, labelExpr=shown, **axis)


def hour_scale(scale: Scale, about: int) -> HourScale:
    """Return a scale of hours with its ticks on whole parts of an hour."""
    rough = (scale.high - scale.low) / max(about, 1)
    step = next((s for s in (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0) if s >= rough), 24.0)
    return HourScale(scale.low, scale.high, step, scale.pixels)


CLOCK_STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600)
"""Steps that a clock is read in; longer ones are whole multiples of the last."""


@dataclass(frozen=True)
class ClockScale(Scale):
    """A time axis in seconds since 1970 UTC, its ticks times of day; `labelled` where they are printed."""

    labelled: bool = True

    def encoding(self, field: str, title: str | None, **axis: object) -> Spec:
        """Return the channel that draws this axis."""
        form = "%H:%M:%S" if self.step < 60 else "%H:%M"
        labels = {"labels": self.labelled, "labelExpr": f"utcFormat(datum.value * 1000, '{form}')"}
        return super().encoding(field, title, **labels, **axis)


def clock_scale(
    start_s: float, end_s: float, pixels: float, about: int, *, labelled: bool = True
) -> ClockScale:
    """Return a time axis from start to end with about so many ticks, three of them or more."""
    end_s = max(end_s, start_s + 1.0)
    rough = (end_s - start_s) / max(about, 1)
    longest = CLOCK_STEPS_S[-1]
    steps = [*CLOCK_STEPS_S, math.ceil(rough / longest) * longest]
    fit = next(n for n, step in enumerate(steps) if step >= rough)
    scales = [ClockScale(start_s, end_s, float(step), pixels, labelled) for step in steps[fit::-1]]
    return next((scale for scale in scales if len(scale.ticks) >= LEAST_TICKS), scales[-1])


def clock(time_s: float) -> str:
    """Return a moment as its time of day.

    >>> clock(3_661.4)
    '01:01:01'
    """
    return datetime.fromtimestamp(round(time_s), UTC).strftime("%H:%M:%S")


def round_step(span: float, about: int) -> float:
    """Return a round step that divides a span into about so many."""
    rough = span / max(about, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    return float(next(power * m for m in (1, 2, 5, 10) if power * m >= rough * 0.999))


def ticked_step(low: float, high: float, about: int) -> float:
    """Return a round step that divides an axis into about so many, with three ticks on it or more.

    >>> ticked_step(812.0, 1048.0, 2), round_step(1048.0 - 812.0, 2)
    (50.0, 200.0)
    """
    steps = (round_step(high - low, n) for n in itertools.count(max(about, 1)))
    return next(step for step in steps if len(Scale(low, high, step, 1.0).ticks) >= LEAST_TICKS)


def round_scale(
    values: Iterable[float], pixels: float, about: int, *, zero: bool = False, snap: bool = True
) -> Scale:
    """Return an axis over the finite values with about so many round steps.

    With `snap` it begins and ends on a tick; without, it keeps a small margin.

    Raises
    ------
    ValueError
        If no value is finite.
    """
    finite = [v for v in values if math.isfinite(v)]
    if not finite:
        raise ValueError("an axis needs at least one finite value; got none")
    low, high = min(finite), max(finite)
    if zero:
        low, high = min(low, 0.0), max(high, 0.0)
    if high - low < 1e-9 * max(1.0, abs(high)):
        spread = max(1.0, 0.05 * abs(high))
        low, high = low - spread, high + spread
    step = round_step(high - low, about)
    if snap:
        return Scale(math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, step, pixels)
    margin = 0.06 * (high - low)
    low = low if zero and low == 0 else low - margin
    return Scale(low, high + margin, ticked_step(low, high + margin, about), pixels)
