"""A document in the house's units and numerals: figures converted exactly, words restated."""

import re
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from flyoff.core.figure import Figure
from flyoff.core.wording import CONVERTED, Wording
from flyoff.report.blocks import Cell, Column, Document, Row, Table, TraceInput

T = TypeVar("T")
_HALF = re.compile(r"±\u00a0([\d,.]+)")
_VERBATIM = {
    "anchor",
    "aircraft",
    "author",
    "figure",
    "key",
    "kind",
    "maker",
    "name",
    "seen",
    "source",
    "tone",
    "wording",
    "used_by",
    "where",
}
"""Fields that name things, which no house rewords."""


def worded(document: Document, wording: Wording) -> Document:
    """Return a document as a house words it; what a trace quotes from a file stays as it stands there."""
    if wording.plain:
        return document
    changed: Document = _changed(document, wording)
    return replace(changed, wording=wording)


def _changed(value: Any, wording: Wording) -> Any:
    if isinstance(value, str):
        return wording.text(value)
    if isinstance(value, Figure):
        return _figure(value, wording)
    if isinstance(value, Table) and wording.system != "as written":
        value = _in_columns(value, wording)
    if isinstance(value, Cell):
        return _cell(value, wording)
    if isinstance(value, TraceInput) and not value.figure:
        return value
    if isinstance(value, tuple):
        return tuple(_changed(part, wording) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        parts = {
            field.name: _changed(getattr(value, field.name), wording)
            for field in fields(value)
            if field.name not in _VERBATIM or isinstance(getattr(value, field.name), Figure)
        }
        return replace(value, **parts)
    return value


def _figure(figure: Figure, wording: Wording) -> Figure:
    same = wording.figure(figure)
    terms = {name: wording.text(text) for name, text in figure.terms.items()}
    remarks = tuple(wording.text(remark) for remark in figure.remarks)
    return replace(
        same, terms=terms, remarks=remarks, label=wording.text(same.label), missing=wording.text(same.missing)
    )


def _in_columns(table: Table, wording: Wording) -> Table:
    """Return a table whose columns name their unit with every number of them in the house's."""
    units = [_unit_of(column) for column in table.columns]
    if not any(unit and wording.unit(unit) != unit for unit in units):
        return table
    columns = tuple(
        replace(column, title=f"{column.title.removesuffix(unit)}{wording.unit(unit)}") if unit else column
        for column, unit in zip(table.columns, units, strict=True)
    )
    groups = tuple(
        replace(group, rows=tuple(_row_in(row, units, wording) for row in group.rows))
        for group in table.groups
    )
    return replace(table, columns=columns, groups=groups)


def _unit_of(column: Column) -> str:
    name, comma, unit = column.title.rpartition(", ")
    return unit if comma and name and unit in CONVERTED else ""


def _row_in(row: Row, units: list[str], wording: Wording) -> Row:
    cells = (_cell_in(cell, unit, wording) for cell, unit in zip(row.cells, units, strict=True))
    return replace(row, cells=tuple(cells))


def _cell_in(cell: Cell, unit: str, wording: Wording) -> Cell:
    """Return a cell of a column in some unit; its interval may stand below it, and it may list several."""
    if not unit or cell.figure:
        return cell
    half = _HALF.match(cell.note)
    if half is None:
        return replace(cell, text=", ".join(wording.number(part, unit) for part in cell.text.split(", ")))
    text, _, below = wording.number(f"{cell.text} ± {half[1]}", unit).partition(" ± ")
    return replace(cell, text=text, note=f"±\u00a0{below}{cell.note[half.end() :]}")


def _cell(cell: Cell, wording: Wording) -> Cell:
    """Return a cell in the house's units; the other system stands below, where both are wanted."""
    note = wording.text(cell.note)
    figure = _figure(cell.figure, wording) if cell.figure else None
    beside = wording.beside(figure) if figure and figure.si is not None else None
    if beside:
        note = "; ".join(part for part in (wording.numerals(str(beside)), note) if part)
    return replace(cell, text=wording.text(cell.text), figure=figure, note=note, why=wording.text(cell.why))
