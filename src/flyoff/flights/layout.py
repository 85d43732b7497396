"""Guessing how a separated log is laid out: encoding, separator, decimal mark, header, clock."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.flights.clock import Clock, read_times
from flyoff.flights.csvlog import BLANK_WORDS
from flyoff.flights.table import decode, split_row
from flyoff.flights.vocabulary import TIME_WORDS, candidates_for, words_of

SEPARATORS = (",", ";", "\t", "|")
_NUMBER = re.compile(r"[+-]?\d*(?P<mark>[.,]?)\d+(?:[eE][+-]?\d+)?")
_ZONED = re.compile(r"(Z|[+-]\d{2}:?\d{2})$")
_PREAMBLE = 60
_SAMPLE = 400
_DATES = ("%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y", "%m/%d/%Y", "%d-%m-%Y", "%m-%d-%Y", "%Y/%m/%d", "%Y%m%d")
_TIMES = ("%H:%M:%S", "%H:%M", "%H%M%S", "%I:%M:%S %p", "%H.%M.%S")


@dataclass(frozen=True)
class Layout:
    """How a log seems to be laid out; `units` are the cells of a units line, empty without one."""

    encoding: str
    separator: str
    decimal: str
    header_line: int
    first_line: int
    preamble: tuple[str, ...]
    header: tuple[str, ...]
    units: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]

    def column(self, index: int) -> list[str]:
        """Return the sampled cells of one column."""
        return [row[index] for row in self.sample]

    def numbers(self, index: int) -> Array:
        """Return the sampled cells of one column as numbers, NaN where they are none."""
        cells = [cell.replace(",", ".") if self.decimal == "," else cell for cell in self.column(index)]
        values = pl.Series(cells, dtype=pl.String).cast(pl.Float64, strict=False).fill_null(np.nan)
        return values.to_numpy().astype(float)


@dataclass(frozen=True)
class FoundClock:
    """Which columns seem to say the time and how, and the first day and whether that is known."""

    columns: tuple[str, ...]
    format: str
    day: date | None
    sure: bool
    says_zone: bool = False


def guess_encoding(data: bytes, name: str) -> tuple[str, bytes]:
    """Return the encoding that fits, and the bytes as UTF-8.

    Raises
    ------
    Problems
        If it is not text in any.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16", decode(data, "utf-16", name)
    try:
        return "utf-8", decode(data, "utf-8", name)
    except Problems as error:
        if b"\0" in data[:4096] or _mostly_control(data[:4096]):
            raise Problems(
                [Problem(Place(name), "this is not text", "expected a recorder log in text")]
            ) from error
        return "cp1252", decode(data, "latin-1", name)


def _mostly_control(data: bytes) -> bool:
    control = sum(byte < 9 or 13 < byte < 32 for byte in data)
    return control > 0.02 * len(data)


def guess_layout(data: bytes, name: str) -> Layout:
    """Return how a log seems to be laid out.

    Raises
    ------
    Problems
        If no line and separator look like the header of a table.
    """
    encoding, text = guess_encoding(data, name)
    lines = text[: 4 * 1024 * 1024].decode("utf-8", "ignore").split("\n")[: _PREAMBLE + _SAMPLE]
    best: tuple[int, str, int] | None = None
    for separator in SEPARATORS:
        first = _first_data_line(lines, separator)
        if first is not None:
            width = len(split_row(lines[first], separator))
            if best is None or width > best[0]:
                best = (width, separator, first)
    if best is None:
        raise Problems(
            [
                Problem(
                    Place(name),
                    "no table of at least two columns of numbers was found",
                    "expected a header and rows separated by one of: comma, semicolon, tab, bar",
                )
            ]
        )
    width, separator, first = best
    names, units = _header_lines(lines, separator, first, width, name)
    rows = [split_row(line, separator) for line in lines[first:]]
    sample = tuple(tuple(row) for row in rows if len(row) == width)
    header = tuple(split_row(lines[names], separator))
    unit_cells = tuple(split_row(lines[units], separator)) if units is not None else ("",) * width
    preamble = tuple(
        line.strip() for i, line in enumerate(lines[:first]) if i not in {names, units} and line.strip()
    )
    return Layout(
        encoding,
        separator,
        _decimal(sample, separator),
        names + 1,
        first + 1,
        preamble,
        header,
        unit_cells,
        sample,
    )


def _first_data_line(lines: list[str], separator: str) -> int | None:
    """Return the first line that looks like data and is followed by lines as wide."""
    widths = [len(split_row(line, separator)) if line.strip() else 0 for line in lines]
    for index, line in enumerate(lines[:_PREAMBLE]):
        width = widths[index]
        if index == 0 or width < 2 or not _is_data(split_row(line, separator)):
            continue
        following = widths[index : index + 50]
        if sum(w == width for w in following) >= 0.8 * sum(w > 0 for w in following):
            return index
    return None


def _is_data(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell not in BLANK_WORDS]
    numeric = sum(cell[:1].isdigit() or _NUMBER.fullmatch(cell) is not None for cell in filled)
    return bool(filled) and numeric >= 0.6 * len(filled)


def _header_lines(
    lines: list[str], separator: str, first: int, width: int, name: str
) -> tuple[int, int | None]:
    """Return the line of names and perhaps that of units, among those before the data."""
    scores = {}
    for index in range(first):
        cells = split_row(lines[index].lstrip("#"), separator)
        if len(cells) == width and not _is_data(cells):
            hits = sum(bool(candidates_for(cell)) or bool(TIME_WORDS & set(words_of(cell))) for cell in cells)
            scores[index] = hits
    if not scores:
        raise Problems(
            [
                Problem(
                    Place(name, first + 1),
                    "the table has no header: this line is data",
                    "expected a line with as many column names before it",
                )
            ]
        )
    names = max(scores, key=lambda index: (scores[index], index))
    others = [index for index in scores if index > names]
    return names, (others[0] if others else None)


def _decimal(sample: tuple[tuple[str, ...], ...], separator: str) -> str:
    if separator == ",":
        return "."
    marks = [match["mark"] for row in sample for cell in row if (match := _NUMBER.fullmatch(cell))]
    return "," if marks.count(",") > marks.count(".") else "."


def guess_clock(layout: Layout) -> FoundClock | None:
    """Return the columns that seem to say the time, or None."""
    timely = [i for i, column in enumerate(layout.header) if TIME_WORDS & set(words_of(column))]
    for index in timely:
        found = _counted(layout, index)
        if found is not None and found.format.startswith("unix"):
            return found
    for index in timely:
        found = _dated(layout, index)
        if found is not None:
            return found
    for first in timely:
        for second in timely:
            found = _pair(layout, first, second) if first != second else None
            if found is not None:
                return found
    for index in timely:
        found = _time_of_day(layout, index) or _counted(layout, index)
        if found is not None:
            return found
    return None


def _read(texts: Sequence[str], pattern: str) -> tuple[float, float]:
    """Return the share of texts that a pattern reads, and the first time read."""
    series = pl.Series(list(texts), dtype=pl.String)
    times = read_times(series, Clock(pattern, 0.0, date(1970, 1, 1)))
    known = times[np.isfinite(times)]
    filled = sum(text not in BLANK_WORDS for text in texts)
    share = len(known) / filled if filled else 0.0
    return share, float(known[0]) if len(known) else 0.0


def _day(time_s: float) -> date:
    return date.fromordinal(date(1970, 1, 1).toordinal() + int(time_s // 86400))


def _dated(layout: Layout, index: int) -> FoundClock | None:
    cells = layout.column(index)
    patterns = ("iso", *(f"{day} {time}" for day in _DATES for time in _TIMES))
    for pattern in patterns:
        share, first = _read(cells, pattern)
        if share > 0.95:
            zoned = all(_ZONED.search(cell) for cell in cells if cell)
            return FoundClock(
                (layout.header[index],), pattern, _day(first), _unmistakable(pattern, cells), zoned
            )
    return None


def _unmistakable(pattern: str, cells: Sequence[str]) -> bool:
    """Whether day and month cannot be swapped: one of them exceeds 12, or the year comes first."""
    if not pattern.startswith(("%d/%m", "%m/%d", "%d-%m", "%m-%d")):
        return True
    return any(int(part) > 12 for cell in cells for part in re.findall(r"\d+", cell)[:2])


def _pair(layout: Layout, first: int, second: int) -> FoundClock | None:
    cells = [f"{a} {b}" for a, b in zip(layout.column(first), layout.column(second), strict=True)]
    for day in _DATES:
        for time in _TIMES:
            share, start = _read(cells, f"{day} {time}")
            if share > 0.95:
                names = (layout.header[first], layout.header[second])
                pattern = f"{day} {time}"
                return FoundClock(names, pattern, _day(start), _unmistakable(pattern, cells))
    return None


def _time_of_day(layout: Layout, index: int) -> FoundClock | None:
    for pattern in _TIMES:
        share, _ = _read(layout.column(index), pattern)
        if share > 0.95:
            return FoundClock((layout.header[index],), pattern, None, sure=True)
    return None


def _counted(layout: Layout, index: int) -> FoundClock | None:
    values = layout.numbers(index)
    values = values[np.isfinite(values)]
    if len(values) < 2 or (np.diff(values) < 0).any() or values[0] == values[-1]:
        return None
    column = (layout.header[index],)
    if 3e8 < values[0] < 5e9:
        return FoundClock(column, "unix s", _day(float(values[0])), sure=True, says_zone=True)
    if 3e11 < values[0] < 5e12:
        return FoundClock(column, "unix ms", _day(float(values[0]) / 1000), sure=True, says_zone=True)
    step = float(np.median(np.diff(values)))
    return FoundClock(column, "elapsed ms" if step >= 5 else "elapsed s", None, sure=False)
