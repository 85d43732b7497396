"""Separated recorder logs, read as the flight file says, with a cast of our own.

Nothing is guessed here: the flight file says what each column means. Cells
that cannot be read, rows of the wrong length and rows without a time are
listed as repairs, with their lines.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import polars as pl

from flyoff.core.problems import Collector, Problem, Problems, near_miss
from flyoff.core.sources import Place
from flyoff.core.typing import Array, Mask
from flyoff.core.units import Unit, UnknownUnit, find_unit
from flyoff.flights.card import LogFile
from flyoff.flights.channels import CHANNELS, Channel
from flyoff.flights.clock import COUNTED, Clock, read_times, zone_offset_s
from flyoff.flights.log import FEWEST_ROWS, Lines, Log, Repair, Where, counted, step_of, wrapped
from flyoff.flights.table import Table, decode, read_header, read_table

BLANK_WORDS = ("", "NaN", "nan", "NAN", "N/A", "NA", "n/a", "null", "None", "-", "--", "---", "----", "-----")
"""What recorders write where they have no reading."""
_SHOWN = 5


@dataclass(frozen=True)
class CsvPlan:
    """What a flight file says of a separated log, held against the log's header."""

    name: str
    spec: LogFile
    where: Where
    header: tuple[str, ...]
    units: Mapping[str, Unit]
    clock: Clock

    @property
    def lines_before(self) -> int:
        """How many lines come before the first row."""
        return (self.spec.first_line or self.spec.header_line + 1) - 1


def read_csv_log(data: bytes, name: str, spec: LogFile, where: Where, day: date) -> Log:
    """Return a separated log as its flight file says it is to be read.

    `where` places the keys of the flight file's entry: mapping faults point there.

    Raises
    ------
    Problems
        All faults of the file and of the mapping.
    """
    data = decode(data, spec.encoding, name)
    plan = csv_plan(data, name, spec, where, day)
    table = read_table(data, name, spec.separator, spec.header_line, spec.first_line)
    log = log_of_rows(table, plan)
    check_medians(log, plan)
    return log


def csv_plan(data: bytes, name: str, spec: LogFile, where: Where, day: date) -> CsvPlan:
    """Return how a log's rows are to be read; `data` is UTF-8 and holds at least the header.

    Raises
    ------
    Problems
        All faults of the header and of the mapping.
    """
    header = read_header(data, name, spec.separator, spec.header_line, spec.first_line)
    collector = Collector()
    units = _units(spec, header, where, collector)
    clock = _clock(spec, header, where, day, collector)
    collector.raise_any()
    assert clock is not None  # the collector has spoken otherwise
    return CsvPlan(name, spec, where, header, units, clock)


def log_of_rows(table: Table, plan: CsvPlan, fewest: int = FEWEST_ROWS) -> Log:
    """Return rows of a log in SI, with what could not be read as repairs.

    Raises
    ------
    Problems
        If half of a column or of the clock cannot be read, or fewer than `fewest` rows have a time.
    """
    collector = Collector()
    assert plan.spec.clock is not None  # a plan has one
    reader = _Reader(table, plan.name, plan.spec.decimal, collector)
    time_s = reader.times(plan.spec.clock.columns, plan.clock, plan.where)
    channels: dict[str, Array] = {}
    resolution: dict[str, float] = {}
    for channel, unit in plan.units.items():
        raw = reader.numbers(plan.spec.columns[channel].column)
        channels[channel] = wrapped(CHANNELS[channel], unit.to_si(raw))
        resolution[channel] = step_of(raw) * unit.factor
    if fewest:
        collector.raise_any()
    return _timed(Log(plan.name, time_s, table.lines, channels, resolution), reader, table, fewest)


def check_medians(log: Log, plan: CsvPlan) -> None:
    """Say which channels have a median that cannot be: their unit is wrong.

    Raises
    ------
    Problems
        For each such channel.
    """
    collector = Collector()
    for channel, unit in plan.units.items():
        column = plan.spec.columns[channel].column
        _check_median(CHANNELS[channel], log.channels[channel], unit, column, plan.where, collector)
    collector.raise_any()


def _units(spec: LogFile, header: tuple[str, ...], where: Where, collector: Collector) -> dict[str, Unit]:
    units = {}
    for channel, column in spec.columns.items():
        here = where("columns", channel)
        if channel not in CHANNELS:
            collector.add(
                here,
                "unknown channel",
                f"expected one of {', '.join(CHANNELS)}{near_miss(channel, CHANNELS)}",
            )
            continue
        _check_column(column.column, header, where("columns", channel, "column"), collector)
        try:
            units[channel] = find_unit(column.unit, CHANNELS[channel].dimension)
        except UnknownUnit as error:
            collector.add(
                where("columns", channel, "unit"),
                f"unknown unit '{column.unit}'",
                f"expected {error.expected}",
            )
    if not spec.columns:
        collector.add(where(), "no columns are mapped", "expected [logs.columns] with at least one channel")
    return units


def _check_column(column: str, header: tuple[str, ...], here: Place, collector: Collector) -> None:
    if column not in header:
        listed = ", ".join(header)[:200]
        collector.add(
            here, f"the log has no column '{column}'", f"expected one of {listed}{near_miss(column, header)}"
        )


def _clock(
    spec: LogFile, header: tuple[str, ...], where: Where, day: date, collector: Collector
) -> Clock | None:
    if spec.clock is None:
        collector.add(where("clock"), "no clock", "expected [logs.clock] with the columns that say the time")
        return None
    for index, column in enumerate(spec.clock.columns):
        _check_column(column, header, where("clock", "columns", index), collector)
    if spec.clock.format != "iso" and spec.clock.format not in COUNTED and "%" not in spec.clock.format:
        known = ("iso", *COUNTED)
        expected = f"expected one of {', '.join(known)}, or a pattern such as %H:%M:%S"
        collector.add(
            where("clock", "format"),
            f"unknown clock format '{spec.clock.format}'",
            expected + near_miss(spec.clock.format, known),
        )
    try:
        return Clock(spec.clock.format, zone_offset_s(spec.clock.zone), day)
    except ValueError as error:
        collector.add(where("clock", "zone"), str(error), "expected UTC or an offset such as +02:00")
        return None


def _check_median(
    channel: Channel, values: Array, unit: Unit, column: str, where: Where, collector: Collector
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
            where("columns", channel.name, "unit"),
            f"a median of {unit.from_si(median):,.1f} {unit.label} in column '{column}' cannot be",
            f"expected {low:,.0f} to {high:,.0f} {unit.label}; is the unit right?",
        )


class _Reader:
    """Casts a table's text, and remembers what could not be cast."""

    def __init__(self, table: Table, name: str, decimal: str, collector: Collector) -> None:
        self.table, self.name, self.decimal, self.collector = table, name, decimal, collector
        self.unreadable: dict[str, list[tuple[int, str]]] = {}

    def _text(self, column: str) -> pl.Series:
        index = self.table.header.index(column)
        return (
            self.table.rows.to_series(index)
            .str.strip_chars()
            .replace(list(BLANK_WORDS), [None] * len(BLANK_WORDS))
        )

    def times(self, columns: tuple[str, ...], clock: Clock, where: Where) -> Array:
        texts = self._text(columns[0])
        for column in columns[1:]:
            texts = texts + " " + self._text(column)
        if clock.format in COUNTED and self.decimal == ",":
            texts = texts.str.replace(",", ".", literal=True)
        time_s = read_times(texts, clock)
        readable = int(np.isfinite(time_s).sum())
        if len(texts) and readable < 0.5 * (len(texts) - texts.null_count()):
            first = next((text for text in texts if text is not None), "")
            self.collector.add(
                where("clock", "format"),
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
            if len(where) > 0.5 * (len(texts) - texts.null_count()):
                line, text = self.unreadable[column][0]
                self.collector.add(
                    Place(self.name, line, column),
                    f"'{text}' is not a number, as in {len(where):,} of {counted(len(texts), 'row')}",
                    f"expected numbers with decimal '{self.decimal}'",
                )
        return cast.fill_null(np.nan).to_numpy().astype(float)


def _timed(log: Log, reader: _Reader, table: Table, fewest: int) -> Log:
    """Return the log without rows that have no time, and with what reading found as repairs."""
    timed = np.isfinite(log.time_s)
    if int(timed.sum()) < fewest:
        raise Problems(
            [
                Problem(
                    Place(log.name),
                    f"{counted(int(timed.sum()), 'row')} with a time",
                    f"expected at least {fewest}: one row makes no flight",
                )
            ]
        )
    if not timed.any():
        return log.where(timed)
    repairs = list(_malformed_rows(table, log, timed))
    if not timed.all():
        lines = log.lines[~timed]
        first = float(log.time_s[timed][0])
        repairs.append(
            Repair(
                "row without time",
                "clock",
                first,
                first,
                _span(lines),
                len(lines),
                "left out: its time cannot be read",
            )
        )
    for column, cells in reader.unreadable.items():
        lines = np.array([line for line, _ in cells])
        times = np.interp(lines, log.lines[timed], log.time_s[timed])
        shown = ", ".join(f"line {line} '{text[:20]}'" for line, text in cells[:_SHOWN])
        more = f" and {len(cells) - _SHOWN} more" if len(cells) > _SHOWN else ""
        repairs.append(
            Repair(
                "unreadable cell",
                column,
                float(times[0]),
                float(times[-1]),
                _span(lines),
                len(cells),
                f"taken as blank: not a number: {shown}{more}",
            )
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
