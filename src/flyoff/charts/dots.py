"""Rows of one value each with its 95 % interval: a table that is read by eye."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from flyoff.charts.plot import Plot, point, text, whisker
from flyoff.charts.style import Look, Setting, Spec, shortened
from flyoff.core.figure import Figure, format_number, hours_and_minutes, supported_decimals


@dataclass(frozen=True)
class Dot:
    """A value and half its interval in the axis's unit, on the row at `y`, with words after it."""

    y: float
    look: Look
    value: float
    half: float
    words: str


@dataclass(frozen=True)
class Gap:
    """A row without a value, and why."""

    y: float
    why: str


def in_unit(figure: Figure, unit_label: str) -> tuple[float, float]:
    """Return a figure's value and half interval in a unit of its dimension.

    Raises
    ------
    ValueError
        If the figure is missing, or the unit is of another dimension.
    """
    same = replace(figure, unit_label=unit_label)
    if same.value is None or same.u95 is None:
        raise ValueError(f"{figure.key} is missing: {figure.missing}")
    return same.value, same.u95


def number(value: float, half: float, unit_label: str = "") -> str:
    """Return a value with its half interval as figures are printed, without unit; hours as a clock does."""
    if unit_label == "h":
        return hours_and_minutes(value, half)
    decimals = supported_decimals(value, half)
    shown = format_number(value, decimals)
    return f"{shown} ± {format_number(half, decimals)}" if half else shown


def layers(
    plot: Plot, rows: Sequence[Dot | Gap], setting: Setting, room: float, *, column: bool = False
) -> Iterator[Spec]:
    """Yield the marks of a panel; `room` is the margin in pixels that words may use to its right.

    Words follow their mark, or stand in a `column` beside the panel.
    """
    size, theme = setting.format.text, setting.theme
    right = plot.across.pixels + room
    for row in rows:
        if isinstance(row, Gap):
            fits = shortened(row.why, right - 0.3 * size, size)
            at = {"x": plot.across.value(0.3 * size), "y": row.y, "text": fits}
            yield text(plot, [at], theme.quiet, align="left")
            continue
        low, high = row.value - row.half, row.value + row.half
        if row.half:
            ends = {"low": low, "high": high, "x": row.value, "y": row.y}
            yield from whisker(plot, ends, row.look.colour, setting)
        yield plot.layer([{"x": row.value, "y": row.y}], point(row.look, setting))
        after = max(plot.across.pixel(high), plot.across.pixel(row.value) + 0.4 * size) + 0.5 * size
        start = plot.across.pixels + size if column else after
        fits = shortened(row.words, right - start, size)
        yield text(plot, [{"x": plot.across.value(start), "y": row.y, "text": fits}], theme.ink, align="left")
