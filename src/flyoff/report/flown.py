"""A flown day made ready for readers, and the cells and pictures that its parts are made of."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from flyoff.charts.chart import signed
from flyoff.core.figure import format_number, supported_decimals
from flyoff.report.blocks import DASH, Block, Cell, Drawing, Items, Picture, Text

NOTHING = Cell(DASH)
_SIGNED = {"rate_of_climb_fpm", "cas_minus_ias_kt"}


@dataclass(frozen=True)
class FlownDay:
    """A flight for readers.

    `name` is the flight file's, `key` what its anchors begin with; `data` is
    the reduction with its stable JSON keys; `drawings` are its charts by the
    names of `pictures`.
    """

    name: str
    key: str
    title: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    methods: tuple[tuple[str, str], ...]
    data: Mapping[str, Any]
    pictures: tuple[Picture, ...]
    drawings: Mapping[str, Drawing]


def items(title: str, items: Iterable[str]) -> tuple[Block, ...]:
    """Return a list under its title; nothing where there is nothing to list."""
    listed = tuple(items)
    return (Text(title), Items(listed)) if listed else ()


def pictured(day: FlownDay, *charts: str) -> Iterator[Block]:
    """Yield the pictures of some charts, where the flight has them."""
    for chart in charts:
        yield from (picture for picture in day.pictures if picture.name == f"{day.key}-{chart}")


def cell(data: Mapping[str, Any], key: str, note: str = "", most: int = 2) -> Cell:
    """Return a quantity no finer than its interval and `most` decimals, or a dash where it is not known."""
    value, u95 = data.get(key), data.get(f"{key}_u95", 0.0)
    if value is None:
        return NOTHING
    decimals = min(supported_decimals(value, u95), most) if u95 else 0
    text = format_number(value, decimals)
    shown = signed(text) if key in _SIGNED else text
    return Cell(f"{shown} ± {format_number(u95, decimals)}" if u95 else shown, note=note)


def span(data: Mapping[str, Any]) -> str:
    """Return from when to when something lasted, as times of day."""
    start, end = data["start_utc"][11:19], data["end_utc"][11:19]
    return start if start == end else f"{start}–{end}"
