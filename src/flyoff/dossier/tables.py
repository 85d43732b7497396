"""Handbook tables: a grid of printed values, entered by its axes.

A table is a CSV file. Each header names a column of the closed list below and
its unit in brackets, ``true airspeed [kt]``. The columns named as axes in the
aircraft file must form a full grid; a result the handbook does not print is an
empty cell, never a missing row. Lines that begin with ``#`` are comments.
"""

import csv
import io
import itertools
import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from flyoff.core.files import read_text
from flyoff.core.problems import Collector, near_miss
from flyoff.core.quantity import QuantityError, parse_number
from flyoff.core.sources import Place
from flyoff.core.typing import Array, Floats
from flyoff.core.units import Unit, UnknownUnit, find_unit
from flyoff.dossier.airplane import TableFile

COLUMNS: dict[str, tuple[str, ...]] = {
    "pressure altitude": ("length",),
    "temperature": ("temperature",),
    "ISA deviation": ("temperature_difference",),
    "rpm": ("rotation_speed",),
    "manifold pressure": ("pressure",),
    "percent power": ("ratio",),
    "weight": ("mass",),
    "wind": ("speed",),
    "true airspeed": ("speed",),
    "indicated airspeed": ("speed",),
    "calibrated airspeed": ("speed",),
    "fuel flow": ("volume_flow", "mass_flow"),
    "power": ("power",),
    "rate of climb": ("speed",),
    "time": ("time",),
    "fuel": ("volume", "mass"),
    "distance": ("length",),
    "ground roll": ("length",),
    "total distance": ("length",),
    "rate of descent": ("speed",),
    "glide ratio": ("ratio_number",),
}
"""Names of table columns and the dimensions they may have."""

_HEADER = re.compile(r"^(?P<name>[^\[\]]+?)\s*\[(?P<unit>[^\[\]]+)\]$")
_NUMBER = Unit("", "ratio_number", 1.0)
_ROWS_MAX = 20_000
_GRID_SPARSEST = 4
_STEPS = (5, 10, 50, 100)
_ENOUGH = 6
"""Values from which the step of print can be told."""


@dataclass(frozen=True)
class Column:
    """One column: its SI values, rounding and unit; NaN where the handbook prints nothing."""

    name: str
    unit: Unit
    si: Array
    half_digit_si: Array

    @property
    def dimension(self) -> str:
        """The dimension of its unit."""
        return self.unit.dimension

    @property
    def digits_in_step(self) -> int:
        """How many of its last digits are one step of print: 10 where all of enough values end in 0."""
        digits = np.round((self.si - self.unit.offset) / (2 * self.half_digit_si))
        known = digits[np.isfinite(digits)]
        steps = [step for step in _STEPS if known.size >= _ENOUGH and np.all(known % step == 0)]
        return max(steps, default=1)


@dataclass(frozen=True)
class Corner:
    """One printed value that a reading rests on, and its weight in the reading."""

    line: int
    weight: float
    si: float
    half_digit_si: float
    where: str
    """The axis values of its row: what names the printed value, wherever its line moves."""


@dataclass(frozen=True)
class Table:
    """A handbook table as a grid over its axes."""

    record: TableFile
    file: str
    axes: tuple[Column, ...]
    results: dict[str, Column]
    lines: Array

    @property
    def axis_names(self) -> tuple[str, ...]:
        """The names of the axes, in the order of the grid."""
        return tuple(axis.name for axis in self.axes)

    @property
    def shape(self) -> tuple[int, ...]:
        """The number of values on each axis."""
        return tuple(axis.si.size for axis in self.axes)

    def axis(self, name: str) -> Column | None:
        """Return the axis of that name, or None."""
        return next((axis for axis in self.axes if axis.name == name), None)

    def printed(self, result: str, line: int) -> str:
        """Return a result as printed on one line of the file, with its unit."""
        column = self.results[result]
        index = int(np.flatnonzero(self.lines == line)[0])
        half_digit = float(column.half_digit_si[index]) / column.unit.factor
        if not np.isfinite(half_digit):
            return "empty"
        decimals = max(0, round(-np.log10(2 * half_digit)))
        return f"{column.unit.from_si(float(column.si[index])):,.{decimals}f} {column.unit.label}".rstrip()

    def read(self, result: str, **where: Floats) -> Array:
        """Return a result at points between the printed ones, linear in each axis.

        `where` gives each axis in SI, its name with underscores. Outside the
        grid, or beside an empty cell, the answer is NaN: a reader of the
        handbook has no value there.

        Raises
        ------
        KeyError
            If the table has no such result, or an axis is not given.
        """
        points = np.broadcast_arrays(
            *(np.asarray(where[name.replace(" ", "_")], dtype=np.float64) for name in self.axis_names)
        )
        axes = tuple(axis.si for axis in self.axes)
        return _interpolate(axes, self.results[result].si.reshape(self.shape), np.stack(points, axis=-1))

    def bend(self, result: str, **where: float) -> float:
        """Return how far a curve through the printed values may lie off the straight line between them.

        The error of linear interpolation, half of s (1 - s) of the second difference, s the
        share of the way from one printed value to the next; the larger of the second differences
        about the interval, added over the axes. 0 where an axis has no third value.
        """
        off = 0.0
        for axis in self.axes:
            name = axis.name.replace(" ", "_")
            right = int(np.searchsorted(axis.si, where[name]))
            if axis.si.size < 3 or not 0 < right < axis.si.size:
                continue
            share = (where[name] - axis.si[right - 1]) / (axis.si[right] - axis.si[right - 1])
            first, last = max(right - 2, 0), min(right + 2, axis.si.size)
            along: dict[str, Floats] = {**where, name: axis.si[first:last]}
            values = self.read(result, **along)
            slopes = np.diff(values) / np.diff(axis.si[first:last])
            steps = axis.si[right] - axis.si[right - 1]
            bends = np.abs(np.diff(slopes)) * steps
            known = bends[np.isfinite(bends)]
            off += float(share * (1 - share) / 2 * known.max()) if known.size else 0.0
        return off

    def corners(self, result: str, **where: float) -> tuple[Corner, ...]:
        """Return the printed values that one reading rests on, with weights that sum to one.

        Empty outside the grid and where a printed value with weight is missing.
        """
        column = self.results[result]
        along = []
        for axis in self.axes:
            point = where[axis.name.replace(" ", "_")]
            if not axis.si[0] <= point <= axis.si[-1]:
                return ()
            along.append(_corners(axis.si, point))
        corners = []
        for spot in itertools.product(*along):
            index = int(np.ravel_multi_index([i for i, _ in spot], self.shape))
            weight = math.prod(share for _, share in spot)
            at = ";".join(f"{a.si[i]:.9g}" for a, (i, _) in zip(self.axes, spot, strict=True))
            value, half_digit = float(column.si[index]), float(column.half_digit_si[index])
            corners.append(Corner(int(self.lines[index]), weight, value, half_digit, at))
        return () if any(math.isnan(corner.si) for corner in corners) else tuple(corners)


def _corners(axis: Array, point: float) -> tuple[tuple[int, float], ...]:
    """Return the indices of the printed values about a point, with their weights."""
    right = int(np.searchsorted(axis, point))
    if axis[right] == point:
        return ((right, 1.0),)
    share = float((point - axis[right - 1]) / (axis[right] - axis[right - 1]))
    return ((right - 1, 1 - share), (right, share))


def _interpolate(axes: tuple[Array, ...], grid: Array, asked: Array) -> Array:
    """Return linear interpolation that looks at no corner of zero weight."""
    single = [i for i, axis in enumerate(axes) if axis.size == 1]
    on_single = np.ones(asked.shape[:-1], dtype=bool)
    for i in single:
        on_single &= np.isclose(asked[..., i], axes[i][0], rtol=0, atol=1e-9)
    kept = [i for i in range(len(axes)) if i not in single]
    grid = np.squeeze(grid, axis=tuple(single)) if single else grid
    if not kept:
        return np.where(on_single, float(grid), np.nan)
    axes = tuple(axes[i] for i in kept)
    asked = asked[..., kept]
    # An empty corner must not spoil a point that it has no weight in: weigh the gaps apart.
    gaps = np.isnan(grid)
    value = RegularGridInterpolator(axes, np.where(gaps, 0.0, grid), bounds_error=False)(asked)
    gap_weight = RegularGridInterpolator(axes, gaps.astype(np.float64), bounds_error=False)(asked)
    known = on_single & (gap_weight.reshape(on_single.shape) < 1e-12)
    return np.where(known, value.reshape(on_single.shape), np.nan)


def read_table(path: Path, name: str, record: TableFile, collector: Collector) -> Table | None:
    """Return the table in a CSV file, or None with its faults in `collector`.

    Raises
    ------
    Problems
        If the file cannot be read as text.
    """
    before = len(collector.problems)
    reader = csv.reader(io.StringIO(read_text(path, name), newline=""))
    rows: list[tuple[int, list[str]]] = []
    try:
        rows.extend((reader.line_num, row) for row in reader if _says_something(row))
    except csv.Error as error:
        collector.add(Place(name, reader.line_num), f"not CSV: {error}", "expected cells separated by commas")
        return None
    if not rows:
        collector.add(Place(name), "no rows", "expected a header and at least one row")
        return None
    if len(rows) > _ROWS_MAX:
        collector.add(
            Place(name), f"{len(rows):,} rows", f"expected at most {_ROWS_MAX:,} in a handbook table"
        )
        return None
    (header_line, header), *body = rows
    if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
        where = Place(name, header_line)
        collector.add(where, "cells separated by semicolons or tabs", "expected commas between cells")
        return None
    heads = _heads(header, Place(name, header_line), collector)
    if not body:
        collector.add(Place(name, header_line), "a header and no rows", "expected at least one row")
    _check_axes(record, [head[0] for head in heads], Place(name, header_line), collector)
    _check_kind(record, [head[0] for head in heads], Place(name, header_line), collector)
    if len(collector.problems) > before:
        return None
    columns = _columns(heads, body, name, record.axes, collector)
    if len(collector.problems) > before:
        return None
    lines = np.array([line for line, _ in body], dtype=np.float64)
    return _grid(record, name, columns, lines, collector)


def _says_something(row: list[str]) -> bool:
    return any(cell.strip() for cell in row) and not row[0].lstrip().startswith("#")


def _heads(header: list[str], place: Place, collector: Collector) -> list[tuple[str, Unit]]:
    heads: list[tuple[str, Unit]] = []
    for text in header:
        stripped = " ".join(text.split())
        match = _HEADER.match(stripped)
        column = match["name"] if match else stripped
        where = Place(place.file, place.line, stripped)
        if column not in COLUMNS:
            known = ", ".join(COLUMNS)
            collector.add(where, "unknown column", f"expected one of {known}{near_miss(column, COLUMNS)}")
            continue
        if any(column == other for other, _ in heads):
            collector.add(where, "column given twice", "expected each column once")
            continue
        if COLUMNS[column] == ("ratio_number",):
            heads.append((column, _NUMBER))
            continue
        if not match:
            collector.add(where, "no unit", f"expected the unit in brackets, such as {column} [...]")
            continue
        unit = _unit_of(match["unit"], column)
        if unit is None:
            wanted = UnknownUnit(match["unit"], COLUMNS[column][0]).expected
            collector.add(where, f"unknown unit '{match['unit']}'", f"expected {wanted}")
            continue
        heads.append((column, unit))
    return heads


def _unit_of(text: str, column: str) -> Unit | None:
    for dimension in COLUMNS[column]:
        try:
            return find_unit(text, dimension)
        except UnknownUnit:
            continue
    return None


def _check_axes(record: TableFile, columns: list[str], place: Place, collector: Collector) -> None:
    for axis in record.axes:
        if axis not in columns:
            collector.add(
                place, f"no column '{axis}'", f"expected every axis as a column{near_miss(axis, columns)}"
            )
    if len(set(record.axes)) < len(record.axes):
        collector.add(place, "an axis named twice", "expected each axis once")
    if columns and set(columns) <= set(record.axes):
        collector.add(place, "only axes", "expected at least one column of results")


_CONDITIONS = ("pressure altitude", "temperature", "ISA deviation", "weight", "wind")
_SETTINGS = ("rpm", "manifold pressure", "percent power")
_AXES_OF = {
    "cruise": (*_CONDITIONS, *_SETTINGS),
    "climb": _CONDITIONS,
    "takeoff": _CONDITIONS,
    "landing": _CONDITIONS,
    "power": (*_CONDITIONS, *_SETTINGS),
    "glide": (*_CONDITIONS, "indicated airspeed", "calibrated airspeed"),
    "airspeed": ("weight", "indicated airspeed", "calibrated airspeed"),
}
"""What each kind of table can be entered with."""
_NEVER_NEGATIVE = ("time", "fuel", "distance", "ground roll", "total distance", "weight")
_POSITIVE = ("true airspeed", "fuel flow", "power", "rpm", "manifold pressure", "percent power")


def _check_kind(record: TableFile, columns: list[str], place: Place, collector: Collector) -> None:
    allowed = _AXES_OF[record.kind]
    for axis in record.axes:
        if axis in columns and axis not in allowed:
            expected = f"expected axes of a {record.kind} table among {', '.join(allowed)}"
            collector.add(place, f"'{axis}' as an axis", expected)
    if record.kind == "cruise" and "pressure altitude" not in record.axes:
        expected = "expected a cruise table to be entered by altitude"
        collector.add(place, "no axis 'pressure altitude'", expected)


def _columns(
    heads: list[tuple[str, Unit]],
    body: list[tuple[int, list[str]]],
    name: str,
    axes: tuple[str, ...],
    collector: Collector,
) -> dict[str, Column]:
    numbers = np.full((2, len(heads), len(body)), np.nan)
    for index, (line, row) in enumerate(body):
        if len(row) != len(heads):
            collector.add(Place(name, line), f"{len(row)} cells", f"expected {len(heads)}, as in the header")
            continue
        for position, (cell, (column, _)) in enumerate(zip(row, heads, strict=True)):
            if not cell.strip():
                if column in axes:
                    collector.add(Place(name, line, column), "empty cell", "expected a number on every axis")
                continue
            try:
                numbers[:, position, index] = parse_number(cell)
            except QuantityError as error:
                collector.add(Place(name, line, column), error.found, error.expected)
                continue
            if column in _NEVER_NEGATIVE and numbers[0, position, index] < 0:
                collector.add(Place(name, line, column), f"'{cell.strip()}'", "expected no less than zero")
            if column in _POSITIVE and numbers[0, position, index] <= 0:
                collector.add(Place(name, line, column), f"'{cell.strip()}'", "expected more than zero")
    return {
        column: Column(column, unit, unit.to_si(numbers[0, p]), numbers[1, p] * unit.factor)
        for p, (column, unit) in enumerate(heads)
    }


def _grid(
    record: TableFile, name: str, columns: dict[str, Column], lines: Array, collector: Collector
) -> Table | None:
    before = len(collector.problems)
    axes = [columns[axis] for axis in record.axes]
    values = [np.unique(axis.si) for axis in axes]
    positions = [np.searchsorted(v, a.si) for v, a in zip(values, axes, strict=True)]
    shape = tuple(v.size for v in values)
    if math.prod(shape) > _GRID_SPARSEST * lines.size:
        found = f"{lines.size:,} rows for {math.prod(shape):,} combinations of {' and '.join(record.axes)}"
        collector.add(Place(name), found, "expected a full grid over the axes")
        return None
    flat = np.ravel_multi_index(positions, shape)
    order = np.argsort(flat, kind="stable")
    for first, second in itertools.pairwise(order):
        if flat[first] == flat[second]:
            text = _where(axes, int(second))
            expected = f"expected each combination once; it is also on line {int(lines[first])}"
            collector.add(Place(name, int(lines[second])), f"a second row for {text}", expected)
    for missing in np.setdiff1d(np.arange(np.prod(shape)), flat)[:5]:
        spot = np.unravel_index(missing, shape)
        text = ", ".join(
            f"{a.name} {a.unit.from_si(float(v[i])):,.10g} {a.unit.label}".rstrip()
            for a, v, i in zip(axes, values, spot, strict=True)
        )
        over = " and ".join(record.axes)
        expected = f"expected a full grid over {over} (leave the results empty where none is printed)"
        collector.add(Place(name, int(lines[-1])), f"no row for {text}", expected)
    if len(collector.problems) > before:
        return None
    grid_axes = tuple(Column(a.name, a.unit, v, np.zeros_like(v)) for a, v in zip(axes, values, strict=True))
    results = {
        key: Column(key, column.unit, column.si[order], column.half_digit_si[order])
        for key, column in columns.items()
        if key not in record.axes
    }
    return Table(record, name, grid_axes, results, lines[order])


def _where(axes: list[Column], index: int) -> str:
    return ", ".join(f"{a.name} {a.unit.from_si(float(a.si[index])):,.10g} {a.unit.label}" for a in axes)
