"""Points with their whiskers, names beside them, and the curve that was fitted through them with its band."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np

from flyoff.charts.chart import Chart
from flyoff.charts.labels import Anchor, along, place
from flyoff.charts.plot import Plot
from flyoff.charts.scales import round_scale
from flyoff.charts.style import Setting, Spec, definition, frame, text_width
from flyoff.core.typing import Array
from flyoff.reduction.run import Reduction
from flyoff.reduction.standard import Standard

T = TypeVar("T")
STEPS = 60


@dataclass(frozen=True)
class Seen:
    """One measured point in the axes' units, half its 95 % intervals, its name, its mark."""

    x: float
    y: float
    half_x: float
    half_y: float
    name: str
    shape: str = "circle"


@dataclass(frozen=True)
class OnCurve:
    """The fitted curve at one place, and half its 95 % interval there."""

    x: float
    y: float
    half: float


@dataclass(frozen=True)
class Subject(Generic[T]):
    """What a chart of points and one curve is of: `find` tells it from a flight, None where there is none."""

    find: Callable[[Standard], T | None]
    axes: tuple[str, str]
    seen: Callable[[T], Sequence[Seen]]
    curve: Callable[[T], Sequence[OnCurve]]
    subtitle: Callable[[T], str]
    alt: Callable[[T], str]

    def chart(self, name: str, title: str) -> Chart[Reduction]:
        """Return the chart of that name."""

        def found(reduction: Reduction) -> T:
            subject = self.find(reduction.standard)
            if subject is None:
                raise ValueError(f"nothing to draw: {title}")
            return subject

        def definition_of(reduction: Reduction, setting: Setting) -> Spec:
            subject = found(reduction)
            titles = (title, self.subtitle(subject))
            return chart(titles, self.axes, self.seen(subject), self.curve(subject), setting)

        return Chart(
            name,
            title,
            lambda reduction: self.find(reduction.standard) is not None,
            lambda reduction: self.subtitle(found(reduction)),
            definition_of,
            lambda reduction: self.alt(found(reduction)),
        )


def spread(values: Sequence[float]) -> list[float]:
    """Return places along the span of some values, dense enough for a smooth curve."""
    return [float(v) for v in np.linspace(min(values), max(values), STEPS)]


def chart(
    titles: tuple[str, str],
    axes: tuple[str, str],
    seen: Sequence[Seen],
    curve: Sequence[OnCurve],
    setting: Setting,
) -> Spec:
    """Return the definition of a chart with one curve.

    `titles` are title and subtitle, `axes` the names of both axes with their units.

    Raises
    ------
    ValueError
        If there is no point.
    """
    inner = frame(setting, left=3.8, right=1.8)
    if setting.titled:
        inner = replace(inner, top=inner.top + 1.4 * setting.format.text)  # for a second line of subtitle
    across = [s.x + way * s.half_x for s in seen for way in (-1, 1)]
    up = [s.y + way * s.half_y for s in seen for way in (-1, 1)]
    up += [c.y + way * c.half for c in curve for way in (-1, 1)]
    narrow = setting.format.narrow
    plot = Plot(
        round_scale([*across, *(c.x for c in curve)], inner.plot_width, 5 if narrow else 9, snap=False),
        round_scale(up, inner.plot_height, 6 if narrow else 8, snap=False),
        *axes,
        inner.left,
    )
    lines = [plot.pixels(np.array([c.x for c in curve]), np.array([c.y for c in curve]))] if curve else []
    layers = [*curve_layers(curve, plot, setting), *seen_layers(seen, lines, plot, setting)]
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, *titles, body)


def curve_layers(curve: Sequence[OnCurve], plot: Plot, setting: Setting) -> Iterator[Spec]:
    """Yield the curve over its band."""
    if not curve:
        return
    colour = setting.theme.series[0]
    rows = [{"x": c.x, "y": c.y, "low": c.y - c.half, "high": c.y + c.half} for c in curve]
    area = {"type": "area", "color": colour, "opacity": setting.theme.band}
    yield plot.layer(rows, area, {"y": {**plot.y, "field": "low"}, "y2": {"field": "high"}})
    yield plot.layer(rows, {"type": "line", "color": colour, "strokeWidth": setting.format.line})


def seen_layers(seen: Sequence[Seen], lines: Sequence[Array], plot: Plot, setting: Setting) -> Iterator[Spec]:
    """Yield points, whiskers and names; `lines`, shape (n, 2) each, are pixels that names avoid."""
    if not seen:
        return
    theme, stroke, size = setting.theme, setting.format.line, setting.format.text
    rows = [
        {
            "x": s.x, "y": s.y, "low": s.y - s.half_y, "high": s.y + s.half_y,
            "left": s.x - s.half_x, "right": s.x + s.half_x,
        }
        for s in seen
    ]  # fmt: skip
    rule = {"type": "rule", "color": theme.ink, "strokeWidth": 0.6 * stroke}
    yield plot.layer(rows, rule, {"y": {**plot.y, "field": "low"}, "y2": {"field": "high"}})
    if any(s.half_x for s in seen):
        yield plot.layer(rows, rule, {"x": {**plot.x, "field": "left"}, "x2": {"field": "right"}})
    for shape in dict.fromkeys(s.shape for s in seen):
        dot = {"type": "point", "shape": shape, "filled": True, "opacity": 1, "color": theme.ink}
        own = [row for row, s in zip(rows, seen, strict=True) if s.shape == shape]
        yield plot.layer(own, {**dot, "size": 12 * stroke**2})
    pixels = plot.pixels(np.array([s.x for s in seen]), np.array([s.y for s in seen]))
    together = _together(pixels, size)
    named = [
        (", ".join(sorted((seen[i].name for i in own), key=lambda n: (len(n), n))), pixels[own[0]])
        for own in together
    ]
    anchors = [
        Anchor(name, text_width(name, size), 1.1 * size, ((float(x), float(y)),)) for name, (x, y) in named
    ]
    obstacles = [np.vstack([_obstacle(rows[i], lines, plot, size) for i in own]) for own in together]
    for label in place(anchors, obstacles, plot.across.pixels, plot.up.pixels, 0.6 * size):
        yield from plot.label(label, theme.ink, setting, bold=False)


def _together(pixels: Array, size: float) -> list[list[int]]:
    """Return which points lie so close that they share one name."""
    groups: list[list[int]] = []
    for i, at in enumerate(pixels):
        near = (own for own in groups if float(np.hypot(*(at - pixels[own[0]]))) < size)
        home = next(near, None)
        if home is None:
            groups.append([i])
        else:
            home.append(i)
    return groups


def _obstacle(row: Spec, lines: Sequence[Array], plot: Plot, size: float) -> Array:
    """Return the pixels of a point's whiskers and of the lines, which its name had better not cover."""
    ends = ((row["x"], row["x"], row["low"], row["high"]), (row["left"], row["right"], row["y"], row["y"]))
    whiskers = [plot.pixels(np.array([a, b]), np.array([c, d])) for a, b, c, d in ends]
    return np.vstack([along(part, size / 3) for part in (*lines, *whiskers)])
