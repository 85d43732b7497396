"""A document in the house's units and numerals: figures converted exactly, words restated."""

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from flyoff.core.figure import Figure
from flyoff.core.wording import Wording
from flyoff.report.blocks import Cell, Document, TraceInput

T = TypeVar("T")
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


def _cell(cell: Cell, wording: Wording) -> Cell:
    """Return a cell in the house's units; the other system stands below, where both are wanted."""
    note = wording.text(cell.note)
    figure = _figure(cell.figure, wording) if cell.figure else None
    beside = wording.beside(figure) if figure and figure.si is not None else None
    if beside:
        note = "; ".join(part for part in (wording.numerals(str(beside)), note) if part)
    return replace(cell, text=wording.text(cell.text), figure=figure, note=note, why=wording.text(cell.why))
