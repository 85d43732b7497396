"""Balance: each airplane's envelope, and the loading's way through it as fuel burns."""

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

import numpy as np

from flyoff.charts.chart import Chart
from flyoff.charts.labels import Anchor, along, place
from flyoff.charts.plot import Plot, point
from flyoff.charts.scales import round_scale
from flyoff.charts.style import (
    FOOT,
    Frame,
    Look,
    Setting,
    Spec,
    definition,
    evenly,
    looks,
    second_line,
    shortened,
    text_width,
    words,
)
from flyoff.comparison.results import BalanceTrack, Comparison
from flyoff.core.units import inch, lb

TITLE = "Balance through the flight"
_HEAD = 4.2  # lines of text above each panel: name and title of the axis
_REMARK = 1.1  # and each line of its remark
_FOOT = 3.4  # and below it
_ON_A_SCREEN = 2  # panels
_LEAST_HEIGHT, _LEAST_WIDTH = 7.0, 14.0  # of a panel, in lines of text


def drawn(comparison: Comparison) -> bool:
    """Tell whether any airplane has an envelope."""
    return bool(comparison.balances)


def subtitle(comparison: Comparison) -> str:
    """Return which loading is drawn."""
    terms = comparison.terms
    people = ", ".join(str(o.weight) for o in terms.occupants)
    return f"The terms’ people ({people}) and {terms.bags} of bags aboard; not for loading an airplane"


def _panels(comparison: Comparison) -> list[tuple[str, list[BalanceTrack]]]:
    order = {entry.key: number for number, entry in enumerate(comparison.entries)}
    tracks = sorted(comparison.balances, key=lambda t: order[t.aircraft])
    return [(key, list(group)) for key, group in groupby(tracks, key=lambda t: t.aircraft)]


def _layout(count: int, setting: Setting) -> tuple[int, Setting]:
    """Return how many panels stand beside one another, and the text size that lets all be read.

    A page grows with its panels; a screen does not, so its text may have to shrink.
    """
    form = setting.format
    if not form.fixed:
        return (1 if form.narrow else min(2, count)), setting

    def text(columns: int) -> float:
        rows = math.ceil(count / columns)
        lines = 4.6 + FOOT + rows * (_HEAD + 2 * _REMARK + _FOOT + second_line(setting) + 0.4 + _LEAST_HEIGHT)
        return min(form.text, form.height / lines, form.width / (columns * (_LEAST_WIDTH + 5.6)))

    columns = max(range(1, count + 1), key=lambda n: (text(n), -n))
    return columns, replace(setting, format=replace(form, text=text(columns)))


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If an envelope has no finite edge.
    """
    panels = _panels(comparison)
    if setting.screen is not None:
        panels = panels[setting.screen * _ON_A_SCREEN :][:_ON_A_SCREEN]
    columns, setting = _layout(len(panels), setting)
    text, fixed = setting.format.text, setting.format.fixed
    rows = math.ceil(len(panels) / columns)
    below = _FOOT + second_line(setting)
    gap_x, left, right = 5.6 * text, 4.2 * text, 1.6 * text
    width = (setting.format.width - left - right - (columns - 1) * gap_x) / columns
    remarks = {key: _remark(tracks, width + left + 0.6 * text, text) for key, tracks in panels}
    above = _HEAD + _REMARK * max(map(len, remarks.values()))
    head, foot = (4.6, below + FOOT) if setting.titled else (0.4, below)
    height = setting.format.height if fixed else (rows * (13.2 + below + above) + head + foot - below) * text
    inner = Frame(setting.format.width, height, left, (head + above) * text, right, foot * text)
    gap_y = (above + below + (0.4 if fixed else 1.4)) * text
    panel_height = (inner.plot_height - (rows - 1) * gap_y) / rows
    every = looks(comparison, setting)
    concat = [
        {
            "width": width,
            "height": panel_height,
            "layer": list(
                _panel(tracks, remarks[key], above, every[key], setting, (width, panel_height), left)
            ),
        }
        for key, tracks in panels
    ]
    body = {
        "concat": concat,
        "columns": columns,
        "bounds": "flush",
        "spacing": {"row": gap_y, "column": gap_x},
    }
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _remark(tracks: list[BalanceTrack], room: float, text: float) -> list[str]:
    """Return what is said of an airplane's balance in at most two lines."""
    remark = "; ".join(dict.fromkeys(t.remark for t in tracks))
    remark = remark[:1].upper() + remark[1:]
    lines = evenly(remark, room, 0.92 * text)
    return lines if len(lines) <= 2 else [lines[0], shortened(" ".join(lines[1:]), room, 0.92 * text)]


def _panel(
    tracks: list[BalanceTrack],
    remark: list[str],
    above: float,
    look: Look,
    setting: Setting,
    size: tuple[float, float],
    left: float,
) -> Iterator[Spec]:
    text, theme = setting.format.text, setting.theme
    arms = [v for t in tracks for a in (t.edge_arm_m, t.arm_m) for v in np.asarray(a) / inch]
    masses = [v for t in tracks for m in (t.edge_mass_kg, t.mass_kg) for v in np.asarray(m) / lb]
    plot = Plot(
        round_scale(arms, size[0], 5, snap=False),
        round_scale(masses, size[1], 5, snap=False),
        "Arm, in",
        "Weight, lb",
        left,
    )
    edge, top = -0.8 * left, (1.2 - above) * text
    name = shortened(look.name, size[0] + left, 1.1 * text, bold=True)
    yield words([name], edge, top, look.colour, setting, fontWeight="bold", fontSize=1.1 * text)
    small = {"fontSize": 0.92 * text, "lineHeight": _REMARK * text}
    yield words(remark, edge, top + 1.35 * text, theme.ink, setting, **small)
    for track in tracks:
        border = [
            {"x": a, "y": m} for a, m in zip(track.edge_arm_m / inch, track.edge_mass_kg / lb, strict=True)
        ]
        shape = {"type": "line", "interpolate": "linear-closed", "color": theme.quiet, "fill": look.colour}
        yield plot.layer(
            border, {**shape, "fillOpacity": theme.band * 0.7, "strokeWidth": setting.format.line / 2}
        )
    yield from _way(tracks[0], look, setting, plot, tracks)


def _way(
    track: BalanceTrack, look: Look, setting: Setting, plot: Plot, tracks: list[BalanceTrack]
) -> Iterator[Spec]:
    text = setting.format.text
    arm, mass = track.arm_m / inch, track.mass_kg / lb
    rows = [{"x": a, "y": m} for a, m in zip(arm, mass, strict=True)]
    named = [n for n, state in enumerate(track.states) if state]
    line = {"type": "line", "color": look.colour, "strokeWidth": setting.format.line}
    yield plot.layer(rows, line)
    yield plot.layer([rows[n] for n in named], point(look, setting, 0.7))
    edges = [
        along(
            plot.pixels(
                np.append(t.edge_arm_m, t.edge_arm_m[0]) / inch,
                np.append(t.edge_mass_kg, t.edge_mass_kg[0]) / lb,
            ),
            text / 3,
        )
        for t in tracks
    ]
    pixels = plot.pixels(arm, mass)
    way = along(pixels, text / 3)
    anchors = [
        Anchor(state, text_width(state, 0.92 * text), text, ((float(x), float(y)),))
        for state, (x, y) in ((track.states[n], pixels[n]) for n in named)
    ]
    lines = [np.vstack([way, *edges]) for _ in anchors]
    for label in place(anchors, lines, plot.across.pixels + text, plot.up.pixels, 0.6 * text):
        yield from plot.label(label, setting.theme.ink, setting, bold=False)


def alt(comparison: Comparison) -> str:
    """Return the chart in words, from its numbers."""
    names = {entry.key: entry.name for entry in comparison.entries}
    parts = []
    for track in comparison.balances:
        states = "; ".join(
            f"{state} {mass / lb:,.0f} lb at {arm / inch:.1f} in"
            for state, mass, arm in zip(track.states, track.mass_kg, track.arm_m, strict=True)
            if state
        )
        parts.append(f"{names[track.aircraft]}, {track.envelope} envelope: {states}. {track.remark}.")
    return "Weight over arm within each airplane's envelope as fuel burns. " + " ".join(parts)


def screens(comparison: Comparison) -> int:
    """Return how many screens its airplanes need."""
    return math.ceil(len(_panels(comparison)) / _ON_A_SCREEN)


CHART = Chart("balance", TITLE, drawn, subtitle, chart, alt, screens=screens)
