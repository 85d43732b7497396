"""What moves the cost of an hour: each assumption at both ends of its 95 % interval, the greatest first."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from flyoff.charts.chart import Chart, printed, silent
from flyoff.charts.plot import Plot, text
from flyoff.charts.scales import Scale, round_scale
from flyoff.charts.style import (
    FOOT,
    Frame,
    Look,
    Setting,
    Spec,
    definition,
    looks,
    shortened,
    text_width,
    words,
)
from flyoff.comparison.results import Comparison, Swing
from flyoff.core.units import hour

TITLE = "What moves the cost of an hour"
_MOST = 5
_ROW = 1.6  # text sizes from bar to bar
_HEADING = 2.2  # from an airplane's last bar to the next heading


@dataclass(frozen=True)
class _Line:
    """One line: an airplane's heading, or one of its assumptions; `y` in text sizes from the upper edge."""

    y: float
    aircraft: str
    swing: Swing | None = None


def drawn(comparison: Comparison) -> bool:
    """Tell whether any airplane's cost is known and in doubt."""
    return bool(comparison.swings)


def subtitle(comparison: Comparison) -> str:
    """Return what the bars are."""
    currency = comparison.money.currency
    gaps = silent(comparison, {swing.aircraft for swing in comparison.swings})
    return (
        f"Cost of an hour in {currency} at either end of an assumption's 95 % interval, all else kept{gaps}"
    )


def _lines(comparison: Comparison) -> tuple[list[_Line], float]:
    """Return the lines from the top down, and the whole height in text sizes."""
    lines: list[_Line] = []
    y = 0.8
    for entry in comparison.entries:
        own = [swing for swing in comparison.swings if swing.aircraft == entry.key][:_MOST]
        if own:
            lines.append(_Line(y, entry.key))
            lines += [_Line(y + _ROW * (n + 1), entry.key, swing) for n, swing in enumerate(own)]
            y = lines[-1].y + _HEADING
    return lines, y - _HEADING + 1.0


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    if not drawn(comparison):
        raise ValueError("no cost is in doubt")
    lines, tall = _lines(comparison)
    head, foot = (4.4, 3.6 + FOOT) if setting.titled else (0.6, 3.6)
    fixed = setting.format.fixed
    size = setting.format.text
    if fixed:
        size = min(size, setting.format.height / (tall + head + foot))
    setting = replace(setting, format=replace(setting.format, text=size))
    height = setting.format.height if fixed else (tall + head + foot) * size
    longest = max(text_width(line.swing.label, size) for line in lines if line.swing)
    left = min(longest + 1.6 * size, 0.42 * setting.format.width)
    inner = Frame(setting.format.width, height, left, head * size, 4.5 * size, foot * size)
    ends = [value * hour for swing in comparison.swings for value in (swing.low, swing.high)]
    plot = Plot(
        round_scale(ends, inner.plot_width, 4),
        Scale(0.0, tall, 1.0, inner.plot_height),
        f"Cost of an hour, {comparison.money.currency}",
        "",
        left,
    )
    every = looks(comparison, setting)
    layers: list[Spec] = [
        spec for line in lines for spec in _drawn_line(comparison, line, every, plot, setting, tall)
    ]
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _drawn_line(
    comparison: Comparison, line: _Line, every: dict[str, Look], plot: Plot, setting: Setting, tall: float
) -> Iterator[Spec]:
    """Yield an airplane's heading, or the name and the bar of one assumption."""
    size, look = setting.format.text, every[line.aircraft]
    down = line.y * plot.up.pixels / plot.up.high + 0.35 * size
    edge = 0.8 * size - plot.left
    if line.swing is None:
        figure = comparison.figures[f"{line.aircraft}.cost_per_hour"]
        heading = shortened(f"{look.name}, {figure}", plot.left + plot.across.pixels, size, bold=True)
        yield words([heading], edge, down, look.colour, setting, fontWeight="bold")
        return
    yield words(
        [shortened(line.swing.label, plot.left - 1.2 * size, size)], edge, down, setting.theme.ink, setting
    )
    low, high = sorted((line.swing.low * hour, line.swing.high * hour))
    row = {"low": low, "high": high, "x": high, "y": tall - line.y}
    across = {"x": {**plot.x, "field": "low"}, "x2": {"field": "high"}}
    bar = {"type": "rule", "color": look.colour, "strokeWidth": 0.7 * size, "opacity": 0.75}
    yield plot.layer([row], bar, across)
    said = {
        "x": plot.across.value(plot.across.pixel(high) + 0.5 * size),
        "y": row["y"],
        "text": _half(line.swing),
    }
    yield text(plot, [said], setting.theme.ink, align="left")


def _half(swing: Swing) -> str:
    half = abs(swing.high - swing.low) * hour / 2
    return f"±{printed(half, half)}"


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its numbers."""
    names = {entry.key: entry.name for entry in comparison.entries}
    currency = comparison.money.currency
    parts = []
    for line in _lines(comparison)[0]:
        if line.swing is None:
            figure = comparison.figures[f"{line.aircraft}.cost_per_hour"]
            parts.append(f"{names[line.aircraft]}, {figure}:")
        else:
            parts.append(f"{line.swing.label} {_half(line.swing)} {currency}/h;")
    return f"{TITLE}. {' '.join(parts)}".rstrip(";") + "."


CHART = Chart("cost_swings", TITLE, drawn, subtitle, chart, alt)
