"""A plotting area of two axes, and the marks that every subject draws on one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.charts.labels import Label
from flyoff.charts.scales import Scale
from flyoff.charts.style import Look, Setting, Spec
from flyoff.core.typing import Array


@dataclass(frozen=True)
class Plot:
    """Two axes with their titles; `left` is the margin that the vertical title may use.

    Without a vertical title there is no vertical axis: the rows say their names themselves.
    """

    across: Scale
    up: Scale
    x_title: str
    y_title: str
    left: float
    title_at: tuple[float, float] | None = None
    """Where the vertical title is set, in pixels from the upper left corner, if not by `left`."""

    @property
    def x(self) -> Spec:
        """The horizontal channel."""
        return self.across.encoding("x", self.x_title)

    @property
    def y(self) -> Spec:
        """The vertical channel, its title lying above the axis."""
        if not self.y_title:
            return {**self.up.encoding("y", None), "axis": None}
        across, down = self.title_at or (-0.8 * self.left, -0.2 * self.left)
        placed = {
            "titleAngle": 0,
            "titleAlign": "left",
            "titleBaseline": "bottom",
            "titleX": across,
            "titleY": down,
        }
        return self.up.encoding("y", self.y_title, **placed)

    def pixels(self, x: Array, y: Array) -> Array:
        """Return values as pixels from the upper left corner, shape (n, 2)."""
        across = [self.across.pixel(float(v)) for v in x]
        down = [self.up.pixels - self.up.pixel(float(v)) for v in y]
        return np.column_stack([across, down])

    def layer(self, rows: Sequence[Spec], mark: Spec, channels: Spec | None = None) -> Spec:
        """Return one layer of data with fields ``x`` and ``y``; lines join the rows in their order."""
        encoding: Spec = {"x": self.x, "y": self.y, **(channels or {})}
        if mark["type"] == "line":
            rows = [{**row, "order": number} for number, row in enumerate(rows)]
            encoding["order"] = {"field": "order", "type": "quantitative"}
        clip = mark["type"] in {"line", "area"}
        return {"data": {"values": list(rows)}, "mark": {"clip": clip, **mark}, "encoding": encoding}

    def label(self, label: Label, colour: str, setting: Setting, *, bold: bool = True) -> Iterator[Spec]:
        """Yield a placed label, and a thin leader where it lies away from its point."""

        def at(x: float, y: float) -> Spec:
            return {"x": self.across.value(x), "y": self.up.value(self.up.pixels - y)}

        if label.distance > 0.9 * setting.format.text:
            leader = {
                "type": "line",
                "clip": False,
                "color": colour,
                "strokeWidth": setting.format.line / 2.5,
            }
            yield self.layer([at(*label.point), at(*label.edge)], leader)
        yield text(self, [{**at(label.x, label.y), "text": label.text}], colour, bold=bold)


def text(plot: Plot, rows: Sequence[Spec], colour: str, *, bold: bool = False, align: str = "center") -> Spec:
    """Return texts at their places."""
    mark = {
        "type": "text",
        "color": colour,
        "align": align,
        "baseline": "middle",
        "fontWeight": "bold" if bold else "normal",
    }
    return plot.layer(rows, mark, {"text": {"field": "text", "type": "nominal"}})


def whisker(plot: Plot, row: Spec, colour: str, setting: Setting) -> Iterator[Spec]:
    """Yield the 95 % interval of a row with fields ``low``, ``high`` and ``y``, with its end strokes."""
    width = 0.6 * setting.format.line
    across = {"x": {**plot.x, "field": "low"}, "x2": {"field": "high"}}
    yield plot.layer([row], {"type": "rule", "color": colour, "strokeWidth": width}, across)
    ends = [{"x": row[end], "y": row["y"]} for end in ("low", "high")]
    size = 0.5 * setting.format.text
    yield plot.layer(
        ends, {"type": "tick", "orient": "vertical", "color": colour, "size": size, "thickness": width}
    )


def point(look: Look, setting: Setting, scale: float = 1.0) -> Spec:
    """Return the mark of one airplane's points."""
    return {
        "type": "point",
        "shape": look.shape,
        "filled": True,
        "opacity": 1,
        "color": look.colour,
        "size": 18 * scale * setting.format.line**2,
    }
