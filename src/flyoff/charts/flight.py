"""A flight over time: altitude, speed and power, with the steady conditions found and what was repaired."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from flyoff.charts.chart import Chart, number_word
from flyoff.charts.conditions import (
    Box,
    boxes,
    colour_of,
    kind_of,
    kinds_of,
    lines,
    manoeuvres_of,
    patterned,
)
from flyoff.charts.plot import Plot
from flyoff.charts.scales import ClockScale, Scale, clock, clock_scale, round_scale
from flyoff.charts.signals import Signal, signals, span_s, thinned
from flyoff.charts.style import FOOT, Frame, Setting, Spec, definition, shortened, text_width, words
from flyoff.core.figure import format_number
from flyoff.core.units import ft, kt
from flyoff.reduction.run import Reduction

TITLE = "The flight over time"
_LANE = 2.0  # from lane to lane, in text sizes; each holds its numbers above its bars
_BAR = 0.75
_GAP = 3.0  # between panels: the title of the next
_FOOT = 3.7  # below the last: the clock and its title
_REPAIRS = "repaired"
_NAMED = 4
"""Repairs of one kind that are named each; of more, the first alone is."""


@dataclass(frozen=True)
class _Repaired:
    """Something repaired at one time, whatever the channels."""

    kind: str
    start_s: float
    end_s: float


def drawn(reduction: Reduction) -> bool:
    """Tell whether anything was recorded over time."""
    return bool(signals(reduction))


def subtitle(reduction: Reduction) -> str:
    """Return what the marks mean."""
    count = len(reduction.points)
    if not count:
        return "No steady condition was found; times are UTC"
    bars = "heavy bars are the true airspeed of each as reduced" if _true_airspeeds(reduction) else ""
    found = f"{number_word(count)} steady condition{'' if count == 1 else 's'}, a lane for each kind"
    said = (f"{found}, numbered as in the table of points", bars, "times are UTC")
    return "; ".join(part for part in said if part).capitalize().replace("utc", "UTC")


def _true_airspeeds(reduction: Reduction) -> bool:
    return any(point.air.true_airspeed is not None for point in reduction.points)


def _repaired(reduction: Reduction) -> list[_Repaired]:
    """Return the repairs in order of time, each once, however many channels it touched."""
    every = (_Repaired(r.kind, r.start_s, r.end_s) for _, r in reduction.repairs if r.kind != "averaged")
    return sorted(set(every), key=lambda r: (r.start_s, r.end_s, r.kind))


def chart(reduction: Reduction, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    every = signals(reduction)
    lanes = [*kinds_of(reduction), *manoeuvres_of(reduction), *([_REPAIRS] if _repaired(reduction) else [])]
    if setting.screen is not None:
        every, lanes = _screens(every)[setting.screen], [] if setting.screen else lanes
    head, foot = (6.0, _FOOT + FOOT) if setting.titled else (0.4, _FOOT)
    if not lanes:
        head += _GAP
    tall = head + foot + len(lanes) * _LANE + sum(s.tall for s in every) + _GAP * (len(every) - (not lanes))
    form = setting.format
    size = min(form.text, form.height / tall) if form.fixed else form.text
    setting = replace(setting, format=replace(form, text=size))
    left = max(4.4 * size, max((text_width(lane, size) for lane in lanes), default=0.0) + 1.4 * size)
    inner = Frame(form.width, tall * size, left, head * size, 1.6 * size, foot * size)
    scale = clock_scale(*span_s(every), inner.plot_width, 4 if form.narrow else 8)
    concat = [_lanes(reduction, lanes, replace(scale, labelled=False), setting, left)] if lanes else []
    for signal in every:
        last = signal is every[-1]
        concat.append(_panel(reduction, signal, replace(scale, labelled=last), setting, left))
    body = {"concat": concat, "columns": 1, "bounds": "flush", "spacing": _GAP * size}
    return definition(setting, inner, TITLE, subtitle(reduction), body)


def _screens(every: tuple[Signal, ...]) -> list[tuple[Signal, ...]]:
    """Return the signals of each screen: the first under the lanes, then two and two."""
    return [every[:1], *(every[n : n + 2] for n in range(1, len(every), 2))]


def screens(reduction: Reduction) -> int:
    """Return how many screens its lanes and signals need."""
    return len(_screens(signals(reduction)))


def _lanes(reduction: Reduction, lanes: list[str], scale: ClockScale, setting: Setting, left: float) -> Spec:
    size, theme = setting.format.text, setting.theme
    plot = Plot(scale, Scale(0.0, float(len(lanes)), 1.0, len(lanes) * _LANE * size), "", "", left)
    layer: list[Spec] = []
    for number, lane in enumerate(lanes):
        bottom = (number + 1) * _LANE * size - 0.2 * size
        top = bottom - _BAR * size
        colour = theme.ink if lane == _REPAIRS else colour_of(lane, setting)
        layer.append(words([lane], 0.8 * size - left, bottom - 0.05 * size, colour, setting))
        layer.append(lines(plot, [(0.0, bottom, scale.pixels, bottom)], theme.grid, setting.format.line / 2))
        if lane == _REPAIRS:
            layer += _repairs_lane(reduction, plot, (top, bottom), setting)
        else:
            layer += _kind_lane(reduction, lane, plot, (top, bottom), setting)
    return {"width": scale.pixels, "height": plot.up.pixels, "layer": layer}


def _kind_lane(
    reduction: Reduction, kind: str, plot: Plot, edges: tuple[float, float], setting: Setting
) -> Iterator[Spec]:
    top, bottom = edges
    every = [(str(n), p.condition) for n, p in enumerate(reduction.points) if kind_of(p) == kind]
    times = [(name, c.start_s, c.end_s) for name, c in every]
    times += [("", m.start_s, m.end_s) for m in reduction.manoeuvres if m.kind == kind]
    spans = [(plot.across.pixel(start), plot.across.pixel(end)) for _, start, end in times]
    bars: list[Box] = [(a, top, max(b, a + 1.0), bottom) for a, b in spans]
    yield from patterned(plot, bars, kind, colour_of(kind, setting), setting)
    numbers = [(n, (a + b) / 2) for (n, *_), (a, b) in zip(times, spans, strict=True) if n]
    yield from _spaced(numbers, top, plot, setting)


def _repairs_lane(
    reduction: Reduction, plot: Plot, edges: tuple[float, float], setting: Setting
) -> Iterator[Spec]:
    """Yield a box for each stretch repaired, a tall thin stroke where it is short, and what it was."""
    top, bottom = edges
    stroke = setting.format.line
    spans = [
        (r.kind, plot.across.pixel(r.start_s), plot.across.pixel(r.end_s))
        for r in _repaired(reduction)
        if r.end_s >= plot.across.low and r.start_s <= plot.across.high
    ]
    if not spans:
        return
    room = (0.0, plot.across.pixels)
    bars: list[Box] = []
    for _, a, b in spans:
        middle, half = (a + b) / 2, max((b - a) / 2, stroke / 2)
        bars.append((max(middle - half, room[0]), top, min(middle + half, room[1]), bottom))
    yield boxes(plot, bars, setting.theme.ink, 0.85)
    counts = Counter(kind for kind, *_ in spans)
    named = [
        (kind, (a + b) / 2)
        for n, (kind, a, b) in enumerate(spans)
        if counts[kind] <= _NAMED or kind not in {k for k, *_ in spans[:n]}
    ]
    yield from _spaced(named, top, plot, setting)


def _spaced(named: list[tuple[str, float]], top: float, plot: Plot, setting: Setting) -> Iterator[Spec]:
    """Yield texts above their places, those left out that would touch the one before."""
    size = setting.format.text
    free = -math.inf
    for name, middle in named:
        half = text_width(name, size) / 2
        place = min(max(middle, half - 0.4 * size), plot.across.pixels - half + 1.4 * size)
        if place - half >= free:
            style = {"align": "center"}
            yield words([name], place, top - 0.25 * size, setting.theme.quiet, setting, **style)
            free = place + half + 0.35 * size


def _panel(reduction: Reduction, signal: Signal, scale: ClockScale, setting: Setting, left: float) -> Spec:
    size, theme = setting.format.text, setting.theme
    bars = _bars(reduction) if signal.title == "Airspeed" else []
    values = [float(signal.values.min()), float(signal.values.max()), *(v for *_, v, _ in bars)]
    up = round_scale(values, signal.tall * size, max(2, round(signal.tall / 2.2)))
    explained = " (line indicated, bars true)" if bars else ""
    title = shortened(f"{signal.title}, {signal.unit}{explained}", scale.pixels + left - size, size)
    plot = Plot(
        scale, up, "Time of day, UTC" if scale.labelled else "", title, left, (0.8 * size - left, -0.7 * size)
    )
    layer = []
    for kind in kinds_of(reduction):
        spans = [
            (scale.pixel(p.condition.start_s), 0.0, scale.pixel(p.condition.end_s), up.pixels)
            for p in reduction.points
            if kind_of(p) == kind
        ]
        layer.append(boxes(plot, spans, colour_of(kind, setting), 0.8 * theme.band))
    columns = round(scale.pixels)
    rows = [{"x": x, "y": y, "run": run} for x, y, run in thinned(signal, columns)]
    line = {"type": "line", "color": theme.ink, "strokeWidth": 0.6 * setting.format.line}
    layer.append(plot.layer(rows, line, {"detail": {"field": "run", "type": "nominal"}}))
    for kind in dict.fromkeys(kind for kind, *_ in bars):
        own = [
            (scale.pixel(a), up.pixels - up.pixel(v), scale.pixel(b), up.pixels - up.pixel(v))
            for k, a, b, v, _ in bars
            if k == kind
        ]
        layer.append(lines(plot, own, colour_of(kind, setting), 1.6 * setting.format.line))
    return {"width": scale.pixels, "height": up.pixels, "layer": layer}


def _bars(reduction: Reduction) -> list[tuple[str, float, float, float, int]]:
    """Return kind, start, end, true airspeed in knots and number of each condition that has one."""
    return [
        (kind_of(p), p.condition.start_s, p.condition.end_s, p.air.true_airspeed.value / kt, n)
        for n, p in enumerate(reduction.points)
        if p.air.true_airspeed is not None
    ]


def alt(reduction: Reduction) -> str:
    """Return the chart in words, from its numbers."""
    every = signals(reduction)
    start, end = span_s(every)
    parts = [f"The flight from {clock(start)} to {clock(end)} UTC."]
    for signal in every:
        decimals = 1 if signal.values.max() < 100 else 0
        low, high = (format_number(float(v), decimals) for v in (signal.values.min(), signal.values.max()))
        parts.append(f"{signal.title} from {low} to {high} {signal.unit}.")
    for kind, count in Counter(map(kind_of, reduction.points)).items():
        own = [(n, p) for n, p in enumerate(reduction.points) if kind_of(p) == kind]
        told = ", ".join(
            f"{n} at {clock(p.condition.start_s)}"
            + (f", {p.pressure_altitude.value / ft:,.0f} ft" if p.pressure_altitude else "")
            for n, p in own
        )
        parts.append(f"Steady in {kind}, {count}: {told}.")
    for kind, count in Counter(m.kind for m in reduction.manoeuvres).items():
        parts.append(f"{kind.capitalize()}s: {count}.")
    if not reduction.points:
        parts.append("No steady condition was found.")
    repairs = [f"{r.kind} at {clock(r.start_s)}" for r in _repaired(reduction)]
    shown = repairs[:12]
    more = f" and {len(repairs) - len(shown)} more" if len(repairs) > len(shown) else ""
    parts.append(f"Repaired: {', '.join(shown)}{more}." if shown else "Nothing was repaired.")
    return " ".join(parts)


CHART = Chart("flight", TITLE, drawn, subtitle, chart, alt, screens=screens)
