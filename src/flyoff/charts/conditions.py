"""How a kind of steady condition looks: a pattern, a lane and a colour, so that no colour stands alone."""

from collections.abc import Iterable, Iterator

import numpy as np

from flyoff.charts.plot import Plot
from flyoff.charts.style import Setting, Spec
from flyoff.reduction.points import Point
from flyoff.reduction.run import Reduction

KINDS = ("climb", "level", "descent", "glide", "turn", "acceleration", "deceleration")
"""The kinds in the order of their lanes; any other comes after them."""
_PITCH = 0.4
"""From stroke to stroke of a pattern, in text sizes."""

# Strokes of a pattern as (dx, dy) of its unit square; level is solid, and has none.
_STROKES: dict[str, tuple[tuple[int, int], ...]] = {
    "climb": ((1, 1),),
    "descent": ((1, -1),),
    "glide": ((1, 0),),
    "turn": ((0, 1),),
    "acceleration": ((1, 1), (1, -1)),
    "deceleration": ((1, 0), (0, 1)),
}


def kind_of(point: Point) -> str:
    """Return what kind of condition a point is, a glide told from a descent with power."""
    return str(point.condition.phase or point.condition.kind)


def kinds_of(reduction: Reduction) -> list[str]:
    """Return the kinds of steady conditions that a flight has, in the order of their lanes."""
    return _in_order(map(kind_of, reduction.points))


def manoeuvres_of(reduction: Reduction) -> list[str]:
    """Return the kinds of manoeuvres that a flight has, in the order of their lanes."""
    return _in_order(str(manoeuvre.kind) for manoeuvre in reduction.manoeuvres)


def _in_order(kinds: Iterable[str]) -> list[str]:
    return sorted(dict.fromkeys(kinds), key=lambda k: KINDS.index(k) if k in KINDS else len(KINDS))


def colour_of(kind: str, setting: Setting) -> str:
    """Return the colour of a kind."""
    series = setting.theme.series
    return series[(1, 0, 2, 3, 5, 4, 6)[KINDS.index(kind)] if kind in KINDS else len(series) - 1]


Box = tuple[float, float, float, float]
"""Left, top, right and bottom, in pixels from the plotting area's upper left corner."""


def boxes(plot: Plot, every: Iterable[Box], colour: str, opacity: float) -> Spec:
    """Return filled boxes."""
    mark = {"type": "rect", "color": colour, "opacity": opacity}
    return _between(plot, every, mark)


def patterned(plot: Plot, every: Iterable[Box], kind: str, colour: str, setting: Setting) -> Iterator[Spec]:
    """Yield boxes filled with the pattern of their kind, outlined."""
    every = list(every)
    outline = [
        edge
        for left, top, right, bottom in every
        for edge in (
            (left, top, right, top),
            (right, top, right, bottom),
            (right, bottom, left, bottom),
            (left, bottom, left, top),
        )
    ]
    strokes = _STROKES.get(kind, ())
    yield boxes(plot, every, colour, 0.12 if strokes else 0.75)
    pitch = _PITCH * setting.format.text
    drawn = [line for box in every for stroke in strokes for line in _hatch(box, stroke, pitch)]
    yield lines(plot, [*outline, *drawn], colour, setting.format.line / 2.2)


def lines(plot: Plot, every: Iterable[Box], colour: str, width: float) -> Spec:
    """Return straight lines from one corner to the other of boxes."""
    return _between(plot, every, {"type": "rule", "color": colour, "strokeWidth": width})


def _between(plot: Plot, every: Iterable[Box], mark: Spec) -> Spec:
    rows = [
        {
            "x": plot.across.value(left),
            "y": plot.up.value(plot.up.pixels - top),
            "x2": plot.across.value(right),
            "y2": plot.up.value(plot.up.pixels - bottom),
        }
        for left, top, right, bottom in every
    ]
    return plot.layer(rows, mark, {"x2": {"field": "x2"}, "y2": {"field": "y2"}})


def _hatch(box: Box, stroke: tuple[int, int], pitch: float) -> Iterator[Box]:
    """Yield strokes across a box, `pitch` apart; those that slope climb one pixel a pixel."""
    left, top, right, bottom = box
    across, up = stroke
    if across == 0:
        for x in np.arange(left + pitch, right, pitch):
            yield float(x), top, float(x), bottom
        return
    if up == 0:
        for y in np.arange(top + pitch, bottom, pitch):
            yield left, float(y), right, float(y)
        return
    height = bottom - top
    for start in np.arange(left - height, right, 1.4 * pitch):
        a, b = max(float(start), left), min(float(start) + height, right)
        if b > a:
            begin, end = a - float(start), b - float(start)
            yield (a, bottom - begin, b, bottom - end) if up > 0 else (a, top + begin, b, top + end)
