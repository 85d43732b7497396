"""Payload against range with the reserve: what is carried, how far."""

from collections.abc import Iterator

import numpy as np

from flyoff.charts.chart import Chart, number_word, silent, wind_words
from flyoff.charts.labels import Anchor, along, place
from flyoff.charts.plot import Plot, point
from flyoff.charts.scales import round_scale
from flyoff.charts.style import Look, Setting, Spec, definition, frame, looks, text_width
from flyoff.comparison.results import Comparison, PayloadRange
from flyoff.core.typing import Array
from flyoff.core.units import lb, nmi

TITLE = "Payload against range"
_HELD_BACK = 0.02
"""Share of its range that balance must cost a loading before it is marked."""


def drawn(comparison: Comparison) -> bool:
    """Tell whether any airplane has a payload at any range."""
    return any(len(_known(curve)[0]) > 1 for curve in comparison.payload_ranges)


def subtitle(comparison: Comparison) -> str:
    """Return under which terms the ranges hold."""
    terms = comparison.terms
    gaps = silent(comparison, (c.aircraft for c in comparison.payload_ranges if len(_known(c)[0]) > 1))
    held = any(len(_held(c)) for c in comparison.payload_ranges)
    marks = "; small open marks: loadings that balance holds back" if held else ""
    kept = f"{terms.reserve} reserve kept; bands hold 95 %{marks}{gaps}"
    return f"{terms.power} power at {terms.altitude}, {wind_words(terms)}, {kept}"


def _known(curve: PayloadRange) -> tuple[Array, Array]:
    known = np.isfinite(curve.range_m) & np.isfinite(curve.payload_kg)
    return np.asarray(curve.range_m)[known] / nmi, np.asarray(curve.payload_kg)[known] / lb


def _held(curve: PayloadRange) -> Array:
    """Return range in nmi and payload in lb of the loadings that balance keeps well short of the line."""
    distance, payload = _known(curve)
    if len(distance) < 2 or not len(curve.balanced):
        return np.empty((0, 2))
    payloads, ranges = curve.balanced[:, 0] / lb, curve.balanced[:, 1] / nmi
    line = np.interp(-payloads, -payload[1:], distance[1:])
    held = ranges < (1 - _HELD_BACK) * line
    return np.column_stack([ranges, payloads])[held]


def _asked(comparison: Comparison) -> tuple[float, str]:
    """Return the payload of the terms in lb, and in words."""
    terms = comparison.terms
    people = len(terms.occupants)
    payload = (sum(o.weight.si for o in terms.occupants) + terms.bags.si) / lb
    who = f"{number_word(people)} aboard" if people == 1 else f"{number_word(people)} people"
    return payload, f"the terms’ {who} and bags, {payload:,.0f} lb"


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    inner = frame(setting, left=4.2, right=3.0)
    curves = [c for c in comparison.payload_ranges if len(_known(c)[0]) > 1]
    payload, asked = _asked(comparison)
    narrow = setting.format.narrow
    asked = f"the terms’ {payload:,.0f} lb" if narrow else asked
    plot = Plot(
        round_scale(
            [v for c in curves for v in _known(c)[0]], inner.plot_width, 5 if narrow else 8, zero=True
        ),
        round_scale([payload, *(v for c in curves for v in _known(c)[1])], inner.plot_height, 6, zero=True),
        "Range, nmi",
        "Payload, lb",
        inner.left,
    )
    every = looks(comparison, setting)
    rule = [{"x": plot.across.low, "y": payload}, {"x": plot.across.high, "y": payload}]
    stroke = {"type": "line", "color": setting.theme.rule, "strokeWidth": setting.format.line / 2}
    layers = [plot.layer(rule, stroke)]
    for curve in curves:
        layers += _layers(curve, every[curve.aircraft], setting, plot)
    layers += _labels(curves, every, setting, plot, payload, asked)
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _layers(curve: PayloadRange, look: Look, setting: Setting, plot: Plot) -> Iterator[Spec]:
    rows = [{"x": float(x), "y": float(y)} for x, y in zip(*_known(curve), strict=True)]
    if len(curve.low_m) == len(curve.range_m):
        known = np.isfinite(curve.range_m) & np.isfinite(curve.payload_kg)
        ends = zip(curve.low_m[known] / nmi, curve.high_m[known] / nmi, rows, strict=True)
        band = [
            {"low": float(low), "high": float(high), "y": row["y"], "x": row["x"]} for low, high, row in ends
        ]
        area = {"type": "area", "orient": "horizontal", "color": look.colour, "opacity": setting.theme.band}
        span = {"x": {**plot.x, "field": "low"}, "x2": {"field": "high"}}
        yield plot.layer(band[1:], area, span)
    held = [{"x": float(x), "y": float(y)} for x, y in _held(curve)]
    if held:
        ring = {**point(look, setting, 0.45), "filled": False, "strokeWidth": setting.format.line / 2}
        yield plot.layer(held, ring)
    line = {"type": "line", "color": look.colour, "strokeDash": list(look.dash)}
    yield plot.layer(rows, {**line, "strokeWidth": setting.format.line})
    yield plot.layer(rows[1:-1], point(look, setting, 0.8))


def _labels(
    curves: list[PayloadRange],
    every: dict[str, Look],
    setting: Setting,
    plot: Plot,
    payload_lb: float,
    asked: str,
) -> Iterator[Spec]:
    size = setting.format.text
    across = np.linspace(plot.across.low, plot.across.high, 40)
    lines = [along(plot.pixels(across, np.full(40, payload_lb)), size / 3)]
    anchors = [
        Anchor(asked, text_width(asked, size), 1.1 * size, _points(lines[0][:: max(1, len(lines[0]) // 8)]))
    ]
    for curve in curves:
        pixels = plot.pixels(*_known(curve))
        lines.append(along(pixels, size / 3))
        near = along(pixels[-3:], 2 * size)
        corner = pixels[-2]
        ordered = near[np.argsort(np.hypot(*(near - corner).T), kind="stable")]
        name = every[curve.aircraft].name
        anchors.append(Anchor(name, text_width(name, size, bold=True), 1.15 * size, _points(ordered[:8])))
    colours = [setting.theme.quiet, *(every[c.aircraft].colour for c in curves)]
    placed = place(anchors, lines, plot.across.pixels + 2 * size, plot.up.pixels, 0.6 * size)
    for number, (label, colour) in enumerate(zip(placed, colours, strict=True)):
        yield from plot.label(label, colour, setting, bold=number > 0)


def _points(pixels: Array) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in pixels)


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its numbers."""
    names = {entry.key: entry.name for entry in comparison.entries}
    parts = []
    for curve in comparison.payload_ranges:
        distance, payload = _known(curve)
        if len(distance) < 2:
            parts.append(f"{names[curve.aircraft]}: no evidence.")
            continue
        corners = "; ".join(f"{p:,.0f} lb over {r:,.0f} nmi" for r, p in zip(distance, payload, strict=True))
        parts.append(f"{names[curve.aircraft]}: {corners}.")
    return f"Payload against range. A line marks {_asked(comparison)[1]}. " + " ".join(parts)


CHART = Chart("payload_range", TITLE, drawn, subtitle, chart, alt)
