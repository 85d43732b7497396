"""A definition in the house's units: its axes on round numbers of them, its words in them.

What is drawn keeps its place; only what is said beside it changes.
"""

import math
import re
from collections.abc import Mapping
from typing import Any

from flyoff.charts.scales import Scale, ticked_step
from flyoff.charts.spec import Spec
from flyoff.core.units import Unit, UnknownUnit, find_unit
from flyoff.core.wording import Wording

_TITLE = re.compile(r"(?P<name>.+), (?P<unit>[^,()]+?)(?P<more> \(.*\))?")


def restated(body: Spec, wording: Wording, text: float) -> Spec:
    """Return a definition with its axes and words as `wording` has them, its words `text` pixels high."""
    if wording.plain:
        return body
    changed = dict(body)
    for parts in ("layer", "concat", "hconcat", "vconcat"):
        if parts in body:
            changed[parts] = [restated(part, wording, text) for part in body[parts]]
    if "encoding" in body:
        changed["encoding"] = {
            name: _channel(name, channel, wording, text) for name, channel in body["encoding"].items()
        }
    mark = body.get("mark")
    if isinstance(mark, dict) and "text" in mark:
        changed["mark"] = {**mark, "text": [_said(line, wording) for line in mark["text"]]}
    field = _text_field(body)
    if field:
        rows = [{**row, field: _said(row[field], wording)} for row in body["data"]["values"]]
        changed["data"] = {"values": rows}
    return changed


def _said(text: Any, wording: Wording) -> Any:
    """Return a label as the house says it."""
    if not isinstance(text, str):
        return text
    return wording.numerals(wording.label(text))


def _text_field(body: Mapping[str, Any]) -> str:
    channel = body.get("encoding", {}).get("text", {})
    return str(channel.get("field", "")) if isinstance(channel, dict) else ""


def _channel(name: str, channel: Any, wording: Wording, text: float) -> Any:
    axis = channel.get("axis") if isinstance(channel, dict) else None
    if not axis or "labelExpr" in axis or not isinstance(axis.get("title"), str):
        return channel
    titled = _TITLE.fullmatch(axis["title"])
    try:
        written = find_unit(titled["unit"] if titled else "?")
    except UnknownUnit:
        return channel
    assert titled is not None
    label = written.label
    first, second = wording.unit(label), wording.second(wording.unit(label))
    if first == label and not second:
        return channel
    low, high = channel["scale"]["domain"]
    unit = find_unit(first, written.dimension)
    ticks = _round_ticks(unit, written, low, high, len(axis["values"])) if first != label else axis["values"]
    said = _expression(unit, written, _decimals(unit, written, ticks))
    title = f"{titled['name']}, {first}"
    if second:
        other = find_unit(second, written.dimension)
        beside = _expression(other, written, _decimals(other, written, ticks))
        said = f"datum.value === 0 ? '0' : [{said}, {beside}]"
        title = f"{title} ({second})"
        axis = {**axis, "labelOffset": -0.6 * text, "labelLineHeight": 1.15 * text} if name == "y" else axis
    title += titled["more"] or ""
    return {**channel, "axis": {**axis, "title": title, "values": ticks, "labelExpr": said}}


def _round_ticks(unit: Unit, written: Unit, low: float, high: float, about: int) -> list[float]:
    """Return round numbers of `unit` along an axis drawn in `written`, in the latter."""
    ends = [unit.from_si(written.to_si(end)) for end in (low, high)]
    step = ticked_step(ends[0], ends[1], max(about - 1, 2))
    return [written.from_si(unit.to_si(tick)) for tick in Scale(ends[0], ends[1], step, 1.0).ticks]


def _decimals(unit: Unit, written: Unit, ticks: list[float]) -> int:
    """Return the decimals that tell the ticks apart, none finer than a tenth of their step."""
    if len(ticks) < 2:
        return 0
    step = abs(unit.from_si(written.to_si(ticks[1])) - unit.from_si(written.to_si(ticks[0])))
    return max(0, -math.floor(math.log10(step) + 1e-9))


def _expression(unit: Unit, written: Unit, decimals: int) -> str:
    factor = written.factor / unit.factor
    offset = (written.offset - unit.offset) / unit.factor
    return f"format(datum.value * {factor!r} + {offset!r}, ',.{decimals}f')"
