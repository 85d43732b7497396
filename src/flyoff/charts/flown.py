"""What was flown less what the handbook prints: each condition by altitude, and the mean with its band."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from flyoff.charts import dots
from flyoff.charts.chart import Chart, in_units
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
    text_width,
    words,
    wrapped,
)
from flyoff.comparison.results import BookVerdict, Comparison
from flyoff.core.figure import Figure

TITLE = "Flown, less the handbook"
_PITCH = 0.55  # from one condition to the next, in text sizes, as all below
_GAP = 0.9  # between altitudes
_FOOT = 2.2  # for a panel's tick labels
_ON_A_SCREEN = 2  # panels


class Row(NamedTuple):
    """The conditions at one altitude: its name, the mean there, and each difference."""

    name: str
    mean: Figure
    conditions: tuple[Figure, ...]

    @property
    def high(self) -> float:
        """Its height in text sizes."""
        return max(1.3, _PITCH * len(self.conditions) + _GAP)


@dataclass(frozen=True)
class Panel:
    """One statement of one airplane: its verdict, the overall difference, and a row for each altitude."""

    verdict: BookVerdict
    overall: Figure
    rows: tuple[Row, ...]

    @property
    def high(self) -> float:
        """Its height in text sizes, without heading and tick labels."""
        return sum(row.high for row in self.rows)


def drawn(comparison: Comparison) -> bool:
    """Tell whether anything flown has a handbook value beside it."""
    return bool(_panels(comparison))


def subtitle(comparison: Comparison) -> str:
    """Return what the marks mean."""
    flights = ", ".join(dict.fromkeys(point.flight for point in comparison.flown))
    return (
        f"Flown ({flights}) less handbook, at the handbook's weight; whiskers and the band of the mean hold"
        " 95 %, the line at zero is the handbook"
    )


def _panels(comparison: Comparison) -> tuple[Panel, ...]:
    figures = comparison.figures
    found = []
    for verdict in comparison.book:
        overall = figures.get(verdict.difference)
        if overall is None or overall.si is None:
            continue
        means = [figures[key] for key in reversed(verdict.levels)]
        rows = [Row(mean.terms["altitude"], mean, _conditions(comparison, mean)) for mean in means]
        placed = {figure.key for row in rows for figure in row.conditions}
        rest = tuple(f for f in _conditions(comparison, overall) if f.key not in placed)
        found.append(Panel(verdict, overall, (*rows, *([Row("", overall, rest)] if rest else []))))
    return tuple(found)


def _conditions(comparison: Comparison, mean: Figure) -> tuple[Figure, ...]:
    keys = (given.figure for given in mean.trace.inputs)
    return tuple(f for key in keys if key and (f := comparison.figures[key]).si is not None)


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    comparison = in_units(comparison, setting)
    panels, narrow = _panels(comparison), setting.format.narrow
    if setting.screen is not None:
        panels = panels[setting.screen * _ON_A_SCREEN :][:_ON_A_SCREEN]
    if not panels:
        raise ValueError("nothing was flown beside a handbook")
    head, foot = (4.6, _FOOT + FOOT) if setting.titled else (0.3, _FOOT)
    top = 3.4 if narrow else 2.1
    tall = head + foot - _FOOT + sum(panel.high + top + _FOOT for panel in panels)
    fixed = setting.format.fixed
    size = min(setting.format.text, setting.format.height / tall) if fixed else setting.format.text
    setting = replace(setting, format=replace(setting.format, text=size))
    height = setting.format.height if fixed else tall * size
    left = 1.4 * size + max(text_width(row.name, size) for panel in panels for row in panel.rows)
    said = max(text_width(_number(row.mean), size) for panel in panels for row in panel.rows)
    inner = Frame(
        setting.format.width, height, left + size, (head + top) * size, said + 2 * size, foot * size
    )
    gap = (top + _FOOT) * size
    every = looks(comparison, setting)
    several = len({panel.verdict.aircraft for panel in panels}) > 1
    concat = []
    for panel in panels:
        high = panel.high * size
        plot = Plot(_scale(panel, inner.plot_width), Scale(0.0, high, size, high), "", "", inner.left)
        look = every[panel.verdict.aircraft]
        name = f"{look.name}, {panel.verdict.label.lower()}" if several else panel.verdict.label
        layer = list(_panel(panel, name, look, plot, setting))
        concat.append({"width": inner.plot_width, "height": high, "layer": layer})
    body = {"concat": concat, "columns": 1, "bounds": "flush", "spacing": gap}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _scale(panel: Panel, pixels: float) -> Scale:
    unit = panel.overall.unit_label
    figures = [panel.overall, *(figure for row in panel.rows for figure in row.conditions)]
    known = [dots.in_unit(figure, unit) for figure in figures]
    ends = [end for value, half in known for end in (value - half, value + half)]
    return round_scale([0.0, *ends], pixels, 5, snap=False)


def _number(mean: Figure) -> str:
    return dots.number(*dots.in_unit(mean, mean.unit_label))


def _panel(panel: Panel, name: str, look: Look, plot: Plot, setting: Setting) -> Iterator[Spec]:
    size, theme, unit = setting.format.text, setting.theme, panel.overall.unit_label
    value, half = dots.in_unit(panel.overall, unit)
    edge, across = size - plot.left, setting.format.width - 2 * size
    heading = wrapped(f"{name}: {short(panel.verdict)}", across, size)[:2]
    yield words(heading, edge, -(0.7 + 1.25 * (len(heading) - 1)) * size, theme.ink, setting)
    band = {"x": value - half, "x2": value + half, "y": plot.up.low, "y2": plot.up.high}
    box = {"type": "rect", "color": look.colour, "opacity": theme.band}
    yield plot.layer([band], box, {"x2": {"field": "x2"}, "y2": {"field": "y2"}})
    width = setting.format.line / 2
    for at, colour in ((0.0, theme.rule), (value, look.colour)):
        ends = [{"x": at, "y": plot.up.low}, {"x": at, "y": plot.up.high}]
        yield plot.layer(ends, {"type": "line", "color": colour, "strokeWidth": width})
    down = 0.0
    for row in panel.rows:
        middle = plot.up.pixels - (down + row.high / 2) * size
        down += row.high
        yield words([row.name], edge, plot.up.pixels - middle + 0.35 * size, theme.quiet, setting)
        mean = {"x": plot.across.value(plot.across.pixels + size), "y": middle, "text": _number(row.mean)}
        yield text(plot, [mean], theme.ink, align="left")
        first = middle + _PITCH * (len(row.conditions) - 1) / 2 * size
        marks = [
            dots.Dot(first - _PITCH * size * number, look, *dots.in_unit(figure, unit), "")
            for number, figure in enumerate(row.conditions)
        ]
        small = replace(setting, format=replace(setting.format, line=0.7 * setting.format.line))
        yield from dots.layers(plot, marks, small, 0.0)


def short(verdict: BookVerdict) -> str:
    """Return a verdict without how it goes with altitude."""
    return verdict.words.partition(";")[0]


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its verdicts."""
    names = {entry.key: entry.name for entry in comparison.entries}
    told = (f"{names[v.aircraft]}, {v.label.lower()}: {v.words}." for v in comparison.book)
    return "Flown less handbook. " + " ".join(told)


def screens(comparison: Comparison) -> int:
    """Return how many screens its panels need."""
    return math.ceil(len(_panels(comparison)) / _ON_A_SCREEN)


CHART = Chart("flown", TITLE, drawn, subtitle, chart, alt, screens=screens)
