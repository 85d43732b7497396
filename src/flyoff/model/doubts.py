"""Printed values that their neighbours contradict, columns that turn back, and gaps inside a table.

A printed value is in doubt when nothing explains it by rounding: neither a
smooth surface through all the others of its column, nor one with a kink (a
turbocharger's critical altitude), nor one of their logarithms or reciprocals
where they grow many times over, nor its next neighbours on any axis. How far
the surface may miss is what it misses the others by, above all those on the
same lines. The screen is the externally studentised residual (R. D. Cook and
S. Weisberg, Residuals and Influence in Regression, 1982, chapter 2: from memory).
"""

import itertools
import operator
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.dossier.read import Dossier
from flyoff.dossier.tables import Column, Table

_DEGREES = 6
_KINKED_DEGREES = 3
_SPARE = 3
_BETTER = 0.95
_TIMES = 3.5
_LEAST_HALVES = 2.0
_LOOKED_AT = 4
_MOST = 20
_FEW = 4
_STEEP = 1.5
"""A column that grows more than so many times over, as takeoff distances do, may be smooth as a
logarithm or a reciprocal: the climb over an obstacle is one over a gradient that nears nothing.
On one axis alone too many curves would explain too much."""
_NEIGHBOURS = ((-1, 1), (-2, -1, 1, 2))
_FROM_ONE_SIDE = ((1, 2, 3), (-3, -2, -1))
_RISES = {
    ("climb", "time"): ("pressure altitude",),
    ("climb", "fuel"): ("pressure altitude",),
    ("climb", "distance"): ("pressure altitude",),
    ("takeoff", "ground roll"): ("pressure altitude", "temperature", "weight"),
    ("takeoff", "total distance"): ("pressure altitude", "temperature", "weight"),
    ("landing", "ground roll"): ("pressure altitude", "temperature"),
    ("landing", "total distance"): ("pressure altitude", "temperature"),
}
"""What no handbook prints falling along an axis."""


@dataclass(frozen=True)
class TableDoubt:
    """A fault of a printed table: where, what is printed, and what would be expected."""

    place: Place
    found: str
    expected: str

    def __str__(self) -> str:
        """Return it in a sentence."""
        return f"{self.place}: {self.place.field}: {self.found}; {self.expected}"


def table_doubts(dossier: Dossier) -> tuple[TableDoubt, ...]:
    """Return what is doubtful in a dossier's tables: misprints, columns that turn back, gaps."""
    found: list[TableDoubt] = []
    for table in dossier.tables.values():
        for column in table.results.values():
            misprints = tuple(_misprints(table, column))
            found += [*misprints, *_turns(table, column, [d.place.line for d in misprints])]
        found += _gaps(table)
    return tuple(found)


@dataclass(frozen=True)
class _Grid:
    """One column: the printed values, where each stands, and half of the step that they are printed in."""

    axes: tuple[Array, ...]
    places: NDArray[np.intp]
    values: Array
    half: float

    @property
    def rounding(self) -> float:
        """The standard deviation of rounding."""
        return self.half / 3**0.5

    def without(self, row: int) -> "_Grid":
        """Return it without one value."""
        return replace(self, places=np.delete(self.places, row, 0), values=np.delete(self.values, row))

    def bent(self, row: int) -> tuple["_Grid", ...]:
        """Return a column that grows many times over in proportions, and turned upside down.

        Either has the value at `row`, and small changes of it, unchanged.
        """
        low, high = self.values.min(), self.values.max()
        if len(self.axes) == 1 or not low > 0 or high < _STEEP * low:
            return ()
        ratio = self.values / self.values[row]
        at, here = float(self.values[row]), (1 + np.log(ratio), 2 - 1 / ratio)
        return tuple(replace(self, values=at * values) for values in here)


def _misprints(table: Table, column: Column) -> Iterator[TableDoubt]:
    """Name the most doubtful value, take it out, and look again."""
    known = np.flatnonzero(np.isfinite(column.si))
    if known.size == 0:
        return
    places = np.stack(np.unravel_index(known, table.shape), axis=1)
    half = float(column.half_digit_si[known].max()) * _printed_step(column)
    grid = _Grid(tuple(axis.si for axis in table.axes), places, column.si[known], half)
    for _ in range(_MOST if half > 0 else 0):
        screened = _screen(grid)
        worst = [int(row) for row in np.argsort(-screened)[:_LOOKED_AT] if screened[row] > 1]
        upheld = [(*found, row) for row in worst if (found := _upheld(grid, row)) is not None]
        if not upheld:
            return
        _, said, row = max(upheld)
        index = int(np.ravel_multi_index(tuple(grid.places[row]), table.shape))
        yield _misprint(table, column, index, said, half)
        grid = grid.without(row)


def _misprint(table: Table, column: Column, index: int, suggested: float, half: float) -> TableDoubt:
    unit, line = column.unit, int(table.lines[index])
    step = 2 * half / unit.factor
    decimals = max(0, round(-np.log10(2 * float(column.half_digit_si[index]) / unit.factor)))
    near = f"{round(unit.from_si(suggested) / step) * step:,.{decimals}f} {unit.label}".rstrip()
    printed = table.printed(column.name, line)
    return TableDoubt(
        Place(table.file, line, column.name),
        f"{printed} departs from the values around it by more than rounding explains",
        f"they suggest about {near}: a misprint?",
    )


def _printed_step(column: Column) -> int:
    """Return the step that a column is printed in, in its last digits: 10 where nearly all end in 0."""
    with np.errstate(invalid="ignore", divide="ignore"):
        digits = np.round((column.si - column.unit.offset) / (2 * column.half_digit_si))
    known = digits[np.isfinite(digits)]
    for step in (100, 50, 20, 10, 5, 2):
        # one misprint must not hide the step of all the others
        if known.size >= _FEW and np.count_nonzero(known % step) <= known.size // 8:
            return step
    return 1


def _screen(grid: _Grid) -> Array:
    """Return how far each value is from a smooth surface through the others, over the most allowed."""
    design = _best(_smooth(grid), grid)
    if design is None:
        return np.zeros(grid.values.size)
    residual, kept = _residuals(design, grid.values)
    rows, terms = design.shape
    without = np.maximum(np.sum(residual**2) - residual**2 / kept, 0.0) / (rows - terms - 1)
    spread = np.maximum(without**0.5, grid.rounding)
    allowed = np.maximum(_TIMES * spread / kept**0.5, _LEAST_HALVES * grid.half)
    return np.asarray(np.abs(residual / kept) / allowed)


def _residuals(design: Array, values: Array) -> tuple[Array, Array]:
    """Return least-squares residuals and the share of each value that they keep."""
    basis = np.linalg.qr(design)[0]
    return values - basis @ (basis.T @ values), np.maximum(1 - np.square(basis).sum(axis=1), 1e-9)


def _best(designs: Iterator[Array], grid: _Grid) -> Array | None:
    """Return the design that foretells each value from the others best, by the median."""
    best, found = np.inf, None
    for design in designs:
        residual, kept = _residuals(design, grid.values)
        typical = max(float(np.median(np.abs(residual / kept))), 0.1 * grid.half)
        if typical < _BETTER * best:
            best, found = typical, design
    return found


def _upheld(grid: _Grid, row: int) -> tuple[float, float] | None:
    """Return how much too far a value is and what the others suggest, or None where something explains it."""
    value, place, others = grid.values[row], grid.places[row], grid.without(row)
    if any(abs(value - said) <= allowed for said, allowed in _beside(grid, row)):
        return None
    for bent in grid.bent(row):
        surfaces = _surfaces(bent.without(row), place, _smooth)
        said, allowed, _ = min(surfaces, key=operator.itemgetter(1), default=(np.inf, 0.0, 0.0))
        if abs(value - said) <= allowed:
            return None
    upheld: tuple[float, float] | None = None
    for designs in (_smooth, _kinked):
        if designs is _kinked and _in_corner(others, place):
            continue  # where a surface with a kink beside it can explain anything
        surfaces = _surfaces(others, place, designs)
        if not surfaces:
            continue
        # of the smooth ones the surest of this place, of the kinked ones that which misses the others least
        said, allowed, _ = min(surfaces, key=operator.itemgetter(2 if designs is _kinked else 1))
        if abs(value - said) <= allowed:
            return None
        upheld = upheld or (abs(value - said) / allowed, said)
    return upheld


def _surfaces(
    others: _Grid, place: NDArray[np.intp], designs: Callable[[_Grid], Iterator[Array]]
) -> list[tuple[float, float, float]]:
    """Return what each surface through the others foretells of a place."""
    wanted = replace(others, places=np.vstack([others.places, place]), values=np.append(others.values, 0.0))
    return [_foretold(design[:-1], design[-1], others, place) for design in designs(wanted)]


def _foretold(
    design: Array, there: Array, others: _Grid, place: NDArray[np.intp]
) -> tuple[float, float, float]:
    """Return what a surface says at a place, how far a value may be from it, and how it misses the others."""
    residual = np.abs(_residuals(design, others.values)[0])
    misfit = float(np.sqrt(np.sum(residual**2) / (len(design) - design.shape[1])))
    spread = max(misfit, others.rounding)
    for axis, index in enumerate(place):  # a misfit that a whole line shares is no misprint
        members = residual[others.places[:, axis] == index]
        if members.size >= _FEW:
            spread = max(spread, 1.48 * float(np.median(members)))
    weights = there @ np.linalg.pinv(design)
    leverage = float(weights @ weights)
    # the misfit of a surface grows faster than chance where it is carried into a corner
    carried = 2 * leverage if _in_corner(others, place) else 0.0
    most = others.half * float(1 + np.abs(weights).sum())
    allowed = max(_TIMES * spread * max((1 + leverage) ** 0.5, carried), most)
    return float(weights @ others.values), allowed, misfit


def _in_corner(grid: _Grid, place: NDArray[np.intp]) -> bool:
    ends = [index in (0, at.size - 1) for at, index in zip(grid.axes, place, strict=True)]
    return len(ends) > 1 and all(ends)


def _beside(grid: _Grid, row: int) -> Iterator[tuple[float, float]]:
    """Yield what the next neighbours on each axis say of a value, and what rounding allows."""
    place = grid.places[row]
    rows = {tuple(p): i for i, p in enumerate(grid.places.tolist())}
    for axis, at in enumerate(grid.axes):
        for steps in (*_NEIGHBOURS, *_FROM_ONE_SIDE):
            wanted = [tuple(place + step * (np.arange(place.size) == axis)) for step in steps]
            inside = tuple(place - np.sign(steps[1]) * (np.arange(place.size) == axis)) in rows
            if not all(p in rows for p in wanted) or (steps in _FROM_ONE_SIDE and inside):
                continue
            nodes = at[[p[axis] for p in wanted]]
            weights = _lagrange(nodes, float(at[place[axis]]))
            said = float(weights @ grid.values[[rows[p] for p in wanted]])
            yield said, 2 * grid.rounding * float(1 + weights @ weights) ** 0.5


def _lagrange(nodes: Array, at: float) -> Array:
    weights = np.ones(nodes.size)
    for i, node in enumerate(nodes):
        for other in np.delete(nodes, i):
            weights[i] *= (at - other) / (node - other)
    return weights


def _smooth(grid: _Grid, degrees: int = _DEGREES) -> Iterator[Array]:
    """Yield designs of smooth surfaces over the axes, of growing degree, while values are left over."""
    scaled = _scaled(grid)
    most = [np.unique(column).size - 1 for column in grid.places.T]
    before = 0
    for degree in range(1, degrees + 1):
        powers = [
            p for p in itertools.product(*(range(min(degree, m) + 1) for m in most)) if sum(p) <= degree
        ]
        if len(powers) == before or len(grid.places) < len(powers) + 1 + _SPARE:
            return
        before = len(powers)
        yield np.stack([np.prod([x**k for x, k in zip(scaled, p, strict=True)], axis=0) for p in powers], 1)


def _kinked(grid: _Grid) -> Iterator[Array]:
    """Yield the same surfaces with a kink at one printed value of one axis."""
    for x in _scaled(grid):
        for knot in np.unique(x)[1:-1]:
            for design in _smooth(grid, _KINKED_DEGREES):
                if len(grid.places) >= design.shape[1] + 2 + _SPARE:
                    yield np.column_stack([design, np.maximum(x - knot, 0.0)])


def _scaled(grid: _Grid) -> list[Array]:
    """Return each value's place on each axis between -1 and 1."""
    spans = (max(float(at[-1] - at[0]), 1e-9) for at in grid.axes)
    return [
        2 * (at[index] - at[0]) / span - 1
        for at, index, span in zip(grid.axes, grid.places.T, spans, strict=True)
    ]


def _turns(table: Table, column: Column, told: list[int]) -> Iterator[TableDoubt]:
    """Name where a column turns back: against what must rise, or more than once on one line."""
    grids = (array.reshape(table.shape) for array in (column.si, column.half_digit_si, table.lines))
    values, halves, numbers = grids
    for axis, entry in enumerate(table.axes):
        rising = entry.name in _RISES.get((table.record.kind, column.name), ())
        lines = (np.moveaxis(a, axis, -1).reshape(-1, entry.si.size) for a in (values, halves, numbers))
        for value, half, line in zip(*lines, strict=True):
            kept = np.flatnonzero(np.isfinite(value) & ~np.isin(line, told))
            for i in _turning(value[kept], half[kept], rising=rising):
                low, high = (int(line[kept[i + k]]) for k in (0, 1))
                then = f"{table.printed(column.name, low)}, then {table.printed(column.name, high)}"
                wanted = "rise throughout" if rising else "turn no more than once"
                yield TableDoubt(
                    Place(table.file, high, column.name), f"{then} as {entry.name} grows",
                    f"expected the column to {wanted}: a misprint in one of them?",
                )  # fmt: skip


def _turning(value: Array, half: Array, *, rising: bool) -> list[int]:
    """Return before which steps a line of values turns against what is expected of it."""
    step = np.diff(value)
    sign = np.sign(step) * (np.abs(step) > (half[1:] + half[:-1]) * (1 + 1e-9))
    if rising:
        return [int(i) for i in np.flatnonzero(sign < 0)]
    moves = np.flatnonzero(sign)
    turned = moves[1:][sign[moves[1:]] != sign[moves[:-1]]]
    return [int(i) for i in turned[:-1]] if turned.size > 1 else []


def _gaps(table: Table) -> Iterator[TableDoubt]:
    """Name empty cells between printed ones on one line of an axis."""
    lines = table.lines.reshape(table.shape)
    for column in table.results.values():
        known = np.isfinite(column.si.reshape(table.shape))
        inside = np.zeros(table.shape, dtype=bool)
        for axis in range(len(table.axes)):
            before = np.maximum.accumulate(known, axis=axis)
            after = np.flip(np.maximum.accumulate(np.flip(known, axis), axis=axis), axis)
            inside |= ~known & before & after
        for line in np.sort(lines[inside]):
            yield TableDoubt(
                Place(table.file, int(line), column.name), "empty between printed values",
                "expected a value: is it missing from the handbook, or from this file?",
            )  # fmt: skip
