"""How far each airplane goes from home in every direction, on a map true in distance and direction."""

from collections.abc import Iterator
from math import radians

import numpy as np

from flyoff.charts.chart import Chart, number_word, silent, wind_words
from flyoff.charts.labels import Anchor, along, place
from flyoff.charts.outlines import outlines_about, projected
from flyoff.charts.plot import Plot, text
from flyoff.charts.scales import Scale, round_step
from flyoff.charts.style import Frame, Look, Setting, Spec, definition, frame, looks, text_width
from flyoff.comparison.results import Comparison, RangeRing
from flyoff.core.typing import Array
from flyoff.core.units import find_unit, nmi

TITLE = "How far from home"
_ROOM = 1.12
"""Half of the map's shorter side, in lengths of the farthest ring."""


def drawn(comparison: Comparison) -> bool:
    """Tell whether any airplane has a range from some place."""
    return bool(comparison.rings and comparison.places)


def subtitle(comparison: Comparison) -> str:
    """Return under which terms the rings hold."""
    terms = comparison.terms
    people = len(terms.occupants)
    who = f"{number_word(people)} aboard" if people == 1 else f"{number_word(people)} people and bags"
    named = next((trip.aloft for trip in comparison.trips if trip.aloft), None)
    wind = f"wind as in “{named}”" if named else f"{wind_words(terms)} whichever way"
    gaps = silent(comparison, (ring.aircraft for ring in comparison.rings))
    kept = f"{terms.reserve} reserve kept"
    home = f"{who.capitalize()} from {comparison.places[0].name}"
    return f"{home}: {terms.power} at {terms.altitude}, {wind}, {kept}{gaps}"


def _flat(ring: RangeRing) -> Array:
    """Return a closed ring in nmi east and north, clockwise from north."""
    east, north = np.sin(ring.course_rad) * ring.range_m, np.cos(ring.course_rad) * ring.range_m
    points = np.column_stack([east, north]) / nmi
    return np.vstack([points, points[:1]])


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    inner = _frame(setting)
    rings = {ring.aircraft: _flat(ring) for ring in comparison.rings}
    if not rings:
        raise ValueError("no airplane has a range")
    half = _ROOM * max(float(np.abs(points).max()) for points in rings.values())
    scale = 2 * half / min(inner.plot_width, inner.plot_height)
    wide, tall = (scale * side / 2 for side in (inner.plot_width, inner.plot_height))
    plot = Plot(
        Scale(-wide, wide, wide, inner.plot_width),
        Scale(-tall, tall, tall, inner.plot_height),
        "",
        "",
        inner.left,
    )
    every = looks(comparison, setting)
    bare = _Bare(plot)
    layers = [_land(comparison, bare, setting, scale)]
    for aircraft, points in rings.items():
        layers.append(_ring(bare, points, every[aircraft], setting))
    spots = _places(comparison, bare)
    dot = {"type": "point", "filled": True, "opacity": 1, "color": setting.theme.ink}
    layers.append(bare.layer(spots, {**dot, "size": 1.6 * setting.format.text}))
    layers += _scale_bar(bare, setting)
    layers += _labels(rings, spots, every, bare, setting)
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _frame(setting: Setting) -> Frame:
    return frame(setting, left=0.8, right=0.8, bottom=0.8)


class _Bare(Plot):
    """A plotting area without axes: a map needs none."""

    def __init__(self, plot: Plot) -> None:
        super().__init__(plot.across, plot.up, "", "", plot.left)

    @property
    def x(self) -> Spec:
        return {**super().x, "axis": None}


def _land(comparison: Comparison, plot: Plot, setting: Setting, nmi_a_pixel: float) -> Spec:
    """Return all land as one mark of its own shape about home: a path in pixels, seas in it left out.

    A shape is drawn at half the root of its size, so at 4 it keeps its own; water inside land runs the
    other way round, which leaves it empty.
    """
    home = comparison.places[0]
    middle = radians(home.latitude_deg), radians(home.longitude_deg)
    sides = plot.across.high * nmi, plot.up.high * nmi
    pixel_m = nmi_a_pixel * nmi
    parts = []
    for outline in outlines_about(middle, *sides, 0.8 * pixel_m):
        points = [f"{x / pixel_m:.1f},{-y / pixel_m:.1f}" for x, y in outline.points_m]
        parts.append(f"M{'L'.join(points)}Z")
    mark = {"type": "point", "filled": True, "opacity": 1, "strokeWidth": 0, "size": 4}
    return plot.layer([{"x": 0.0, "y": 0.0}], {**mark, "shape": "".join(parts), "color": setting.theme.grid})


def _ring(plot: Plot, points: Array, look: Look, setting: Setting) -> Spec:
    rows = [{"x": float(x), "y": float(y)} for x, y in points]
    mark = {"type": "line", "color": look.colour, "strokeDash": list(look.dash)}
    return plot.layer(rows, {**mark, "strokeWidth": setting.format.line})


def _places(comparison: Comparison, plot: Plot) -> list[Spec]:
    """Return home and the ends of the trips that lie on the map, by their codes."""
    home = comparison.places[0]
    middle = radians(home.latitude_deg), radians(home.longitude_deg)
    latitude = np.radians([spot.latitude_deg for spot in comparison.places])
    longitude = np.radians([spot.longitude_deg for spot in comparison.places])
    at = projected(latitude, longitude, middle) / nmi
    return [
        {"x": float(x), "y": float(y), "text": spot.code}
        for spot, (x, y) in zip(comparison.places, at, strict=True)
        if abs(x) < plot.across.high and abs(y) < plot.up.high
    ]


def _scale_bar(plot: Plot, setting: Setting) -> Iterator[Spec]:
    size = setting.format.text
    a_pixel = 2 * plot.across.high / plot.across.pixels
    label = setting.wording.unit("nmi")
    a_unit = find_unit(label, "length").factor / nmi
    count = round_step(plot.across.high / a_unit, 6)
    length = count * a_unit
    x, y = plot.across.low + size * a_pixel, plot.up.low + size * a_pixel
    bar = [{"x": x, "y": y}, {"x": x + length, "y": y}]
    stroke = {"type": "line", "color": setting.theme.quiet, "strokeWidth": setting.format.line / 2}
    yield plot.layer(bar, stroke)
    words = {"x": x + length + 0.5 * size * a_pixel, "y": y, "text": f"{count:,.0f} {label}"}
    yield text(plot, [words], setting.theme.quiet, align="left")


def _labels(
    rings: dict[str, Array], spots: list[Spec], every: dict[str, Look], plot: Plot, setting: Setting
) -> Iterator[Spec]:
    size = setting.format.text
    lines = [along(plot.pixels(*points.T), size / 3) for points in rings.values()]
    anchors = []
    for number, (aircraft, line) in enumerate(zip(rings, lines, strict=True)):
        # Names start in different directions, so that rings near one another stay apart in words.
        turned = np.roll(line, -(len(line) // 8) * (1 + 2 * number), axis=0)
        points = tuple((float(x), float(y)) for x, y in turned[:: max(1, len(turned) // 24)])
        name = every[aircraft].name
        anchors.append(Anchor(name, text_width(name, size, bold=True), 1.15 * size, points))
    for row in spots:
        ((x, y),) = plot.pixels(np.array([row["x"]]), np.array([row["y"]]))
        lines.append(np.array([[x, y]]))
        anchors.append(
            Anchor(row["text"], text_width(row["text"], size), 1.15 * size, ((float(x), float(y)),))
        )
    placed = place(anchors, lines, plot.across.pixels, plot.up.pixels, 0.6 * size)
    colours = [every[aircraft].colour for aircraft in rings] + [setting.theme.ink] * len(spots)
    for number, (label, colour) in enumerate(zip(placed, colours, strict=True)):
        yield from plot.label(label, colour, setting, bold=number < len(rings))


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its numbers."""
    names = {entry.key: entry.name for entry in comparison.entries}
    home = comparison.places[0]
    parts = []
    for ring in comparison.rings:
        far, near = int(np.argmax(ring.range_m)), int(np.argmin(ring.range_m))
        reach = [f"{ring.range_m[i] / nmi:,.0f} nmi" for i in (far, near)]
        ways = [f"{np.degrees(ring.course_rad[i]):.0f}°" for i in (far, near)]
        if reach[0] == reach[1]:
            parts.append(f"{names[ring.aircraft]}: {reach[0]} in every direction.")
        else:
            said = f"farthest {reach[0]} towards {ways[0]}, least {reach[1]} towards {ways[1]}"
            parts.append(f"{names[ring.aircraft]}: {said}.")
    return f"Map of range from {home.name}. " + " ".join(parts)


CHART = Chart("range_map", TITLE, drawn, subtitle, chart, alt)
"""The map of ranges."""
