"""What each leg leaves over from its group's circle, with the 95 % interval of one leg's ground speed."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from flyoff.charts import dots
from flyoff.charts.chart import Chart, members_words, signed
from flyoff.charts.plot import Plot
from flyoff.charts.scales import Scale, round_scale
from flyoff.charts.style import FOOT, Frame, Look, Setting, Spec, definition, shortened, text_width, words
from flyoff.core.draws import COVERAGE_95
from flyoff.core.units import degree, kt
from flyoff.reduction.groups import LegGroup
from flyoff.reduction.legs import LEAST_LEGS
from flyoff.reduction.run import Reduction

TITLE = "What each leg leaves over"
_ROW, _HEADING = 1.75, 2.3
_TOP, _FOOT = 2.0, 2.2


@dataclass(frozen=True)
class _Leg:
    """A leg's point, its course and its residual with half the interval, in knots."""

    member: int
    course_deg: float
    residual: float
    half: float

    @property
    def beyond(self) -> bool:
        """Whether its interval leaves zero out."""
        return abs(self.residual) > self.half

    def name(self, *, short: bool = False) -> str:
        """Return what stands beside it."""
        course = f"{self.course_deg:03.0f}°"
        return f"{self.member}, {course}" if short else f"point {self.member}, course {course}"


@dataclass(frozen=True)
class _Line:
    """A group's heading or one of its legs; `y` in text sizes from the upper edge."""

    y: float
    heading: str = ""
    leg: _Leg | None = None


def drawn(reduction: Reduction) -> bool:
    """Tell whether any group's legs leave something over."""
    return any(line.leg is not None for line in _lines(reduction)[0])


def subtitle(reduction: Reduction) -> str:
    """Return what the marks mean."""
    said = [
        "A leg’s airspeed, by its ground velocity and the wind found, less its group’s",
        "whiskers hold 95 %",
    ]
    three = [g for g in reduction.legs if _is_decided(g)]
    if three:
        who = " and ".join(members_words(group.members) for group in three)
        said.append(f"points {who} leave nothing over: three legs for three unknowns")
    return "; ".join(said)


def _is_decided(group: LegGroup) -> bool:
    """Tell whether a group has as many unknowns as legs, and so no residual that says anything."""
    return len(group.members) == LEAST_LEGS


def _legs(reduction: Reduction, group: LegGroup) -> list[_Leg]:
    """Return a group's legs with the limits they were judged by; none where it has no finite answer."""
    solution, found = group.solution, []
    legs = zip(group.members, solution.residuals_m_s, solution.residuals_u_m_s, strict=False)
    for member, residual, u in legs:
        ground = reduction.points[member].readings.ground_m_s
        if ground is not None and math.isfinite(residual):
            course = math.atan2(ground[1], ground[0]) / degree % 360
            found.append(_Leg(member, course, float(residual) / kt, COVERAGE_95 * float(u) / kt))
    return found


def _lines(reduction: Reduction) -> tuple[list[_Line], float]:
    """Return the lines from the top down, and the whole height in text sizes."""
    lines: list[_Line] = []
    y = 0.8
    for group in reduction.legs:
        legs = [] if _is_decided(group) else _legs(reduction, group)
        if not legs:
            continue
        refused = " (refused)" if group.refused else ""
        lines.append(_Line(y, f"Points {members_words(group.members)}{refused}"))
        lines += [_Line(y + _ROW * (number + 1), leg=leg) for number, leg in enumerate(legs)]
        y = lines[-1].y + _HEADING
    return lines, y - _HEADING + 1.0


def chart(reduction: Reduction, setting: Setting) -> Spec:
    """Return the definition.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    lines, tall = _lines(reduction)
    head, foot = (5.0, _FOOT + FOOT) if setting.titled else (0.3, _FOOT)
    whole = head + _TOP + tall + foot
    form = setting.format
    size = min(form.text, form.height / whole) if form.fixed else form.text
    setting = replace(setting, format=replace(form, text=size))
    left = (
        0.8 * size
        + max(text_width(line.leg.name(short=form.narrow), size) for line in lines if line.leg)
        + 0.9 * size
    )
    right = (6.4 if form.narrow else 12.0) * size
    inner = Frame(form.width, whole * size, left, (head + _TOP) * size, right, foot * size)
    values = [leg.residual + way * leg.half for line in lines if (leg := line.leg) for way in (-1, 1)]
    plot = Plot(
        round_scale([0.0, *values], inner.plot_width, 4, snap=False),
        Scale(0.0, tall, 1.0, tall * size),
        "",
        "",
        left,
    )
    body = {
        "width": inner.plot_width,
        "height": tall * size,
        "layer": list(_layers(lines, tall, plot, setting, right - 0.4 * size)),
    }
    return definition(setting, inner, TITLE, subtitle(reduction), body)


def _layers(lines: list[_Line], tall: float, plot: Plot, setting: Setting, room: float) -> Iterator[Spec]:
    size, theme = setting.format.text, setting.theme
    edge = 0.8 * size - plot.left
    yield words(["Residual, kt"], 0, -0.7 * size, theme.quiet, setting)
    zero = [{"x": 0.0, "y": 0.0}, {"x": 0.0, "y": tall}]
    yield plot.layer(zero, {"type": "line", "color": theme.rule, "strokeWidth": setting.format.line / 2})
    for line in lines:
        y = line.y * size + 0.35 * size
        whole = plot.left + plot.across.pixels + room - size
        if line.leg is None and line.heading:
            heading = shortened(line.heading, whole, size, bold=True)
            yield words([heading], edge, y, theme.ink, setting, fontWeight="bold")
        elif line.leg is not None:
            yield from _leg_layers(line.leg, tall - line.y, y, plot, setting, room)


def _leg_layers(leg: _Leg, at: float, y: float, plot: Plot, setting: Setting, room: float) -> Iterator[Spec]:
    size, theme = setting.format.text, setting.theme
    name = leg.name(short=setting.format.narrow)
    colour = theme.series[1] if leg.beyond else theme.series[0]
    look = Look(name, colour, (1, 0), "diamond" if leg.beyond else "circle")
    yield words([name], 0.8 * size - plot.left, y, theme.ink, setting)
    said = signed(dots.number(leg.residual, leg.half))
    said += ", beyond 95 %" if leg.beyond and not setting.format.narrow else ""
    dot = dots.Dot(at, look, leg.residual, leg.half, said)
    yield from dots.layers(plot, [dot], setting, room, column=True)


def alt(reduction: Reduction) -> str:
    """Return the chart in words, from its numbers."""
    parts: list[str] = []
    for line in _lines(reduction)[0]:
        if line.leg is None:
            parts.append(f"{line.heading}:")
        else:
            beyond = ", beyond 95 %" if line.leg.beyond else ""
            parts.append(
                f"{line.leg.name()}, {signed(dots.number(line.leg.residual, line.leg.half))} kt{beyond};"
            )
    return f"What each leg leaves over. {' '.join(parts)}".rstrip(";.") + "."


CHART = Chart("residuals", TITLE, drawn, subtitle, chart, alt)
