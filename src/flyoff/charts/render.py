"""From a definition to SVG and PNG: no network, the same bytes each time, silent faults refused."""

import re
from collections.abc import Iterator, Mapping
from typing import Any
from xml.etree import ElementTree

import vl_convert

from flyoff.charts.language import SOURCE
from flyoff.charts.spec import Spec
from flyoff.charts.style import PX_PER_MM

VEGA_LITE = "6.4"
_SVG = "http://www.w3.org/2000/svg"
_LINK = re.compile(r"url\(#([^)]+)\)")


class UnknownField(ValueError):
    """A field that the data does not have: the renderer would draw nothing and say nothing."""


def check_fields(definition: Spec) -> None:
    """Refuse a definition whose encodings name a field that its data lacks.

    Raises
    ------
    UnknownField
        Naming the field and the fields there are.
    """
    for fields, rows in _uses(definition, ()):
        for name in fields:
            if lacking := next((row for row in rows if name not in row), None):
                raise UnknownField(f"no field '{name}' in data with {', '.join(sorted(lacking))}")
        if fields and not rows:
            raise UnknownField(f"no data for the fields {', '.join(sorted(fields))}")


def _uses(spec: Mapping[str, Any], rows: Any) -> Iterator[tuple[set[str], Any]]:
    rows = spec["data"].get("values", ()) if "data" in spec else rows
    channels = spec.get("encoding", {}).values()
    named = [part for channel in channels for part in (channel if isinstance(channel, list) else [channel])]
    fields = {part["field"] for part in named if "field" in part}
    if fields:
        yield fields, rows
    for parts in ("layer", "concat", "hconcat", "vconcat"):
        for part in spec.get(parts, ()):
            yield from _uses(part, rows)


def svg(definition: Spec, alt: str, prefix: str) -> str:
    """Return a definition as SVG of its exact size, described by `alt`, its ids beginning with `prefix`.

    Raises
    ------
    UnknownField
        If it draws a field that its data lacks.
    """
    check_fields(definition)
    meta = definition["usermeta"]
    decimal, thousands = meta["numerals"]
    numerals = {"decimal": decimal, "thousands": thousands, "grouping": [3], "currency": ["", ""]}
    drawn = vl_convert.vegalite_to_svg(
        definition, vl_version=VEGA_LITE, allowed_base_urls=[], format_locale=numerals
    )
    root = ElementTree.fromstring(drawn)
    width, height = (f"{meta[side]:.8g}" for side in ("width", "height"))
    if root[0].tag == f"{{{_SVG}}}rect":
        root.remove(root[0])
    if definition["background"] != "transparent":
        ground = {"width": width, "height": height, "fill": definition["background"]}
        root.insert(0, ElementTree.Element(f"{{{_SVG}}}rect", ground))
    _tidy(root, prefix)
    if meta["halo"]:
        _edge(root, meta["halo"])
    root.attrib.clear()
    root.attrib.update(
        {
            "width": _size(meta["width"], paper=meta["paper"]),
            "height": _size(meta["height"], paper=meta["paper"]),
            "viewBox": f"0 0 {width} {height}",
            "role": "img",
            "aria-label": alt,
        }
    )
    if meta["language"] != SOURCE:
        for part in root:  # not the root itself: its description is English
            part.set("lang", meta["language"])
    ElementTree.register_namespace("", _SVG)
    return ElementTree.tostring(root, encoding="unicode")


def _tidy(root: ElementTree.Element, prefix: str) -> None:
    """Drop what only the renderer's own scripts read, and number ids from one whatever was drawn before."""
    made = [element.attrib["id"] for element in root.iter() if "id" in element.attrib]
    names = {old: f"{prefix}-{number}" for number, old in enumerate(dict.fromkeys(made), 1)}
    for element in root.iter():
        for name, text in list(element.attrib.items()):
            if name in {"class", "role", "pointer-events", "aria-hidden", "aria-roledescription"}:
                del element.attrib[name]
            elif name == "id":
                element.attrib[name] = names[text]
            elif name in {"clip-path", "fill", "stroke", "mask"}:
                element.attrib[name] = _LINK.sub(lambda m: f"url(#{names[m[1]]})", text)


def _size(pixels: float, *, paper: bool) -> str:
    return f"{pixels / PX_PER_MM:.6g}mm" if paper else f"{pixels:.8g}"


def _edge(root: ElementTree.Element, colour: str) -> None:
    """Set a soft edge behind all words, so that they can be read on any picture."""
    for element in root.iter(f"{{{_SVG}}}text"):
        size = float(element.get("font-size", "16").removesuffix("px"))
        element.attrib |= {
            "paint-order": "stroke",
            "stroke": colour,
            "stroke-opacity": "0.75",
            "stroke-width": f"{0.16 * size:.3g}",
            "stroke-linejoin": "round",
        }


def png(drawn: str, scale: float = 1.0) -> bytes:
    """Return an SVG of `svg` as PNG, `scale` times its size in pixels."""
    return bytes(vl_convert.svg_to_png(drawn, scale=scale))
