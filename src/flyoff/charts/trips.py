"""Time and fuel of each trip, airplane by airplane, with 95 % intervals; stops said in words."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from flyoff.charts import dots
from flyoff.charts.chart import Chart, in_units, wind_words
from flyoff.charts.plot import Plot
from flyoff.charts.scales import Scale, hour_scale, round_scale
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
from flyoff.comparison.results import Comparison, TripLeg
from flyoff.core.figure import Figure
from flyoff.core.units import find_unit
from flyoff.core.wording import AS_WRITTEN, Wording

TITLE = "Time and fuel by trip"
_QUANTITIES = (("time", "Time"), ("fuel", "Fuel"))
_ROW = 1.75  # text sizes from airplane to airplane
_HEADING = 2.2  # from a trip's last airplane to the next heading
_TOP = 1.9  # for the name of a panel
_FOOT = 2.2  # for its tick labels
_SCREEN_ROWS = 19.0  # text sizes that a screen leaves for trips


@dataclass(frozen=True)
class _Line:
    """One line: a trip's heading, or an airplane on it; `y` in text sizes from the panel's upper edge."""

    y: float
    heading: str = ""
    leg: TripLeg | None = None


def drawn(comparison: Comparison) -> bool:
    """Tell whether any trip's time or fuel is known."""
    return any(_known(comparison, quantity) for quantity, _ in _QUANTITIES)


def subtitle(comparison: Comparison) -> str:
    """Return under which terms the trips are flown."""
    terms = comparison.terms
    flown = f"{terms.power} power at {terms.altitude}, {wind_words(terms)}, {terms.reserve} reserve kept"
    waits = terms.ground_time is not None or terms.taxi_time is not None
    counted = "; time with taxi and stops" if waits else ""
    return f"{flown}{counted}; whiskers hold 95 %"


def _figure(comparison: Comparison, leg: TripLeg, quantity: str) -> Figure | None:
    """Return a figure of a leg, or None where there is none or it is missing."""
    keys = {"time": leg.elapsed or leg.time, "fuel": leg.fuel, "stops": leg.stops}
    figure = comparison.figures.get(keys[quantity])
    return figure if figure is not None and figure.si is not None else None


def _known(comparison: Comparison, quantity: str) -> list[Figure]:
    found = (_figure(comparison, leg, quantity) for leg in comparison.trip_legs)
    return [figure for figure in found if figure is not None]


def _lines(comparison: Comparison, wording: Wording, screen: int | None = None) -> tuple[list[_Line], float]:
    """Return the lines from the top down, all or those of one screen, and their height in text sizes."""
    order = {entry.key: number for number, entry in enumerate(comparison.entries)}
    lines: list[_Line] = []
    y = 0.8
    trips = _trips(comparison)
    if screen is not None:
        trips = trips[screen * _on_a_screen(comparison) :][: _on_a_screen(comparison)]
    for trip in trips:
        legs = sorted(
            (leg for leg in comparison.trip_legs if leg.trip == trip), key=lambda g: order[g.aircraft]
        )
        label = wording.unit("nmi")
        distance = find_unit(label, "length").from_si(legs[0].distance_m)
        length = "" if math.isnan(distance) else f", {distance:,.0f} {label}"
        lines.append(_Line(y, f"{trip}{length}"))
        lines += [_Line(y + _ROW * (number + 1), leg=leg) for number, leg in enumerate(legs)]
        y = lines[-1].y + _HEADING
    return lines, y - _HEADING + 1.0


def _trips(comparison: Comparison) -> list[str]:
    return list(dict.fromkeys(leg.trip for leg in comparison.trip_legs))


def _on_a_screen(comparison: Comparison) -> int:
    """Return how many trips a screen holds in words that can be read."""
    return max(1, int(_SCREEN_ROWS / (_HEADING + _ROW * len(comparison.entries))))


def screens(comparison: Comparison) -> int:
    """Return how many screens its trips need."""
    return math.ceil(len(_trips(comparison)) / _on_a_screen(comparison))


def _closed(scale: Scale) -> Scale:
    """Return an axis whose last tick lies beyond its data."""
    return replace(scale, high=math.ceil(scale.high / scale.step - 1e-9) * scale.step)


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    comparison = in_units(comparison, setting)
    lines, tall = _lines(comparison, setting.wording, setting.screen)
    panels = [(q, name, known) for q, name in _QUANTITIES if (known := _known(comparison, q))]
    stacked = setting.format.narrow
    rows, columns = (len(panels), 1) if stacked else (1, len(panels))
    head, foot = (4.4, _FOOT + FOOT) if setting.titled else (0.3, _FOOT)
    lines_tall = head + foot - _FOOT + rows * (tall + _TOP + _FOOT)
    fixed = setting.format.fixed
    size = min(setting.format.text, setting.format.height / lines_tall) if fixed else setting.format.text
    setting = replace(setting, format=replace(setting.format, text=size))
    height = setting.format.height if fixed else lines_tall * size
    every = looks(comparison, setting)
    longest = max(text_width(look.name, size) for look in every.values())
    left, right = min(longest + 2.0 * size, 11 * size), 10.8 * size
    inner = Frame(setting.format.width, height, left, (head + _TOP) * size, right, foot * size)
    gap_y, gap_x = (_TOP + _FOOT) * size, right + size
    width = (inner.plot_width - (columns - 1) * gap_x) / columns
    panel_height = (inner.plot_height - (rows - 1) * gap_y) / rows
    concat = []
    for number, (quantity, name, known) in enumerate(panels):
        unit = known[0].unit_label
        values = [
            v for f in known for value, half in (dots.in_unit(f, unit),) for v in (value - half, value + half)
        ]
        scale = round_scale(values, width, 4, zero=True, snap=False)
        scale = _closed(hour_scale(scale, 4) if unit == "h" else scale)
        plot = Plot(
            scale,
            Scale(0.0, tall, 1.0, panel_height),
            "",
            "",
            left,
        )
        layer = [words([f"{name}, {unit}"], 0, -0.7 * size, setting.theme.quiet, setting)]
        if stacked or number == 0:
            layer += _names(lines, every, plot, setting)
        marks = [_mark(comparison, line, quantity, unit, every, tall) for line in lines if line.leg]
        layer += dots.layers(plot, marks, setting, right - 0.5 * size)
        concat.append({"width": width, "height": panel_height, "layer": layer})
    spacing = {"row": gap_y, "column": gap_x}
    body = {"concat": concat, "columns": columns, "bounds": "flush", "spacing": spacing}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _names(lines: list[_Line], every: dict[str, Look], plot: Plot, setting: Setting) -> Iterator[Spec]:
    size = setting.format.text
    scale = plot.up.pixels / plot.up.high
    edge = 0.8 * size - plot.left
    for line in lines:
        y = line.y * scale + 0.35 * size
        if line.leg is None:
            whole = shortened(line.heading, plot.left + plot.across.pixels + 6 * size, size, bold=True)
            yield words([whole], edge, y, setting.theme.ink, setting, fontWeight="bold")
        else:
            look = every[line.leg.aircraft]
            yield words([shortened(look.name, plot.left - 1.4 * size, size)], edge, y, look.colour, setting)


def _mark(
    comparison: Comparison, line: _Line, quantity: str, unit: str, every: dict[str, Look], tall: float
) -> dots.Dot | dots.Gap:
    assert line.leg is not None
    figure = _figure(comparison, line.leg, quantity)
    if figure is None:
        return dots.Gap(tall - line.y, f"no evidence: {line.leg.reason}")
    value, half = dots.in_unit(figure, unit)
    said = [dots.number(value, half, unit)]
    if quantity == "time" and line.leg.nonstop is False:
        said.append(_stops(comparison, line.leg))
    if figure.extrapolated:
        said.append("extrapolated")
    return dots.Dot(tall - line.y, every[line.leg.aircraft], value, half, ", ".join(said))


def _stops(comparison: Comparison, leg: TripLeg) -> str:
    stops = _figure(comparison, leg, "stops")
    if stops is None or stops.value is None:
        return "not nonstop"
    count = round(stops.value)
    return f"{count} stop{'' if count == 1 else 's'}"


def alt(comparison: Comparison, wording: Wording = AS_WRITTEN) -> str:
    """Return the chart in words, from its numbers; distances in the house's unit, as the chart has them."""
    names = {entry.key: entry.name for entry in comparison.entries}
    parts = []
    for line in _lines(comparison, wording)[0]:
        if line.leg is None:
            parts.append(f"{line.heading}:")
            continue
        time, fuel = (_figure(comparison, line.leg, q) for q, _ in _QUANTITIES)
        if time is None and fuel is None:
            parts.append(f"{names[line.leg.aircraft]} no evidence ({line.leg.reason});")
            continue
        said = [str(f) for f in (time, fuel) if f is not None]
        if line.leg.nonstop is False:
            said.append(_stops(comparison, line.leg))
        parts.append(f"{names[line.leg.aircraft]} {', '.join(said)};")
    return f"Time and fuel of each trip. {' '.join(parts)}".rstrip(";") + "."


CHART = Chart("trips", TITLE, drawn, subtitle, chart, alt, screens=screens, worded=alt)
