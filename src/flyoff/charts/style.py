"""The house style: typeface, colours, strokes and sizes, and nothing else that draws."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from flyoff.comparison.results import Comparison
from flyoff.core.caution import SHORT_CAUTION

FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"

Spec = dict[str, Any]


@dataclass(frozen=True)
class Theme:
    """Colours for one ground. Every colour of a theme is used for one thing only."""

    name: str
    ground: str | None
    """None is transparent."""
    ink: str
    quiet: str
    grid: str
    rule: str
    series: tuple[str, ...]
    band: float
    """Opacity of an uncertainty band."""


# Hues after Okabe and Ito, Color Universal Design (2008), in an order of our own; darkened on
# light and lightened on dark grounds until text in them is legible (contrast 4.5 or more).
LIGHT = Theme(
    "light",
    "#ffffff",
    "#1c2530",
    "#56616d",
    "#e4e7ea",
    "#8b95a0",
    ("#0b64a0", "#b8480a", "#0a7a5c", "#9c3f7c", "#806000", "#2f7d95", "#5b5bb5"),
    0.16,
)
DARK = Theme(
    "dark",
    "#12181f",
    "#eceae4",
    "#a9b2bc",
    "#2a333d",
    "#6d7884",
    ("#62b5f2", "#ff9257", "#45cfa6", "#eb9dca", "#f0bf42", "#9fd8ea", "#b9b6ff"),
    0.20,
)
FILM = Theme("film", None, "#ffffff", "#d5dae0", "#55606c", "#aab3bd", DARK.series, 0.26)

DASHES: tuple[tuple[int, ...], ...] = ((1, 0), (8, 3), (3, 2), (9, 3, 2, 3), (5, 4), (12, 3), (2, 4))
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down", "triangle-right")


@dataclass(frozen=True)
class Format:
    """A size of canvas and what can be read on it, in pixels."""

    name: str
    width: int
    height: int
    text: float
    line: float
    fixed: bool = False
    """Whether the height holds whatever is drawn, as a screen's does; a page grows."""

    @property
    def narrow(self) -> bool:
        """Whether panels must stand below one another."""
        return self.width < 30 * self.text


PAGE = Format("page", 760, 470, 13, 2.2)
PHONE = Format("phone", 358, 400, 12.5, 2.0)
SCREEN = Format("screen", 1920, 1080, 29, 5.0, fixed=True)


@dataclass(frozen=True)
class Setting:
    """How a definition is to be drawn."""

    theme: Theme = LIGHT
    format: Format = PAGE
    titled: bool = True


@dataclass(frozen=True)
class Look:
    """What tells one airplane from another: never the colour alone."""

    name: str
    colour: str
    dash: tuple[int, ...]
    shape: str


def looks(comparison: Comparison, setting: Setting) -> dict[str, Look]:
    """Return each airplane's look by its key, in the order of the comparison."""
    series = setting.theme.series
    unit = setting.format.line / PAGE.line
    found = {}
    for number, entry in enumerate(comparison.entries):
        turn = number // len(series)
        place = number % len(series)
        dash = DASHES[(place + turn) % len(DASHES)]
        shape = SHAPES[(place + turn) % len(SHAPES)]
        scaled = tuple(round(d * unit) for d in dash)
        found[entry.key] = Look(entry.name, series[place], scaled, shape)
    return found


@dataclass(frozen=True)
class Frame:
    """A canvas and the plotting area left on it."""

    width: float
    height: float
    left: float
    top: float
    right: float
    bottom: float

    @property
    def plot_width(self) -> float:
        """Width of the plotting area."""
        return self.width - self.left - self.right

    @property
    def plot_height(self) -> float:
        """Height of the plotting area."""
        return self.height - self.top - self.bottom


FOOT = 1.5
"""Lines below a titled chart, for the caution."""


def frame(setting: Setting, left: float, right: float, bottom: float = 3.6) -> Frame:
    """Return the frame with margins in multiples of the text size; title and caution come on top."""
    text = setting.format.text
    top = 6.4 if setting.titled else 2.4
    bottom += FOOT if setting.titled else 0.0
    return Frame(
        setting.format.width,
        setting.format.height,
        left * text,
        top * text,
        right * text,
        bottom * text,
    )


def config(setting: Setting) -> Spec:
    """Return the settings that every chart shares."""
    theme, text = setting.theme, setting.format.text
    stroke = max(1.0, text / 13)
    return {
        "aria": False,
        "font": FONT,
        "view": {"stroke": None},
        "axis": {
            "labelColor": theme.quiet,
            "titleColor": theme.quiet,
            "labelFontSize": text,
            "titleFontSize": text,
            "titleFontWeight": "normal",
            "titlePadding": 0.7 * text,
            "labelPadding": 0.4 * text,
            "gridColor": theme.grid,
            "gridWidth": stroke,
            "domain": False,
            "ticks": False,
            "labelFlush": False,
            "labelOverlap": False,
        },
        "text": {"font": FONT, "fontSize": text, "color": theme.ink},
    }


def definition(setting: Setting, inner: Frame, title: str, subtitle: str, body: Spec) -> Spec:
    """Return a whole definition: `body` on its canvas, with a title where one is wanted."""
    if setting.titled:
        first = body["concat"][0] if "concat" in body else body
        first["layer"] = [*_title(setting, inner, title, subtitle), *first["layer"]]
    return {
        "$schema": SCHEMA,
        "autosize": {"type": "none"},
        "background": setting.theme.ground or "transparent",
        "padding": {"left": inner.left, "top": inner.top, "right": inner.right, "bottom": inner.bottom},
        "config": config(setting),
        "usermeta": {"width": round(inner.width), "height": round(inner.height)},
        **body,
    }


def _title(setting: Setting, inner: Frame, title: str, subtitle: str) -> list[Spec]:
    """Return title and caution as marks: a renderer's own title moves with the axes."""
    text, theme = setting.format.text, setting.theme
    x, y = 0.8 * text - inner.left, 1.9 * text - inner.top
    name = shortened(title, inner.width - 2 * text, 1.35 * text, bold=True)
    lines = wrapped(subtitle, inner.width - 2 * text, 0.95 * text)[:2]
    foot = inner.height - inner.top - 0.7 * text
    caution = shortened(SHORT_CAUTION, inner.width - 2 * text, 0.8 * text)
    return [
        words([caution], x, foot, theme.quiet, setting, fontSize=0.8 * text),
        words([name], x, y, theme.ink, setting, fontSize=1.35 * text, fontWeight="bold"),
        words(lines, x, y + 1.6 * text, theme.quiet, setting, fontSize=0.95 * text),
    ]


def words(lines: Sequence[str], x: float, y: float, colour: str, setting: Setting, **style: object) -> Spec:
    """Return lines of text at a place in pixels from the plotting area's corner, free of its axes."""
    mark = {
        "type": "text",
        "text": list(lines),
        "x": x,
        "y": y,
        "color": colour,
        "align": "left",
        "baseline": "alphabetic",
        "lineHeight": 1.25 * setting.format.text,
    }
    return {"data": {"values": [{}]}, "mark": {**mark, **style}}


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return about how wide a text is set, on the wide side."""
    narrow = sum(c in "iljtf.,:;'|!()[] I1" for c in text)
    wide = sum(c in "mwMW—%@" for c in text)
    units = 0.57 * (len(text) - narrow - wide) + 0.34 * narrow + 0.88 * wide
    return units * size * (1.07 if bold else 1.0)


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Return a text broken into lines that fit a width."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Return a text cut to a width, with an ellipsis where it was cut."""
    if text_width(text, size, bold=bold) <= width:
        return text
    kept = text
    while kept and text_width(kept + "…", size, bold=bold) > width:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def data(rows: Sequence[Spec]) -> Spec:
    """Return inline data."""
    return {"values": list(rows)}
