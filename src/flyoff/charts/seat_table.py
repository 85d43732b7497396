"""The seat table drawn: how far each airplane goes with so many people and the terms' bags."""

import math
from collections.abc import Iterator

import numpy as np

from flyoff.charts.chart import Chart, printed, silent, wind_words
from flyoff.charts.labels import Anchor, along, place
from flyoff.charts.plot import Plot, point
from flyoff.charts.scales import Scale, round_scale
from flyoff.charts.style import Look, Setting, Spec, definition, frame, looks, text_width
from flyoff.comparison.results import Comparison
from flyoff.core.typing import Array
from flyoff.core.units import nmi

TITLE = "Range by people aboard"
_MOST_TICKS = 10
"""Numbers of people that are all named on the axis."""


def _bags(comparison: Comparison) -> str:
    """Return the most bags of the seat table, which are the terms'."""
    return comparison.seats[-1].bags


def _known(comparison: Comparison) -> dict[str, tuple[Array, Array]]:
    """Return people and range [nmi] of each airplane, where it takes them at all."""
    found: dict[str, list[tuple[float, float]]] = {}
    for seat in comparison.seats:
        range_m = comparison.figures[seat.range].si
        if seat.bags == _bags(comparison) and range_m is not None:
            found.setdefault(seat.aircraft, []).append((float(seat.occupants), range_m / nmi))
    return {
        key: (np.array([p for p, _ in rows]), np.array([r for _, r in rows])) for key, rows in found.items()
    }


def drawn(comparison: Comparison) -> bool:
    """Tell whether any airplane takes more than one number of people anywhere."""
    return bool(comparison.seats) and any(len(people) > 1 for people, _ in _known(comparison).values())


def subtitle(comparison: Comparison) -> str:
    """Return under which terms the ranges hold."""
    terms = comparison.terms
    gaps = silent(comparison, _known(comparison))
    return (
        f"{_bags(comparison)} of bags, the most fuel that fits, {terms.power} power at {terms.altitude}, "
        f"{wind_words(terms)}, {terms.reserve} reserve kept{gaps}"
    )


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    inner = frame(setting, left=4.2, right=3.0)
    known = _known(comparison)
    most = max(seat.occupants for seat in comparison.seats)
    plot = Plot(
        Scale(0.4, most + 0.6, float(math.ceil(most / _MOST_TICKS)), inner.plot_width),
        round_scale([v for _, far in known.values() for v in far], inner.plot_height, 6, zero=True),
        "People aboard",
        "Range, nmi",
        inner.left,
    )
    every = looks(comparison, setting)
    layers: list[Spec] = []
    for key, (people, far) in known.items():
        layers += _layers(people, far, every[key], setting, plot)
    layers += _labels(known, every, setting, plot)
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _layers(people: Array, far: Array, look: Look, setting: Setting, plot: Plot) -> Iterator[Spec]:
    rows = [{"x": float(x), "y": float(y)} for x, y in zip(people, far, strict=True)]
    line = {"type": "line", "color": look.colour, "strokeDash": list(look.dash)}
    yield plot.layer(rows, {**line, "strokeWidth": setting.format.line})
    yield plot.layer(rows, point(look, setting))


def _labels(
    known: dict[str, tuple[Array, Array]], every: dict[str, Look], setting: Setting, plot: Plot
) -> Iterator[Spec]:
    size = setting.format.text
    lines, anchors = [], []
    for key, (people, far) in known.items():
        pixels = plot.pixels(people, far)
        lines.append(along(pixels, size / 3) if len(pixels) > 1 else pixels)
        ends = tuple((float(x), float(y)) for x, y in pixels[::-1])
        name = every[key].name
        anchors.append(Anchor(name, text_width(name, size, bold=True), 1.15 * size, ends))
    placed = place(anchors, lines, plot.across.pixels + 2 * size, plot.up.pixels, 0.6 * size)
    for label, key in zip(placed, known, strict=True):
        yield from plot.label(label, every[key].colour, setting)


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its numbers."""
    names = {entry.key: entry.name for entry in comparison.entries}
    parts = []
    for seat in comparison.seats:
        figure = comparison.figures[seat.range]
        if seat.bags == _bags(comparison):
            value, u95 = figure.value, figure.u95
            far = (
                f"no range: {figure.missing}"
                if value is None or u95 is None
                else f"{printed(value, u95)} nmi"
            )
            parts.append(f"{names[seat.aircraft]}, {seat.occupants} aboard: {far}.")
    return f"Range over people aboard with {_bags(comparison)} of bags. " + " ".join(parts)


CHART = Chart("seat_table", TITLE, drawn, subtitle, chart, alt)
