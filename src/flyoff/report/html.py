"""One self-contained HTML file of a document: no network, light and dark, paper and phone."""

import base64
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from importlib import resources
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from flyoff.charts.house import PLAIN, House
from flyoff.charts.style import DARK, LIGHT, PAGE, Look, looks
from flyoff.comparison.results import Comparison
from flyoff.core.figure import Figure
from flyoff.core.wording import AS_WRITTEN, Wording, bound
from flyoff.report.blocks import Document, Drawing
from flyoff.report.document import BASES


@dataclass(frozen=True)
class Printed:
    """A figure's parts as they are printed."""

    value: str
    u95: str
    unit: str


def printed(figure: Figure, *, signed: bool = False, wording: Wording = AS_WRITTEN) -> Printed:
    """Return a figure as it is printed, its parts apart; `signed` shows a plus too.

    Raises
    ------
    ValueError
        If the figure is missing: it has nothing to print.
    """
    value = figure.value
    if value is None:
        raise ValueError(f"{figure.key} is missing: {figure.missing}")
    text, _, interval = figure.number.partition(" ± ")
    if signed and value > 0 and any(digit in text for digit in "123456789"):
        text = f"+{text}"
    unit = "" if figure.dimension == "count" else figure.unit_label
    return Printed(wording.numerals(text), wording.numerals(interval), unit)


def anchor(key: str) -> str:
    """Return a figure's key as part of an HTML id, which may hold no white space."""
    return "_".join(key.split())


def _once() -> Callable[[str], str]:
    """Return a counter of places: the id of each next place where a figure is printed."""
    seen: dict[str, int] = {}

    def place(key: str) -> str:
        seen[key] = seen.get(key, 0) + 1
        name = f"at-{anchor(key)}"
        return name if seen[key] == 1 else f"{name}~{seen[key]}"

    return place


_POINTS = {
    "circle": '<circle cx="14" cy="6" r="3.6" fill="{c}"/>',
    "square": '<rect x="10.6" y="2.6" width="6.8" height="6.8" fill="{c}"/>',
    "triangle-up": '<path d="M14 1.8 18.2 9.6H9.8Z" fill="{c}"/>',
    "diamond": '<path d="M14 1.2 18.2 6 14 10.8 9.8 6Z" fill="{c}"/>',
    "cross": '<path d="M12.6 1.8h2.8v2.8h2.8v2.8h-2.8v2.8h-2.8V7.4H9.8V4.6h2.8Z" fill="{c}"/>',
    "triangle-down": '<path d="M14 10.2 18.2 2.4H9.8Z" fill="{c}"/>',
    "triangle-right": '<path d="M18.2 6 10.4 1.8V10.2Z" fill="{c}"/>',
}


def mark(look: Look) -> Markup:
    """Return an airplane's mark as the charts draw it: its line and its point."""
    dash = " ".join(map(str, look.dash))
    point = _POINTS[look.shape].format(c=look.colour)
    return Markup(
        f'<svg class="mark" width="28" height="12" viewBox="0 0 28 12" aria-hidden="true"><path d="M0 6H28"'
        f' stroke="{look.colour}" stroke-width="2" stroke-dasharray="{dash}"/>{point}</svg>'
    )


def dark_rules(house: House = PLAIN) -> str:
    """Return the rules that turn a chart's light colours into its dark ones."""
    light, dark = house.light, house.dark
    pairs = [
        (light.ground, dark.ground),
        *((getattr(light, role), getattr(dark, role)) for role in ("ink", "quiet", "grid", "rule")),
        *zip(light.series, dark.series, strict=True),
    ]
    return "".join(
        f'svg [{channel}="{on_light}"]{{{channel}:{on_dark}}}'
        for on_light, on_dark in pairs
        for channel in ("fill", "stroke")
    )


def marks_of(comparison: Comparison, house: House = PLAIN) -> dict[str, Markup]:
    """Return each airplane's mark by its key."""
    setting = house.setting(house.light, PAGE)
    return {key: mark(look) for key, look in looks(comparison, setting).items()}


def _unbroken(value: object) -> object:
    """Return what a template prints, a number of plain text kept with its unit."""
    return bound(value) if type(value) is str else value


def render(
    document: Document,
    drawings: Mapping[str, Drawing],
    marks: Mapping[str, Markup],
    house: House = PLAIN,
) -> str:
    """Return the whole file; `marks` are those of the airplanes that it names."""
    environment = Environment(
        loader=PackageLoader("flyoff.report"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
        finalize=_unbroken,
    )
    script = _asset("report.js").strip()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return environment.get_template("report.html.j2").render(
        document=document,
        drawings={
            name: Drawing(d.title, d.alt, Markup(d.wide), Markup(d.narrow)) for name, d in drawings.items()
        },
        marks=marks,
        bases=BASES,
        printed=partial(printed, wording=document.wording),
        place=_once(),
        anchor=anchor,
        href=lambda name: "#" + quote(name, safe="~!$&'()*+,;=:@/?-._"),
        style=Markup(_asset("report.css").replace("/* dark charts */", dark_rules(house))),
        script=Markup(script),
        script_digest=digest,
        paper=(LIGHT.ground, DARK.ground),
    )


def _asset(name: str) -> str:
    return resources.files("flyoff.report").joinpath("templates", name).read_text("utf-8")
