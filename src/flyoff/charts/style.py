"""The house style: typeface, colours, strokes and sizes, and nothing else that draws."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flyoff.charts.language import ENGLISH, Language, translated
from flyoff.charts.restated import restated
from flyoff.charts.spec import Spec as Spec
from flyoff.comparison.results import Comparison
from flyoff.core.caution import SHORT_CAUTION
from flyoff.core.wording import AS_WRITTEN, Wording, whole_words

FONT = "Liberation Sans"
FALLBACKS = "Arial, Helvetica, sans-serif"
SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
PX_PER_MM = 96 / 25.4
"""CSS pixels, in which every definition is drawn (CSS Values and Units 3, 6.2)."""
PX_PER_POINT = 96 / 72


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
    halo: str | None = None
    """A soft edge round words, where the ground is a picture that nobody knows yet."""

    def over(self, ground: str) -> "Theme":
        """Return the theme on a ground that is known, where words need no edge."""
        return replace(self, ground=ground, halo=None)


# The first four hues after Okabe and Ito, Color Universal Design (2008), darkened on light and lightened
# on dark grounds until words in them are legible (contrast 4.5 or more); all seven chosen so that no two
# come nearer than 10 in CIE L*a*b* to any eyes, with deficient colour vision too.
LIGHT = Theme(
    "light",
    "#ffffff",
    "#1c2530",
    "#56616d",
    "#e4e7ea",
    "#8b95a0",
    ("#0b64a0", "#b8480a", "#0a7a5c", "#9c3f7c", "#6b3a0f", "#9133ee", "#7d0d2b"),
    0.16,
)
DARK = Theme(
    "dark",
    "#12181f",
    "#eceae4",
    "#a9b2bc",
    "#2a333d",
    "#6d7884",
    ("#62b5f2", "#ff9257", "#45cfa6", "#eb9dca", "#ffe680", "#b07cff", "#e06060"),
    0.20,
)
FILM = Theme(
    "film",
    None,
    "#ffffff",
    "#dde2e7",
    "rgba(255, 255, 255, 0.28)",
    "#b9c1c9",
    ("#8cc8ff", "#ffb07a", "#74e0b8", "#ffb9e0", "#fff08a", "#b890ff", "#f08484"),
    0.30,
    "#0b0f14",
)
"""For dark pictures: lighter than on a dark page, for a picture is never as dark as that."""
FILM_LIGHT = Theme(
    "film-light",
    None,
    "#10161d",
    "#3d4751",
    "rgba(16, 22, 29, 0.18)",
    "#6d7883",
    LIGHT.series,
    0.24,
    "#ffffff",
)
"""For light pictures."""
THEMES = (LIGHT, DARK, FILM, FILM_LIGHT)

DASHES: tuple[tuple[int, ...], ...] = ((1, 0), (8, 3), (3, 2), (9, 3, 2, 3), (5, 4), (12, 3), (2, 4))
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down", "triangle-right")


@dataclass(frozen=True)
class Format:
    """A size of canvas and what can be read on it, in pixels; the margin lies around it."""

    name: str
    width: float
    height: float
    text: float
    line: float
    fixed: bool = False
    """Whether the height holds whatever is drawn, as a screen's does; a page grows."""
    margin: tuple[float, float] = (0.0, 0.0)
    """What stays free to the left and right, above and below."""
    paper: bool = False
    """Whether its size is one in millimetres."""

    @property
    def canvas(self) -> tuple[float, float]:
        """Width and height with the margin; the height of one that grows is its least."""
        return self.width + 2 * self.margin[0], self.height + 2 * self.margin[1]

    @property
    def narrow(self) -> bool:
        """Whether panels must stand below one another."""
        return self.width < 36 * self.text


PAGE = Format("page", 760, 470, 13, 2.2)
PHONE = Format("phone", 358, 400, 12.5, 2.0)
# Graphics keep 5 % from each edge: EBU R 95 (graphics safe area, 16:9); SMPTE ST 2046-1 (safe title area).
# At 32 px, words are 14 px high to a phone held across, 844 px wide (common practice, no source).
SCREEN = Format("screen", 1728, 972, 32, 5.2, fixed=True, margin=(96, 54))


def column(name: str, width_mm: float, text_pt: float) -> Format:
    """Return the format of a column of print; a narrow one is taller than it is wide."""
    width, text = width_mm * PX_PER_MM, text_pt * PX_PER_POINT
    narrow = width < 36 * text
    return Format(name, width, round((1.05 if narrow else 0.56) * width), text, 0.15 * text, paper=True)


@dataclass(frozen=True)
class Setting:
    """How a definition is to be drawn."""

    theme: Theme = LIGHT
    format: Format = PAGE
    titled: bool = True
    wording: Wording = AS_WRITTEN
    font: str = FONT
    screen: int | None = None
    """Which of a chart's screens, where it needs more than one; None draws all of it."""
    language: Language = ENGLISH


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


def second_line(setting: Setting) -> float:
    """Return the room for a second number at each tick, where both systems of units are shown."""
    return 1.25 if setting.wording.system == "both" else 0.0


def frame(setting: Setting, left: float, right: float, bottom: float = 3.6) -> Frame:
    """Return the frame with margins in multiples of the text size; title and caution come on top."""
    text = setting.format.text
    top = 6.4 if setting.titled else 2.4
    bottom += FOOT if setting.titled else 0.0
    bottom += second_line(setting)
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
        "font": f"{setting.font}, {FALLBACKS}",
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
        "text": {"font": f"{setting.font}, {FALLBACKS}", "fontSize": text, "color": theme.ink},
    }


def definition(setting: Setting, inner: Frame, title: str, subtitle: str, body: Spec) -> Spec:
    """Return a whole definition: `body` on its canvas, with a title where one is wanted.

    Numbers and units in `body` are put as the house wants them; a canvas that may grow
    does so for words that need more lines than it has.
    """
    body = restated(body, setting.wording, setting.format.text)
    body = translated(body, setting.language)
    title = setting.language.text(title)
    if setting.titled:
        lines, caution = _lines(setting, inner, subtitle)
        if not setting.format.fixed:
            text = setting.format.text
            head = max(0.0, 1.25 * (len(lines) - 1) - 0.45) * text
            foot = text * (len(caution) - 1)
            inner = replace(
                inner, height=inner.height + head + foot, top=inner.top + head, bottom=inner.bottom + foot
            )
        first = body["concat"][0] if "concat" in body else body
        first["layer"] = [*_title(setting, inner, title, lines, caution), *first["layer"]]
    if setting.format.fixed and inner.height < setting.format.height:
        spare = setting.format.height - inner.height
        inner = replace(inner, height=setting.format.height, bottom=inner.bottom + spare)
    across, down = setting.format.margin
    margins = {"left": inner.left + across, "top": inner.top + down}
    return {
        "$schema": SCHEMA,
        "autosize": {"type": "none"},
        "background": setting.theme.ground or "transparent",
        "padding": {**margins, "right": inner.right + across, "bottom": inner.bottom + down},
        "config": config(setting),
        "usermeta": {
            "width": inner.width + 2 * across,
            "height": round(inner.height + 2 * down),
            "paper": setting.format.paper,
            "halo": setting.theme.halo,
            "language": setting.language.tag,
            "numerals": [setting.wording.decimal, setting.wording.thousands],
        },
        **body,
    }


def _lines(setting: Setting, inner: Frame, subtitle: str) -> tuple[list[str], list[str]]:
    """Return the lines of subtitle and caution; a fixed canvas has two for the one, one for the other."""
    text, room = setting.format.text, inner.width - 1.6 * setting.format.text
    lines = evenly(setting.language.text(setting.wording.text(subtitle)), room, 0.95 * text)
    warned = setting.language.text(SHORT_CAUTION)
    caution = evenly(warned, room, 0.8 * text)
    if setting.format.fixed:
        rest = " ".join(lines[1:])
        lines = [*lines[:1], *([shortened(rest, room, 0.95 * text)] if rest else [])]
        caution = [shortened(warned, room, 0.8 * text)]
    return lines, caution


def _title(setting: Setting, inner: Frame, title: str, lines: list[str], caution: list[str]) -> list[Spec]:
    """Return title and caution as marks: a renderer's own title moves with the axes."""
    text, theme = setting.format.text, setting.theme
    # A margin round the canvas is room enough above the title, and leaves it to the lines below.
    x, y = 0.8 * text - inner.left, (1.3 if setting.format.fixed else 1.9) * text - inner.top
    name = shortened(title, inner.width - 2 * text, 1.35 * text, bold=True)
    foot = inner.height - inner.top - (0.7 + len(caution) - 1) * text
    small = {"fontSize": 0.8 * text, "lineHeight": text}
    return [
        words(caution, x, foot, theme.quiet, setting, **small),
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
    narrow = sum(c in "iljtf.,:;'|!()[] I" for c in text)
    wide = sum(c in "mwMW—%@" for c in text)
    units = 0.57 * (len(text) - narrow - wide) + 0.34 * narrow + 0.88 * wide
    return units * size * (1.07 if bold else 1.0)


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Return a text broken into lines that fit a width."""
    lines: list[str] = []
    for word in whole_words(text):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def evenly(text: str, width: float, size: float) -> list[str]:
    """Return a text broken into as few lines as fit a width, none of them a word or two left over."""
    lines = wrapped(text, width, size)
    if len(lines) < 2:
        return lines
    narrower = [
        wrapped(text, share * text_width(text, size) / len(lines), size)
        for share in (1.02, 1.1, 1.2, 1.35, 1.5)
    ]
    return next((even for even in narrower if len(even) == len(lines)), lines)


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
