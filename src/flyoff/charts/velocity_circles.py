"""Each leg group's velocity circle: the wind is its centre, the true airspeed its radius."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from flyoff.charts.chart import Chart, members_words, printed, signed
from flyoff.charts.labels import Anchor, along, place
from flyoff.charts.plot import Plot
from flyoff.charts.scales import Scale, round_step
from flyoff.charts.style import (
    FOOT,
    Frame,
    Setting,
    Spec,
    definition,
    second_line,
    text_width,
    words,
    wrapped,
)
from flyoff.core.figure import format_number
from flyoff.core.typing import Array
from flyoff.core.units import degree, ft, kt
from flyoff.reduction.groups import LegGroup
from flyoff.reduction.run import Reduction

TITLE = "Velocity circles of the leg groups"
_ELLIPSE = math.sqrt(5.991)
"""Standard deviations from the middle to the edge of an ellipse that holds 95 % (chi-squared, 2 degrees)."""
_TIMES = (50, 20, 10, 5, 2, 1)
_LINE = 1.3
_LEAST_SIDE = 15.0
_ROOM = 1.5
"""Width of a panel over that of what is drawn in it: names stand outside the circle."""


@dataclass(frozen=True)
class _Circle:
    """One group in knots, columns east and north."""

    number: int
    group: LegGroup
    tips: Array
    covariances: Array
    names: tuple[str, ...]

    @property
    def radius(self) -> float:
        return self.group.solution.true_airspeed.value / kt

    @property
    def wind(self) -> Array:
        north, east = self.group.solution.wind_m_s
        return np.array([east, north]) / kt

    @property
    def outline(self) -> Array:
        turn = np.linspace(0.0, 2 * np.pi, 121)
        return self.wind + self.radius * np.column_stack([np.cos(turn), np.sin(turn)])

    @property
    def extent(self) -> Array:
        """Everything that has to be seen."""
        shown = [np.zeros((1, 2)), self.tips]
        return np.vstack(shown if self.group.refused else [*shown, self.outline])


def drawn(reduction: Reduction) -> bool:
    """Tell whether there is any group of legs."""
    return bool(_circles(reduction))


def subtitle(reduction: Reduction) -> str:
    """Return what the marks mean."""
    circles = _circles(reduction)
    given = any(not circle.group.refused for circle in circles)
    parts = ["Each leg’s ground velocity, named by its point"]
    if given:
        parts[0] += " with what is left over, kt"
        parts.append("the arrow is the wind, the circle’s radius the true airspeed")
    times = _times(circles)
    size = "" if times == 1 else f", drawn {times} times as large"
    return "; ".join([*parts, f"ellipses hold 95 %{size}"])


def _circles(reduction: Reduction) -> list[_Circle]:
    return [_circle(reduction, number, group) for number, group in enumerate(reduction.legs)]


def _circle(reduction: Reduction, number: int, group: LegGroup) -> _Circle:
    tips, covariances, names = [], [], []
    for member, residual in zip(group.members, group.solution.residuals_m_s, strict=True):
        readings = reduction.points[member].readings
        if readings.ground_m_s is None or readings.ground_covariance is None:
            continue
        tips.append(readings.ground_m_s[::-1] / kt)
        covariances.append(readings.ground_covariance[::-1, ::-1] / kt**2)
        left_over = signed(format_number(float(residual) / kt, 1))
        names.append(str(member) if group.refused else f"{member}: {left_over}")
    return _Circle(number, group, np.array(tips), np.array(covariances), tuple(names))


def _answer(circle: _Circle) -> str:
    """Return what a group's legs say, or why they say nothing."""
    group = circle.group
    if group.refused:
        return f"Refused: {group.refused}"
    solution = group.solution
    speed, wind = solution.true_airspeed, solution.wind_speed
    told = f"{_pm(speed.value / kt, speed.u95 / kt)} kt true; wind {solution.wind_from_rad / degree:03.0f}° "
    told += f"at {_pm(wind.value / kt, wind.u95 / kt)} kt"
    if solution.widened > 1:
        told += f"; widened {solution.widened:.1f} times by its residuals"
    return told


def _pm(value: float, u95: float) -> str:
    return f"{printed(value, u95)} ± {printed(u95, u95)}"


def _name(circle: _Circle) -> str:
    group = circle.group
    said = [f"Points {members_words(group.members)}"]
    if group.pressure_altitude is not None:
        said.append(f"{group.pressure_altitude.value / ft:,.0f} ft")
    if group.indicated_airspeed is not None:
        said.append(f"{group.indicated_airspeed.value / kt:.0f} kt indicated")
    return " · ".join(said)


def _columns(count: int, setting: Setting) -> int:
    form = setting.format
    if form.narrow:
        return 1
    return min(count, math.ceil(math.sqrt(1.8 * count)) if form.fixed else 2)


def chart(reduction: Reduction, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    circles, form = _circles(reduction), setting.format
    columns = _columns(len(circles), setting)
    rows = math.ceil(len(circles) / columns)
    below = 3.6 + second_line(setting)
    head, foot = (5.4, below + FOOT) if setting.titled else (0.4, below)
    size = form.text
    if form.fixed:
        size = min(size, form.height / (head + foot + rows * (_LEAST_SIDE + 6.0) + (rows - 1) * 4.6))
        setting = replace(setting, format=replace(form, text=size))
    left, right, gap = 4.2 * size, 1.8 * size, 6.4 * size
    widest = (form.width - left - right - (columns - 1) * gap) / columns
    told = [
        (
            wrapped(setting.wording.label(_name(c)), (widest + left - size) / 1.07, 1.05 * size),
            wrapped(setting.wording.label(_answer(c)), widest + left - 1.2 * size, size),
        )
        for c in circles
    ]
    above = 2.9 + _LINE * max(len(name) + len(answer) for name, answer in told)
    side = min(widest, 27 * size)
    if form.fixed:
        side = min(
            widest,
            (form.height - (head + foot) * size - rows * above * size - (rows - 1) * (below + 0.4) * size)
            / rows,
        )
    span = _span(circles)
    tall = (head + foot + rows * above + (rows - 1) * (below + 0.4)) * size + rows * side
    inner = Frame(
        form.width,
        tall,
        left,
        (head + above) * size,
        form.width - left - columns * side - (columns - 1) * gap,
        foot * size,
    )
    times = _times(circles)
    concat = [
        {
            "width": side,
            "height": side,
            "layer": list(_panel(c, t, (span, side, above, times), setting, left)),
        }
        for c, t in zip(circles, told, strict=True)
    ]
    spacing = {"row": (above + below + 0.4) * size, "column": gap}
    body = {"concat": concat, "columns": columns, "bounds": "flush", "spacing": spacing}
    return definition(setting, inner, TITLE, subtitle(reduction), body)


def _span(circles: list[_Circle]) -> float:
    """Return the knots across each panel: the same in all, so that they can be compared."""
    return _ROOM * max(float(np.ptp(c.extent, axis=0).max()) for c in circles)


def _times(circles: list[_Circle]) -> int:
    """Return how many times as large the ellipses are drawn, so that they can be seen and none swells."""
    axes = [float(np.linalg.eigvalsh(c).max()) for circle in circles for c in circle.covariances]
    largest = _ELLIPSE * math.sqrt(max(axes, default=0.0))
    return next((t for t in _TIMES if largest * t <= 0.06 * _span(circles) / _ROOM), 1)


def _panel(
    circle: _Circle,
    told: tuple[list[str], list[str]],
    measures: tuple[float, float, float, int],
    setting: Setting,
    left: float,
) -> Iterator[Spec]:
    span, side, above, times = measures
    size, theme = setting.format.text, setting.theme
    middle = (circle.extent.max(axis=0) + circle.extent.min(axis=0)) / 2
    step = round_step(span, max(3, min(8, int(side / (3.4 * setting.format.text)))))
    across, up = (Scale(float(m) - span / 2, float(m) + span / 2, step, side) for m in middle)
    plot = Plot(across, up, "East, kt", "North, kt", left, (0.8 * size - left, -0.6 * size))
    edge, top = 0.8 * size - left, (1.4 - above) * size
    name, answer = told
    high = {"lineHeight": _LINE * size}
    yield words(name, edge, top, theme.ink, setting, fontWeight="bold", fontSize=1.05 * size, **high)
    colour = theme.quiet if circle.group.refused else theme.ink
    yield words(answer, edge, top + len(name) * _LINE * size, colour, setting, **high)
    yield from _vectors(circle, plot, setting, times)
    yield from _labels(circle, plot, setting)


def _vectors(circle: _Circle, plot: Plot, setting: Setting, times: int) -> Iterator[Spec]:
    theme, stroke = setting.theme, setting.format.line
    zero = [{"x": 0.0, "y": 0.0}]
    for tip in circle.tips:
        row = {"x": float(tip[0]), "y": float(tip[1])}
        mark = {"type": "line", "color": theme.rule, "strokeWidth": stroke / 2}
        yield plot.layer([*zero, row], mark)
    if not circle.group.refused:
        outline = {"type": "line", "color": theme.series[0], "strokeWidth": stroke}
        yield plot.layer(_rows(circle.outline), outline)
        yield from _arrow(circle.wind, plot, setting)
    turn = np.linspace(0.0, 2 * np.pi, 37)
    for tip, covariance in zip(circle.tips, circle.covariances, strict=True):
        values, axes = np.linalg.eigh(covariance)
        ring = (axes * np.sqrt(np.maximum(values, 0.0)) * _ELLIPSE * times) @ np.vstack(
            [np.cos(turn), np.sin(turn)]
        )
        border = {"type": "line", "color": theme.ink, "strokeWidth": stroke / 2.4}
        yield plot.layer(_rows(tip + ring.T), border)
    dot = {"type": "point", "shape": "circle", "filled": True, "opacity": 1, "color": theme.ink}
    yield plot.layer(_rows(circle.tips), {**dot, "size": 5 * stroke**2})
    cross = {"type": "point", "shape": "cross", "filled": True, "opacity": 1, "color": theme.quiet}
    yield plot.layer(zero, {**cross, "size": 12 * stroke**2})


def _rows(points: Array) -> list[Spec]:
    return [{"x": round(float(x), 3), "y": round(float(y), 3)} for x, y in points]


def _arrow(wind: Array, plot: Plot, setting: Setting) -> Iterator[Spec]:
    """Yield the wind from the origin to where it carries the airplane, with its head."""
    colour, stroke, size = setting.theme.series[1], setting.format.line, setting.format.text
    shaft = {"type": "line", "color": colour, "strokeWidth": 1.4 * stroke}
    yield plot.layer(_rows(np.vstack([np.zeros(2), wind])), shaft)
    speed = float(np.hypot(*wind))
    if speed == 0:
        return
    along_wind = wind / speed
    across = np.array([-along_wind[1], along_wind[0]])
    length = min(0.7 * size * (plot.across.high - plot.across.low) / plot.across.pixels, 0.6 * speed)
    barbs = [wind - length * (along_wind + way * 0.6 * across) for way in (1, -1)]
    yield plot.layer(_rows(np.vstack([barbs[0], wind, barbs[1]])), shaft)


def _labels(circle: _Circle, plot: Plot, setting: Setting) -> Iterator[Spec]:
    """Yield the legs' names outside the circle, legs on one course together, and the wind's."""
    size, theme = setting.format.text, setting.theme
    centre = np.zeros(2) if circle.group.refused else circle.wind
    pixels = plot.pixels(circle.tips[:, 0], circle.tips[:, 1])
    for together in _together(pixels, 1.6 * size):
        outward = circle.tips[together].mean(axis=0) - centre
        across, up = outward / max(float(np.hypot(*outward)), 1e-9)
        reach = 0.06 * plot.up.pixels / _ROOM + 0.5 * size
        x, y = pixels[together].mean(axis=0) + np.array([across, -up]) * reach
        align = "center" if abs(across) < 0.4 else "left" if across > 0 else "right"
        lines = [circle.names[n] for n in together]
        wide = max(text_width(line, size) for line in lines)
        if align == "right":  # and not over the axis's own numbers
            x = max(x, wide + 0.2 * size)
        first = float(y) + 0.35 * size + (-up - 1) * 0.5 * (len(lines) - 1) * _LINE * size
        style = {"align": align, "lineHeight": _LINE * size}
        yield words(lines, float(x), first, theme.ink, setting, **style)
    if not circle.group.refused:
        wind, origin = (plot.pixels(p[:1], p[1:])[0] for p in (circle.wind, np.zeros(2)))
        middle = (wind + origin) / 2
        anchor = Anchor("wind", text_width("wind", size), 1.1 * size, ((float(middle[0]), float(middle[1])),))
        shaft = along(np.vstack([origin, wind]), size / 3)
        rays = [along(np.vstack([origin, tip]), size / 3) for tip in pixels]
        room = plot.across.pixels
        for label in place([anchor], [np.vstack([shaft, *rays])], room, room, 0.7 * size):
            yield from plot.label(label, theme.series[1], setting, bold=False)


def _together(pixels: Array, near: float) -> list[list[int]]:
    """Return the legs by where their tips lie: those nearer than `near` to the first of them together."""
    groups: list[list[int]] = []
    for n, tip in enumerate(pixels):
        home = next((g for g in groups if float(np.hypot(*(pixels[g[0]] - tip))) < near), None)
        if home is None:
            groups.append([n])
        else:
            home.append(n)
    return groups


def alt(reduction: Reduction) -> str:
    """Return the chart in words, from its numbers."""
    parts = []
    for circle in _circles(reduction):
        left_over = "" if circle.group.refused else f" Left over, kt: {'; '.join(circle.names)}."
        parts.append(f"{_name(circle)}. {_answer(circle)}.{left_over}")
    return "Ground velocities of each leg group with the circle fitted. " + " ".join(parts)


CHART = Chart("velocity_circles", TITLE, drawn, subtitle, chart, alt)
