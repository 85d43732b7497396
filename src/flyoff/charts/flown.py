"""What was flown beside the handbook: the difference at each condition, with its 95 % interval."""

from collections.abc import Iterator
from dataclasses import replace

from flyoff.charts import dots
from flyoff.charts.chart import Chart
from flyoff.charts.plot import Plot
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
from flyoff.comparison.results import Comparison, FlownPoint
from flyoff.core.figure import Figure

TITLE = "Flown, less the handbook"
_TOP = 2.0  # for the name of a panel, in text sizes
_FOOT = 2.2  # for its tick labels


def drawn(comparison: Comparison) -> bool:
    """Tell whether anything flown has a handbook value beside it."""
    return bool(_panels(comparison))


def subtitle(comparison: Comparison) -> str:
    """Return what the marks mean."""
    flights = ", ".join(dict.fromkeys(point.flight for point in comparison.flown))
    return f"Difference at each condition flown ({flights}); whiskers hold 95 %, the line is the handbook"


def _difference(comparison: Comparison, point: FlownPoint) -> Figure | None:
    figure = comparison.figures.get(point.difference)
    return figure if figure is not None and figure.si is not None else None


def _panels(comparison: Comparison) -> dict[str, list[tuple[FlownPoint, Figure]]]:
    """Return the points by unit: each unit is a panel of its own."""
    panels: dict[str, list[tuple[FlownPoint, Figure]]] = {}
    for point in comparison.flown:
        figure = _difference(comparison, point)
        if figure is not None:
            panels.setdefault(figure.unit_label, []).append((point, figure))
    return panels


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    panels = _panels(comparison)
    narrow = setting.format.narrow
    row = 3.2 if narrow else 1.9
    head, foot = (4.4, _FOOT + FOOT) if setting.titled else (0.3, _FOOT)
    count = sum(len(points) for points in panels.values())
    tall = head + foot - _FOOT + count * row + len(panels) * (_TOP + _FOOT)
    fixed = setting.format.fixed
    size = min(setting.format.text, setting.format.height / tall) if fixed else setting.format.text
    setting = replace(setting, format=replace(setting.format, text=size))
    height = setting.format.height if fixed else tall * size
    name = text_width(max((_name(comparison, p) for p in comparison.flown), key=len), size)
    left = 1.2 * size if narrow else min(name + 2.2 * size, 20 * size)
    right = (7.5 if narrow else 24) * size
    inner = Frame(setting.format.width, height, left, (head + _TOP) * size, right, foot * size)
    gap = (_TOP + _FOOT) * size
    unit_row = (inner.plot_height - (len(panels) - 1) * gap) / count
    concat = []
    for unit, points in panels.items():
        values = [
            v
            for _, f in points
            for value, half in (dots.in_unit(f, unit),)
            for v in (value - half, value + half)
        ]
        high = len(points) * unit_row
        plot = Plot(
            round_scale([0.0, *values], inner.plot_width, 4, snap=False),
            Scale(0.0, high / size, 1.0, high),
            "",
            "",
            left,
        )
        layer = list(_panel(comparison, unit, points, plot, setting, right - 0.5 * size))
        concat.append({"width": inner.plot_width, "height": high, "layer": layer})
    body = {"concat": concat, "columns": 1, "bounds": "flush", "spacing": gap}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _name(comparison: Comparison, point: FlownPoint) -> str:
    """Return a point's condition, its airplane too where several were flown."""
    if len({p.aircraft for p in comparison.flown}) == 1:
        return point.condition
    return f"{next(e.name for e in comparison.entries if e.key == point.aircraft)}, {point.condition}"


def _panel(
    comparison: Comparison,
    unit: str,
    points: list[tuple[FlownPoint, Figure]],
    plot: Plot,
    setting: Setting,
    room: float,
) -> Iterator[Spec]:
    size, theme, every = setting.format.text, setting.theme, looks(comparison, setting)
    edge, narrow = 0.8 * size - plot.left, setting.format.narrow
    pitch = plot.up.pixels / len(points)
    yield words([f"Flown less handbook, {unit}"], edge if narrow else 0, -0.8 * size, theme.quiet, setting)
    zero = [{"x": 0.0, "y": plot.up.low}, {"x": 0.0, "y": plot.up.high}]
    yield plot.layer(zero, {"type": "line", "color": theme.rule, "strokeWidth": setting.format.line / 2})
    for number, (point, figure) in enumerate(points):
        middle = (number + 0.5) * pitch + (0.7 * size if narrow else 0.0)
        look = every[point.aircraft]
        yield from _row(_name(comparison, point), point.verdict, middle, look, plot, setting, edge)
        value, half = dots.in_unit(figure, unit)
        said = dots.number(value, half) + ("" if narrow else f", {_short(point.verdict)}")
        dot = dots.Dot(plot.up.value(plot.up.pixels - middle), look, value, half, said)
        yield from dots.layers(plot, [dot], setting, room, column=True)


def _short(verdict: str) -> str:
    """Return a verdict without the number that stands beside it."""
    return verdict.partition(" by ")[0]


def _row(
    name: str, verdict: str, middle: float, look: Look, plot: Plot, setting: Setting, edge: float
) -> Iterator[Spec]:
    """Yield a row's name: to its left, or above it with the verdict where there is no room."""
    size = setting.format.text
    if setting.format.narrow:
        whole = shortened(f"{name}: {_short(verdict)}", setting.format.width - 1.6 * size, size)
        yield words([whole], edge, middle - 1.1 * size, look.colour, setting)
    else:
        fits = shortened(name, plot.left - 1.4 * size, size)
        yield words([fits], edge, middle + 0.35 * size, look.colour, setting)


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its numbers."""
    parts = []
    for point in comparison.flown:
        figure = comparison.figures.get(point.difference)
        said = "no evidence" if figure is None or figure.si is None else str(figure)
        parts.append(f"{_name(comparison, point)}: {said}, {point.verdict}")
    return "Flown less handbook at each condition. " + "; ".join(parts) + "."


CHART = Chart("flown", TITLE, drawn, subtitle, chart, alt)
