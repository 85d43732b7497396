"""Cabins and doors drawn side by side: cross-sections, and doors above the ground, all to one scale."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from flyoff.charts.chart import Chart
from flyoff.charts.style import (
    FOOT,
    Frame,
    Look,
    Setting,
    Spec,
    definition,
    looks,
    shortened,
    words,
    wrapped,
)
from flyoff.comparison.cabin import CabinMeasures, DoorMeasures
from flyoff.comparison.results import Comparison
from flyoff.core.figure import format_number
from flyoff.core.units import inch

TITLE = "Cabins and doors to one scale"
_LEAST_CELL = 25.0  # width of an airplane's cell, in lines of text
_GAP = 1.6  # between cells
_HEAD = 1.9  # the airplane's name
_SMALL = 0.9
_LEADING = 1.2


@dataclass(frozen=True)
class _Layout:
    """Where everything is, in pixels: cells across, their width, the scale [px/m], heights of the parts."""

    columns: int
    cell: float
    scale: float
    head: float
    drawn: float
    told: float

    @property
    def band(self) -> float:
        """Height of one row of cells."""
        return self.head + self.drawn + self.told


def _measured(comparison: Comparison) -> list[CabinMeasures]:
    cabins = (inspection.cabin for inspection in comparison.inspections)
    return [cabin for cabin in cabins if (cabin.width_m and cabin.height_m) or cabin.doors]


def drawn(comparison: Comparison) -> bool:
    """Tell whether anything was measured."""
    return bool(_measured(comparison))


def subtitle(comparison: Comparison) -> str:
    """Return what is drawn, and what is not for want of measures."""
    have = {cabin.aircraft for cabin in _measured(comparison)}
    gaps = [entry.name for entry in comparison.entries if entry.key not in have]
    lacking = f"; not measured: {', '.join(gaps)}" if gaps else ""
    return (
        "Each cabin across, and each door at its height above the ground. Widths and heights as measured,"
        f" not their shapes{lacking}"
    )


def _size(setting: Setting, width_m: float, height_m: float) -> list[str]:
    """Return measures in both systems of units, or in one for the house to restate."""
    if setting.wording.system != "as written":
        return [f"{100 * width_m:.0f} cm wide", f"{100 * height_m:.0f} cm high"]
    pairs = (("cm", 0.01), ("in", inch))
    return [f"{width_m / unit:.0f} × {height_m / unit:.0f} {label}" for label, unit in pairs]


def _told(cabin: CabinMeasures, slot: float, setting: Setting) -> list[list[str]]:
    """Return the words under a cabin and each of its doors."""
    size = _SMALL * setting.format.text
    first = ["cabin not measured"]
    if cabin.width_m and cabin.height_m:
        first = ["cabin", *_size(setting, cabin.width_m, cabin.height_m)]
    doors = (
        [*wrapped(f"door, {door.name}", slot, size), *_size(setting, door.width_m, door.height_m)]
        for door in cabin.doors
    )
    return [first, *doors]


def _slot(cabin: CabinMeasures, cell: float) -> float:
    """Return the width that a cabin and each of its doors has."""
    return cell / (1 + len(cabin.doors))


def _layout(cabins: list[CabinMeasures], setting: Setting, width: float, height: float | None) -> _Layout:
    """Return the layout for a width, and for a height where it cannot grow."""
    text = setting.format.text
    most = max(1, int((width + _GAP * text) / ((_LEAST_CELL + _GAP) * text)))
    rows = math.ceil(len(cabins) / most)
    columns = math.ceil(len(cabins) / rows)
    cell = (width - (columns - 1) * _GAP * text) / columns
    lines = max(len(lines_) for c in cabins for lines_ in _told(c, _slot(c, cell) - 0.5 * text, setting))
    told = _LEADING * _SMALL * text * (lines + 1.2)
    scales = [0.9 * _slot(c, cell) / c.width_m for c in cabins if c.width_m]
    scales += [0.9 * _slot(c, cell) / d.width_m for c in cabins for d in c.doors]
    tops_m = [c.height_m or 0.0 for c in cabins]
    tops_m += [d.height_m + (d.sill_m or 0.0) for c in cabins for d in c.doors]
    if height is not None:
        spare = height / rows - _HEAD * text - told
        scales.append(max(spare, 3 * text) / max(tops_m))
    scale = min(scales)
    return _Layout(columns, cell, scale, _HEAD * text, max(tops_m) * scale, told)


def chart(comparison: Comparison, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If nothing was measured.
    """
    cabins = _measured(comparison)
    if not cabins:
        raise ValueError("no cabin was measured: nothing to draw")
    form, text = setting.format, setting.format.text
    left = right = 0.8 * text
    top = (4.8 if setting.titled else 0.4) * text
    bottom = (0.6 + (FOOT if setting.titled else 0.0)) * text
    room = form.height - top - bottom if form.fixed else None
    layout = _layout(cabins, setting, form.width - left - right, room)
    rows = math.ceil(len(cabins) / layout.columns)
    height = form.height if form.fixed else top + rows * layout.band + bottom
    inner = Frame(form.width, height, left, top, right, bottom)
    every = looks(comparison, setting)
    layers: list[Spec] = []
    for number, cabin in enumerate(cabins):
        row, column = divmod(number, layout.columns)
        x = column * (layout.cell + _GAP * text)
        layers += _cell(cabin, x, row * layout.band, layout, every[cabin.aircraft], setting)
    body = {"width": inner.plot_width, "height": inner.plot_height, "layer": layers}
    return definition(setting, inner, TITLE, subtitle(comparison), body)


def _cell(
    cabin: CabinMeasures, x: float, y: float, layout: _Layout, look: Look, setting: Setting
) -> Iterator[Spec]:
    """Yield one airplane: its name, its cabin across, and its doors above the ground."""
    text, theme = setting.format.text, setting.theme
    name = shortened(look.name, layout.cell, text, bold=True)
    yield words([name], x, y + text, look.colour, setting, fontWeight="bold")
    ground, slot = y + layout.head + layout.drawn, _slot(cabin, layout.cell)
    if cabin.width_m and cabin.height_m:
        size = (cabin.width_m * layout.scale, cabin.height_m * layout.scale)
        yield _box(x, ground, size, look, setting, 0.22 * min(size))
    if cabin.doors:
        thick = 0.5 * setting.format.line
        yield _strip((x + slot, x + layout.cell), (ground, ground + thick), setting)
    for number, door in enumerate(cabin.doors, 1):
        at, sill = x + number * slot, ground - (door.sill_m or 0.0) * layout.scale
        yield _box(at, sill, (door.width_m * layout.scale, door.height_m * layout.scale), look, setting, 0.0)
        yield from _sill(door, at, sill, ground, setting)
    small = {"fontSize": _SMALL * text, "lineHeight": _LEADING * _SMALL * text}
    for number, lines in enumerate(_told(cabin, slot - 0.5 * text, setting)):
        below = ground + _LEADING * text
        yield words(lines, x + number * slot, below, theme.ink, setting, **small)


def _sill(door: DoorMeasures, x: float, sill: float, ground: float, setting: Setting) -> Iterator[Spec]:
    """Yield how high the sill is: a measure from the ground to it, where there is room to say so."""
    size = 0.9 * setting.format.text
    if door.sill_m is None or ground - sill < 1.3 * size:
        return
    middle, thin, arm = x + 0.5 * size, 0.25 * setting.format.line, 0.3 * size
    yield _strip((middle - thin, middle + thin), (sill, ground), setting)
    for end in (sill + 2 * thin, ground - 2 * thin):
        yield _strip((middle - arm, middle + arm), (end - thin, end + thin), setting)
    told = f"{format_number(100 * door.sill_m, 0)} cm"
    style = {"fontSize": size, "baseline": "middle"}
    yield words([told], middle + 0.6 * size, (sill + ground) / 2, setting.theme.quiet, setting, **style)


def _box(
    x: float, bottom: float, size: tuple[float, float], look: Look, setting: Setting, corner: float
) -> Spec:
    """Return a box that stands on a line."""
    mark = {
        "type": "rect",
        "x": x,
        "x2": x + size[0],
        "y": bottom - size[1],
        "y2": bottom,
        "cornerRadius": corner,
        "fill": look.colour,
        "fillOpacity": setting.theme.band,
        "stroke": look.colour,
        "strokeWidth": 0.7 * setting.format.line,
    }
    return {"data": {"values": [{}]}, "mark": mark, "encoding": {}}


def _strip(across: tuple[float, float], down: tuple[float, float], setting: Setting) -> Spec:
    """Return a thin strip: the ground, or a line of a measure."""
    ends = {"x": across[0], "x2": across[1], "y": down[0], "y2": down[1]}
    mark = {"type": "rect", **ends, "fill": setting.theme.rule}
    return {"data": {"values": [{}]}, "mark": mark, "encoding": {}}


def alt(comparison: Comparison) -> str:
    """Return the measures in words."""
    names = {entry.key: entry.name for entry in comparison.entries}
    parts = []
    for cabin in _measured(comparison):
        said = []
        if cabin.width_m and cabin.height_m:
            said.append(f"cabin {100 * cabin.width_m:.0f} cm wide and {100 * cabin.height_m:.0f} cm high")
        for door in cabin.doors:
            sill = "" if door.sill_m is None else f", sill {100 * door.sill_m:.0f} cm up"
            said.append(f"door {door.name} {100 * door.width_m:.0f} cm by {100 * door.height_m:.0f} cm{sill}")
        parts.append(f"{names[cabin.aircraft]}: {'; '.join(said)}.")
    return "Cabins across and doors, to one scale. " + " ".join(parts)


CHART = Chart("cabin", TITLE, drawn, subtitle, chart, alt)
