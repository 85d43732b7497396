"""Separated text as rows of cells: the bytes, the lines, and nothing of what they mean."""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from flyoff.core.files import MEBIBYTE
from flyoff.core.problems import Problem, Problems
from flyoff.core.sources import Place
from flyoff.core.typing import Mask
from flyoff.flights.log import Lines, counted

LARGEST_LOG = 2000 * MEBIBYTE
"""[bytes] Ten million rows of two hundred characters."""
LARGEST_WHOLE = 64 * MEBIBYTE
"""[bytes] Larger logs are read in parts."""
_MOST_MALFORMED = 0.1


@dataclass(frozen=True)
class Table:
    """The rows of a separated file as text, each knowing its line."""

    header: tuple[str, ...]
    rows: pl.DataFrame
    lines: Lines
    malformed: tuple[int, ...]


def read_log_bytes(path: Path, name: str, most: int = LARGEST_WHOLE) -> bytes:
    """Return a recorder file's bytes, up to `most` of them.

    Raises
    ------
    Problems
        If it is missing, empty, or too large.
    """

    def fail(found: str, expected: str) -> Problems:
        return Problems([Problem(Place(name), found, expected)])

    check_log_size(path, name, LARGEST_LOG)
    try:
        with path.open("rb") as stream:
            data = stream.read(most)
    except OSError as error:
        raise fail(f"cannot be read ({error.strerror})", "expected a readable recorder log") from None
    if not data.strip():
        raise fail("the file is empty", "expected a recorder log")
    return data


def check_log_size(path: Path, name: str, largest: int) -> int:
    """Return a recorder file's size, [bytes].

    Raises
    ------
    Problems
        If it is missing, no file, or larger than `largest`.
    """
    try:
        if not path.is_file():
            found = "no such file" if not path.exists() else "not a file"
            raise Problems([Problem(Place(name), found, "expected a recorder log")])
        size = path.stat().st_size
    except OSError as error:
        found = f"cannot be read ({error.strerror})"
        raise Problems([Problem(Place(name), found, "expected a readable recorder log")]) from None
    if size > largest:
        found = f"{size / MEBIBYTE:,.0f} MiB is too large for a log of this kind"
        raise Problems([Problem(Place(name), found, f"expected at most {largest / MEBIBYTE:,.0f} MiB")])
    return size


def decode(data: bytes, encoding: str, name: str) -> bytes:
    """Return a log's bytes as UTF-8 with plain line ends and no byte order mark.

    Raises
    ------
    Problems
        If they are not text in `encoding`.
    """
    if encoding == "utf-8":
        data = data.removeprefix(b"\xef\xbb\xbf")
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    try:
        if encoding != "utf-8":
            data = data.decode(encoding).replace("\r\n", "\n").replace("\r", "\n").encode()
        elif not data.isascii():
            data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Problems([_not_text(data, error.start, encoding, name)]) from None
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise Problems([Problem(Place(name, line), "a NUL byte: this is not text", "expected a text log")])
    return data


def _not_text(data: bytes, at: int, encoding: str, name: str) -> Problem:
    place = Place(name, data.count(b"\n", 0, at) + 1)
    named = "expected the log's encoding to be named in the flight file, such as encoding = "
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Problem(place, f"UTF-16, not {encoding.upper()} text", f'{named}"utf-16"')
    if b"\0" in data:
        return Problem(place, "NUL bytes: a binary file", "expected a text log")
    return Problem(place, f"byte 0x{data[at]:02x} is not {encoding.upper()} text", f'{named}"cp1252"')


def split_row(line: str, separator: str) -> list[str]:
    """Return the cells of one line, quotes and padding removed."""
    return [cell.strip() for cell in next(csv.reader([line], delimiter=separator), [])]


def read_table(data: bytes, name: str, separator: str, header_line: int, first_line: int | None) -> Table:
    """Return a separated file's header and rows as text.

    Raises
    ------
    Problems
        If there is no header there, columns share a name, a quoted cell runs
        over a line's end, or too many rows have the wrong number of cells.
    """
    starts, _ = _line_bounds(data)
    first = (first_line or header_line + 1) - 1
    header = read_header(data, name, separator, header_line, first_line)
    rows = data[starts[first] :] if first < len(starts) else b""
    return read_rows(rows, header, name, separator, first)


def read_header(
    data: bytes, name: str, separator: str, header_line: int, first_line: int | None
) -> tuple[str, ...]:
    """Return the names in the header of a separated file.

    Raises
    ------
    Problems
        If there is no header there, or columns share a name.
    """
    starts, ends = _line_bounds(data)
    place = Place(name, header_line)
    if header_line > len(starts) or (first_line is not None and first_line <= header_line):
        raise Problems(
            [
                Problem(
                    place, f"no header: the file has {counted(len(starts), 'line')}", "expected a header line"
                )
            ]
        )
    header_bytes = data[starts[header_line - 1] : ends[header_line - 1]]
    header = tuple(split_row(header_bytes.decode(), separator))
    _check_header(header, place)
    return header


def read_rows(data: bytes, header: tuple[str, ...], name: str, separator: str, before: int) -> Table:
    """Return rows as text; `before` is how many lines of the file come before `data`.

    Raises
    ------
    Problems
        If a quoted cell runs over a line's end, or too many rows have the wrong number of cells.
    """
    starts, ends = _line_bounds(data)
    numbers = np.arange(before + 1, before + 1 + len(starts))
    filled = ends > starts
    starts, ends, numbers = starts[filled], ends[filled], numbers[filled]
    counts = _separators(data, starts, ends, separator)
    whole = counts == len(header) - 1
    malformed = numbers[~whole]
    if len(malformed) > max(1, _MOST_MALFORMED * len(numbers)):
        raise Problems(
            [
                Problem(
                    Place(name, int(malformed[0])),
                    f"{counted(int(counts[~whole][0]) + 1, 'cell')}, as in {len(malformed):,} of "
                    f"{counted(len(numbers), 'row')}",
                    f"expected {len(header)} cells separated by '{separator}', as in the header",
                )
            ]
        )
    body = _body(data, starts, ends, whole)
    rows = _parse(body, separator, len(header), name)
    if len(rows) != int(whole.sum()):
        raise Problems(
            [
                Problem(
                    Place(name),
                    "a quoted cell runs over the end of its line",
                    "expected one row on each line",
                )
            ]
        )
    return Table(header, rows, numbers[whole], tuple(malformed.tolist()))


def _line_bounds(data: bytes) -> tuple[Lines, Lines]:
    breaks = np.flatnonzero(np.frombuffer(data, np.uint8) == ord("\n"))
    ends = breaks if data.endswith(b"\n") else np.append(breaks, len(data))
    return np.concatenate([[0], ends[:-1] + 1]).astype(np.int64), ends.astype(np.int64)


def _separators(data: bytes, starts: Lines, ends: Lines, separator: str) -> Lines:
    """Return how many separators outside quotes each line has."""
    buffer = np.frombuffer(data, np.uint8)
    at = np.flatnonzero(buffer == ord(separator))
    counts = np.searchsorted(at, ends) - np.searchsorted(at, starts)
    quotes = np.flatnonzero(buffer == ord('"'))
    if len(quotes):
        quoted = np.searchsorted(quotes, ends) > np.searchsorted(quotes, starts)
        for i in np.flatnonzero(quoted):
            line = data[starts[i] : ends[i]].decode()
            counts[i] = len(next(csv.reader([line], delimiter=separator), [])) - 1
    return counts.astype(np.int64)


def _body(data: bytes, starts: Lines, ends: Lines, whole: Mask) -> bytes:
    if whole.all() and len(starts) and int((ends - starts + 1).sum()) == int(ends[-1] + 1 - starts[0]):
        return data[starts[0] : ends[-1]]
    kept = zip(starts[whole].tolist(), ends[whole].tolist(), strict=True)
    return b"\n".join(data[start:end] for start, end in kept)


def _parse(body: bytes, separator: str, width: int, name: str) -> pl.DataFrame:
    columns = [f"c{i}" for i in range(width)]
    if not body:
        return pl.DataFrame({column: pl.Series([], dtype=pl.String) for column in columns})
    try:
        return pl.read_csv(
            io.BytesIO(body),
            has_header=False,
            new_columns=columns,
            separator=separator,
            infer_schema=False,
            quote_char='"' if b'"' in body else None,
        )
    except pl.exceptions.PolarsError as error:
        what = str(error).splitlines()[0][:100]
        raise Problems(
            [Problem(Place(name), f"cannot be split into cells: {what}", "expected a table")]
        ) from None


def _check_header(header: tuple[str, ...], place: Place) -> None:
    if len(header) < 2:
        raise Problems(
            [
                Problem(
                    place,
                    f"{counted(len(header), 'column')} in the header",
                    "expected several; check separator and header_line in the flight file",
                )
            ]
        )
    named = [column for column in header if column]
    twice = sorted({column for column in named if named.count(column) > 1})
    if twice:
        raise Problems(
            [
                Problem(place, f"column '{column}' appears twice", "expected distinct names")
                for column in twice
            ]
        )
