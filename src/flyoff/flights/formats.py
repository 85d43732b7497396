"""Reading recorder files: separated text as strings with a cast of our own, and GPX tracks.

Nothing is guessed here: the flight file says what each column means. Cells
that cannot be read, rows of the wrong length and rows without a time are
listed as repairs, with their lines.
"""

import csv
import io
import math
from dataclasses import dataclass, replace
from datetime import date as Date
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import polars as pl

from flyoff.core.files import MEBIBYTE
from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.sources import Place
from flyoff.core.typing import Array, Mask
from flyoff.core.units import Unit, UnknownUnit, degree, find_unit
from flyoff.flights.card import LogFile
from flyoff.flights.channels import CHANNELS, Channel
from flyoff.flights.clock import COUNTED, Clock, read_times, zone_offset_s
from flyoff.flights.log import Lines, Log, Repair

LARGEST_LOG = 1024 * MEBIBYTE
"""[bytes] Ten million rows of a dozen columns fit; memory stays bounded."""
FEWEST_ROWS = 2
BLANK_WORDS = ("", "NaN", "nan", "NAN", "N/A", "NA", "n/a", "null", "None", "-", "--", "---", "----", "-----")
"""What recorders write where they have no reading."""
_MOST_MALFORMED = 0.1
_SHOWN = 5


@dataclass(frozen=True)
class Table:
    """The rows of a separated file as text, each knowing its line."""

    header: tuple[str, ...]
    rows: pl.DataFrame
    lines: Lines
    malformed: tuple[int, ...]


def read_log_bytes(path: Path, name: str) -> bytes:
    """Return a recorder file's bytes.

    Raises
    ------
    Problems
        If it is missing, empty, too large, or not text.
    """

    def fail(found: str, expected: str) -> Problems:
        return Problems([Problem(Place(name), found, expected)])

    try:
        if not path.is_file():
            raise fail("no such file" if not path.exists() else "not a file", "expected a recorder log")
        size = path.stat().st_size
        if size > LARGEST_LOG:
            raise fail(
                f"{size / MEBIBYTE:,.0f} MiB is too large for a log",
                f"expected at most {LARGEST_LOG / MEBIBYTE:,.0f} MiB",
            )
        data = path.read_bytes()
    except OSError as error:
        raise fail(f"cannot be read ({error.strerror})", "expected a readable recorder log") from None
    if not data.strip():
        raise fail("the file is empty", "expected a recorder log")
    return data


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
        line = data.count(b"\n", 0, error.start) + 1
        raise Problems(
            [
                Problem(
                    Place(name, line),
                    f"byte 0x{data[error.start]:02x} is not {encoding.upper()} text",
                    "expected the log's encoding to be named in the flight file, "
                    'such as encoding = "cp1252"',
                )
            ]
        ) from None
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise Problems([Problem(Place(name, line), "a NUL byte: this is not text", "expected a text log")])
    return data


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
    starts, ends = _line_bounds(data)
    first = (first_line or header_line + 1) - 1
    place = Place(name, header_line)
    if header_line > len(starts) or first_line is not None and first_line <= header_line:
        raise Problems([Problem(place, f"no header: the file has {len(starts)} lines", "expected a header line")])
    header_bytes = data[starts[header_line - 1] : ends[header_line - 1]]
    header = tuple(split_row(header_bytes.decode(), separator))
    _check_header(header, place)
    starts, ends = starts[first:], ends[first:]
    numbers = np.arange(first + 1, first + 1 + len(starts))
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
                    f"{int(counts[~whole][0]) + 1} cells, as in {len(malformed)} of {len(numbers)} rows",
                    f"expected {len(header)} cells separated by '{separator}', as in the header",
                )
            ]
        )
    body = _body(data, starts, ends, whole)
    rows = _parse(body, separator, len(header), name)
    if len(rows) != int(whole.sum()):
        raise Problems(
            [Problem(Place(name), "a quoted cell runs over the end of its line", "expected one row on each line")]
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
    if whole.all():
        if len(starts) and int((ends - starts + 1).sum()) == int(ends[-1] + 1 - starts[0]):
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
        raise Problems([Problem(Place(name), f"cannot be split into cells: {what}", "expected a table")]) from None


def _check_header(header: tuple[str, ...], place: Place) -> None:
    if len(header) < 2:
        raise Problems(
            [
                Problem(
                    place,
                    f"only {len(header)} column in the header",
                    "expected several; check separator and header_line in the flight file",
                )
            ]
        )
    named = [column for column in header if column]
    twice = sorted({column for column in named if named.count(column) > 1})
    if twice:
        raise Problems(
            [Problem(place, f"column '{column}' appears twice", "expected distinct names") for column in twice]
        )


def read_csv_log(data: bytes, name: str, spec: LogFile, place: Place, date: Date) -> Log:
    """Return a separated log as its flight file says it is to be read.

    `place` is where the flight file describes the log: mapping faults point there.

    Raises
    ------
    Problems
        All faults of the file and of the mapping.
    """
    table = read_table(decode(data, spec.encoding, name), name, spec.separator, spec.header_line, spec.first_line)
    collector = Collector()
    units = _units(spec, table.header, place, collector)
    clock = _clock(spec, table.header, place, date, collector)
    collector.raise_any()
    assert clock is not None and spec.clock is not None  # the collector has spoken otherwise
    reader = _Reader(table, name, spec.decimal, collector)
    time_s = reader.times(spec.clock.columns, clock, place)
    channels: dict[str, Array] = {}
    resolution: dict[str, float] = {}
    for channel_name, unit in units.items():
        column = spec.columns[channel_name].column
        raw = reader.numbers(column)
        values = unit.to_si(raw)
        _check_median(CHANNELS[channel_name], values, unit, column, place, collector)
        channels[channel_name] = _wrapped(CHANNELS[channel_name], values)
        resolution[channel_name] = step_of(raw) * unit.factor
    collector.raise_any()
    log = Log(name, time_s, table.lines, channels, resolution)
    return _timed(log, reader, table)


def _units(spec: LogFile, header: tuple[str, ...], place: Place, collector: Collector) -> dict[str, Unit]:
    units = {}
    for channel, column in spec.columns.items():
        here = replace(place, field=f"{place.field}.columns.{channel}")
        if channel not in CHANNELS:
            collector.add(here, "unknown channel", f"expected one of {', '.join(CHANNELS)}{near_miss(channel, CHANNELS)}")
            continue
        _check_column(column.column, header, here, collector)
        try:
            units[channel] = find_unit(column.unit, CHANNELS[channel].dimension)
        except UnknownUnit as error:
            collector.add(here, f"unknown unit '{column.unit}'", f"expected {error.expected}")
    if not spec.columns:
        collector.add(place, "no columns are mapped", "expected [logs.columns] with at least one channel")
    return units


def _check_column(column: str, header: tuple[str, ...], here: Place, collector: Collector) -> None:
    if column not in header:
        listed = ", ".join(header)[:200]
        collector.add(here, f"the log has no column '{column}'", f"expected one of {listed}{near_miss(column, header)}")


def _clock(
    spec: LogFile, header: tuple[str, ...], place: Place, date: Date, collector: Collector
) -> Clock | None:
    here = replace(place, field=f"{place.field}.clock")
    if spec.clock is None:
        collector.add(here, "no clock", "expected [logs.clock] with the columns that say the time")
        return None
    for column in spec.clock.columns:
        _check_column(column, header, here, collector)
    if spec.clock.format != "iso" and spec.clock.format not in COUNTED and "%" not in spec.clock.format:
        known = ("iso", *COUNTED)
        expected = f"expected one of {', '.join(known)}, or a pattern such as %H:%M:%S"
        collector.add(here, f"unknown clock format '{spec.clock.format}'", expected + near_miss(spec.clock.format, known))
    try:
        return Clock(spec.clock.format, zone_offset_s(spec.clock.zone), date)
    except ValueError as error:
        collector.add(here, str(error), "expected UTC or an offset such as +02:00")
        return None


def _check_median(
    channel: Channel, values: Array, unit: Unit, column: str, place: Place, collector: Collector
) -> None:
    if np.isnan(values).all():
        return
    median = float(np.nanmedian(values))
    moving = values[values > channel.median_low] if channel.median_low > 0 else values
    if channel.median_low > 0 and len(moving) > 0.2 * len(values):
        median = float(np.nanmedian(moving))  # an engine may stand still for half of a log
    if not channel.median_low <= median <= channel.median_high:
        low, high = (unit.from_si(limit) for limit in (channel.median_low, channel.median_high))
        collector.add(
            replace(place, field=f"{place.field}.columns.{channel.name}"),
            f"a median of {unit.from_si(median):,.1f} {unit.label} in column '{column}' cannot be",
            f"expected {low:,.0f} to {high:,.0f} {unit.label}; is the unit right?",
        )


def _wrapped(channel: Channel, values: Array) -> Array:
    """Return course 360 as 0; a negative course stays, to be judged as a repair."""
    if not channel.circular:
        return values
    turn = 360 * degree
    return np.where(values >= turn, values - turn, values)


def step_of(numbers: Array) -> float:
    """Return the step that readings are rounded to, 0 where it cannot be told.

    The smallest difference between distinct readings, where all are multiples of it.
    """
    distinct = np.unique(numbers[np.isfinite(numbers)])
    if len(distinct) < 3:
        return 0.0
    steps = np.diff(distinct)
    step = float(steps[steps > 1e-9].min(initial=np.inf))
    if not math.isfinite(step):
        return 0.0
    return float(f"{step:.6g}")


class _Reader:
    """Casts a table's text, and remembers what could not be cast."""

    def __init__(self, table: Table, name: str, decimal: str, collector: Collector) -> None:
        self.table, self.name, self.decimal, self.collector = table, name, decimal, collector
        self.unreadable: dict[str, list[tuple[int, str]]] = {}

    def _text(self, column: str) -> pl.Series:
        index = self.table.header.index(column)
        return self.table.rows.to_series(index).str.strip_chars().replace(list(BLANK_WORDS), [None] * len(BLANK_WORDS))

    def times(self, columns: tuple[str, ...], clock: Clock, place: Place) -> Array:
        texts = self._text(columns[0])
        for column in columns[1:]:
            texts = texts + " " + self._text(column)
        if clock.format in COUNTED and self.decimal == ",":
            texts = texts.str.replace(",", ".", literal=True)
        time_s = read_times(texts, clock)
        readable = int(np.isfinite(time_s).sum())
        if len(texts) and readable < 0.5 * texts.is_not_null().sum():
            first = next((text for text in texts if text is not None), "")
            self.collector.add(
                replace(place, field=f"{place.field}.clock"),
                f"'{first}' is not a time written as '{clock.format}'",
                "expected the clock's format to fit its column",
            )
        return time_s

    def numbers(self, column: str) -> Array:
        texts = self._text(column)
        plain = texts
        if self.decimal == ",":
            plain = texts.str.replace(",", ".", literal=True)
        cast = plain.cast(pl.Float64, strict=False)
        cast = cast.set(cast.is_infinite() | cast.is_nan(), None)
        bad = (cast.is_null() & texts.is_not_null()).to_numpy()
        if bad.any():
            where = np.flatnonzero(bad)
            self.unreadable[column] = [(int(self.table.lines[i]), str(texts[int(i)])) for i in where]
            if len(where) > 0.5 * texts.is_not_null().sum():
                line, text = self.unreadable[column][0]
                self.collector.add(
                    Place(self.name, line, column),
                    f"'{text}' is not a number, as in {len(where)} of {len(texts)} rows",
                    f"expected numbers with decimal '{self.decimal}'",
                )
        return cast.fill_null(np.nan).to_numpy().astype(float)


def _timed(log: Log, reader: _Reader, table: Table) -> Log:
    """Return the log without rows that have no time, and with what reading found as repairs."""
    timed = np.isfinite(log.time_s)
    if int(timed.sum()) < FEWEST_ROWS:
        raise Problems(
            [
                Problem(
                    Place(log.name),
                    f"{int(timed.sum())} rows with a time",
                    f"expected at least {FEWEST_ROWS}: one row makes no flight",
                )
            ]
        )
    repairs = list(_malformed_rows(table, log, timed))
    if not timed.all():
        lines = log.lines[~timed]
        first = float(log.time_s[timed][0])
        repairs.append(
            Repair("row without time", "clock", first, first, _span(lines), len(lines), "left out: its time cannot be read")
        )
    for column, cells in reader.unreadable.items():
        lines = np.array([line for line, _ in cells])
        times = np.interp(lines, log.lines[timed], log.time_s[timed])
        shown = ", ".join(f"line {line} '{text[:20]}'" for line, text in cells[:_SHOWN])
        more = f" and {len(cells) - _SHOWN} more" if len(cells) > _SHOWN else ""
        repairs.append(
            Repair("unreadable cell", column, float(times[0]), float(times[-1]), _span(lines), len(cells),
                   f"taken as blank: not a number: {shown}{more}")
        )
    return replace(log.where(timed), repairs=tuple(repairs))


def _malformed_rows(table: Table, log: Log, timed: Mask) -> list[Repair]:
    last = int(log.lines[-1]) if len(log.lines) else 0
    found = []
    for line in table.malformed:
        time = float(np.interp(line, log.lines[timed], log.time_s[timed]))
        why = "the last line is cut short" if line > last else "it has too many or too few cells"
        found.append(Repair("malformed row", "row", time, time, (line, line), 1, f"left out: {why}"))
    return found


def _span(lines: Lines) -> tuple[int, int]:
    return int(lines[0]), int(lines[-1])


def read_gpx_log(data: bytes, name: str) -> Log:
    """Return a GPX 1.1 track: latitude, longitude, altitude, and speed and course where given.

    Raises
    ------
    Problems
        If it is not GPX, or has fewer than two timed points.
    """

    def fail(found: str, expected: str, line: int = 0) -> Problems:
        return Problems([Problem(Place(name, line), found, expected)])

    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise fail("a document type declaration", "expected a plain GPX file")
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise fail(f"not XML: {error}", "expected a GPX file", error.position[0]) from None
    points = [element for element in root.iter() if element.tag.rpartition("}")[2] == "trkpt"]
    lines = _gpx_lines(data, len(points))
    cells = [_gpx_cells(point) for point in points]
    times = pl.Series([cell.get("time") for cell in cells], dtype=pl.String)
    time_s = read_times(times, Clock("iso", 0.0, Date(1970, 1, 1)))
    channels, resolution = {}, {}
    scales = {"latitude": ("lat", degree), "longitude": ("lon", degree), "gps_altitude": ("ele", 1.0),
              "ground_speed": ("speed", 1.0), "ground_track": ("course", degree)}
    for channel, (key, factor) in scales.items():
        values = pl.Series([cell.get(key) for cell in cells], dtype=pl.String).cast(pl.Float64, strict=False)
        numbers = values.fill_null(np.nan).to_numpy().astype(float)
        if np.isfinite(numbers).any():
            channels[channel] = _wrapped(CHANNELS[channel], numbers * factor)
            resolution[channel] = step_of(numbers) * factor
    timed = np.isfinite(time_s)
    if int(timed.sum()) < FEWEST_ROWS:
        raise fail(f"{int(timed.sum())} track points with a time", f"expected at least {FEWEST_ROWS}")
    return Log(name, time_s, lines, channels, resolution).where(timed)


def _gpx_cells(point: ElementTree.Element) -> dict[str, str]:
    cells = {"lat": point.get("lat", ""), "lon": point.get("lon", "")}
    for element in point.iter():
        cells.setdefault(element.tag.rpartition("}")[2], (element.text or "").strip())
    return cells


def _gpx_lines(data: bytes, count: int) -> Lines:
    """Return the line of each track point, by its opening tag."""
    lines, at, line = [], 0, 1
    for _ in range(count):
        found = data.find(b"<trkpt", at)
        if found < 0:
            break
        line += data.count(b"\n", at, found)
        lines.append(line)
        at = found + 1
    return np.array(lines + [line] * (count - len(lines)), np.int64)
