"""Cruise true airspeed over pressure altitude, altitude upwards, each with its 95 % band."""

from collections.abc import Iterator

import numpy as np

from flyoff.charts.chart import Chart, air_words, printed, silent
from flyoff.charts.labels import Anchor, along, place
from flyoff.charts.plot import Plot, point
from flyoff.charts.scales import round_scale
from flyoff.charts.style import Look, Setting, Spec, definition, frame, looks, text_width
from flyoff.comparison.evidence import READINGS
from flyoff.comparison.results import Comparison, SpeedCurve
from flyoff.core.typing import Array
from flyoff.core.units import ft, kt

TITLE = "Cruise speed over altitude"
_THIN = 0.45
"""Share of a line's width where it goes beyond the evidence."""


def drawn(comparison: Comparison) -> bool:
    """Tell whether any airplane has a speed at any altitude."""
    return any(len(_known(curve)[0]) for curve in comparison.speed_curves)


def subtitle(comparison: Comparison) -> str:
    """Return under which terms the speeds hold."""
    terms = comparison.terms
    gaps = silent(comparison, (c.aircraft for c in comparison.speed_curves if len(_known(c)[0])))
    rest = "" if terms.evidence == "handbook" else f", on {READINGS[terms.evidence].name}"
    beyond = "; thin beyond the evidence" if any(any(c.extrapolated) for c in comparison.speed_curves) else ""
    drawn_from = {c.aircraft for c in comparison.speed_curves}
    met = [c for c in comparison.crossings if c.first in drawn_from]
    ring = any(comparison.figures[c.altitude].si is not None for c in met)
    kept = f"bands hold 95 %{beyond}{'; a ring where two are as fast' if ring else ''}{gaps}"
    return f"True airspeed at {terms.power} power, {air_words(terms)}{rest}; {kept}"


def _known(curve: SpeedCurve) -> tuple[Array, Array, Array, Array]:
    """Return altitude in ft, and speed, low and high in kt, where there is evidence."""
    known = np.isfinite(curve.true_airspeed_m_s)
    columns = (curve.true_airspeed_m_s, curve.low_m_s, curve.high_m_s)
    speed, low, high = (np.asarray(c)[known] / kt for c in columns)
    return np.asarray(curve.pressure_altitude_m)[known] / ft, speed, low, high


def _runs(curve: SpeedCurve) -> list[int]:
    """Return a number for each known point: a gap in the evidence begins a new one."""
    known = np.flatnonzero(np.isfinite(curve.true_airspeed_m_s))
    return [0, *(int(n) for n in np.cumsum(np.diff(known) > 1))]


def _stretches(curve: SpeedCurve, beyond: bool) -> Iterator[tuple[int, int]]:
    """Yield known points with the number of their stretch, all of it within the evidence or all beyond."""
    known = np.flatnonzero(np.isfinite(curve.true_airspeed_m_s))
    outside = np.array(curve.extrapolated or [False] * len(curve.true_airspeed_m_s))[known]
    runs = _runs(curve)
    last = -1
    for i in range(len(known) - 1):
        if runs[i] == runs[i + 1] and bool(outside[i] or outside[i + 1]) == beyond:
            if last != i:
                start = i
                yield start, i
            yield start, i + 1
            last = i + 1


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    inner = frame(setting, left=4.2, right=3.0)
    curves = [c for c in comparison.speed_curves if len(_known(c)[0])]
    narrow = setting.format.narrow
    speeds = [v for c in curves for column in _known(c)[1:] for v in column]
    heights = [v for c in curves for v in _known(c)[0]]
    plot = Plot(
        round_scale(speeds, inner.plot_width, 5 if narrow else 8),
        round_scale(heights, inner.plot_height, 6 if narrow else 8, zero=True),
        "True airspeed, kt",
        "Pressure altitude, ft",
        inner.left,
    )
    layers: list[Spec] = []
    every = looks(comparison, setting)
    for curve in curves:
        layers += _layers(curve, every[curve.aircraft], setting, plot)
    layers += _crossings(comparison, setting, plot)
    layers += _label_layers(curves, every, setting, plot)
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _layers(curve: SpeedCurve, look: Look, setting: Setting, plot: Plot) -> Iterator[Spec]:
    rows = [
        {"y": float(a), "x": float(s), "low": float(lo), "high": float(hi), "run": int(run)}
        for a, s, lo, hi, run in zip(*_known(curve), _runs(curve), strict=True)
    ]
    run = {"detail": {"field": "run", "type": "nominal"}}
    band = {"type": "area", "orient": "horizontal", "color": look.colour, "opacity": setting.theme.band}
    line = {"type": "line", "orient": "horizontal", "color": look.colour, "strokeDash": list(look.dash)}
    yield plot.layer(rows, band, {"x": {**plot.x, "field": "low"}, "x2": {"field": "high"}, **run})
    for width, stretch in ((1.0, _stretches(curve, False)), (_THIN, _stretches(curve, True))):
        part = [{**rows[i], "run": start} for start, i in stretch]
        if part:
            yield plot.layer(part, {**line, "strokeWidth": width * setting.format.line}, run)
    yield plot.layer(rows[-1:], point(look, setting))


def _crossings(comparison: Comparison, setting: Setting, plot: Plot) -> Iterator[Spec]:
    """Yield a small ring where two airplanes are as fast as each other."""
    curves = {curve.aircraft: curve for curve in comparison.speed_curves}
    rows = []
    for crossing in comparison.crossings:
        figure, curve = comparison.figures[crossing.altitude], curves.get(crossing.first)
        if figure.si is not None and curve is not None:
            altitude, speed, *_ = _known(curve)
            rows.append({"x": float(np.interp(figure.si / ft, altitude, speed)), "y": figure.si / ft})
    if rows:
        ring = {"type": "point", "filled": False, "opacity": 1, "color": setting.theme.ink}
        size = 40 * setting.format.line**2
        yield plot.layer(rows, {**ring, "size": size, "strokeWidth": setting.format.line / 2})


def _label_layers(
    curves: list[SpeedCurve], every: dict[str, Look], setting: Setting, plot: Plot
) -> Iterator[Spec]:
    size = setting.format.text
    anchors, lines = [], []
    for curve in curves:
        altitude, speed, *_ = _known(curve)
        pixels = plot.pixels(speed, altitude)
        lines.append(along(pixels, size / 3))
        ends = tuple((float(x), float(y)) for x, y in pixels[::-1])[: max(1, len(pixels) // 3)]
        text = every[curve.aircraft].name
        anchors.append(Anchor(text, text_width(text, size, bold=True), 1.15 * size, ends))
    labels = place(anchors, lines, plot.across.pixels + 2 * size, plot.up.pixels, 0.6 * size)
    for label, curve in zip(labels, curves, strict=True):
        yield from plot.label(label, every[curve.aircraft].colour, setting)


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its numbers."""
    names = {entry.key: entry.name for entry in comparison.entries}
    parts = []
    for curve in comparison.speed_curves:
        altitude, speed, low, high = _known(curve)
        if not len(altitude):
            parts.append(f"{names[curve.aircraft]}: no evidence.")
            continue
        half = (high - low) / 2
        best = int(np.argmax(speed))
        ends = [f"{printed(speed[i], half[i])} kt at {altitude[i]:,.0f} ft" for i in (0, len(altitude) - 1)]
        parts.append(
            f"{names[curve.aircraft]}: from {ends[0]} to {ends[1]},"
            f" fastest {printed(speed[best], half[best])}"
            f" ± {printed(half[best], half[best])} kt at {altitude[best]:,.0f} ft."
        )
    return f"Cruise true airspeed over pressure altitude at {comparison.terms.power} power. " + " ".join(
        parts
    )


CHART = Chart("speed_altitude", TITLE, drawn, subtitle, chart, alt)
