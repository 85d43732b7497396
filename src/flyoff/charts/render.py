"""From a definition to SVG and PNG: no network, the same bytes each time, silent faults refused."""

import re
from collections.abc import Iterator, Mapping
from typing import Any
from xml.etree import ElementTree

import vl_convert

from flyoff.charts.style import Spec

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
    drawn = vl_convert.vegalite_to_svg(definition, vl_version=VEGA_LITE, allowed_base_urls=[])
    root = ElementTree.fromstring(drawn)
    width, height = str(definition["usermeta"]["width"]), str(definition["usermeta"]["height"])
    if root[0].tag == f"{{{_SVG}}}rect":
        root.remove(root[0])
    if definition["background"] != "transparent":
        ground = {"width": width, "height": height, "fill": definition["background"]}
        root.insert(0, ElementTree.Element(f"{{{_SVG}}}rect", ground))
    _tidy(root, prefix)
    root.attrib.clear()
    root.attrib.update(
        {
            "width": width,
            "height": height,
            "viewBox": f"0 0 {width} {height}",
            "role": "img",
            "aria-label": alt,
        }
    )
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


def png(drawn: str, scale: float = 1.0) -> bytes:
    """Return an SVG of `svg` as PNG, `scale` times its size in pixels."""
    return bytes(vl_convert.svg_to_png(drawn, scale=scale))
