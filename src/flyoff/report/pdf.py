"""The report as a tagged PDF (PDF/UA-1) on A4 or Letter paper, set from the same blocks as the page."""

import json
import re
from collections.abc import Iterator, Mapping
from importlib import resources
from typing import Any, Literal, TypeAlias

import typst

from flyoff.core.wording import Wording
from flyoff.report.blocks import (
    Block,
    Cards,
    Cell,
    Document,
    Drawing,
    Group,
    Items,
    Key,
    Picture,
    Row,
    Table,
    Text,
)
from flyoff.report.document import BASES, METHODS
from flyoff.report.html import printed
from flyoff.report.pdf_traces import appendix, traced_figures

Paper: TypeAlias = Literal["a4", "us-letter"]
PAPERS: dict[str, Paper] = {"report-a4.pdf": "a4", "report-letter.pdf": "us-letter"}
"""Each file of the report and the paper it is set on."""

MOST_NOTES = 10
"""Remarks below a table; where there are more, the traces alone tell them."""

MANY = 7
"""Columns above which a table is set small."""

LINE, SMALL_LINE = 125, 150
"""Characters that a line across a table holds, and across one set small."""

LEAST, BETWEEN = 9, 3
"""Characters that a long column keeps at least, and that stand between two columns."""

_Record: TypeAlias = dict[str, Any]


class Traces:
    """Which figures a document traces, and which of them it has shown while it is gone through."""

    def __init__(self, told: frozenset[str]) -> None:
        self.told = told
        self._fresh = set(told)

    def is_first(self, key: str) -> bool:
        """Tell whether a traced figure is shown for the first time."""
        first = key in self._fresh
        self._fresh.discard(key)
        return first


class Typesetter:
    """Sets one document on any paper: what it says is gathered once."""

    def __init__(self, document: Document, drawings: Mapping[str, Drawing], marks: Mapping[str, str]) -> None:
        told = _numbered(_document(document, drawings, marks), document.wording)
        self._data = json.dumps(told, ensure_ascii=False, allow_nan=False)

    def set(self, paper: Paper) -> bytes:
        """Return the PDF; the same document gives the same bytes."""
        assets = resources.files("flyoff.report").joinpath("templates")
        fonts = resources.files("flyoff.charts").joinpath("fonts")
        with resources.as_file(assets) as folder, resources.as_file(fonts) as faces:
            made = typst.compile(
                str(folder / "report.typ"),
                root=str(folder),
                font_paths=[str(faces)],
                ignore_system_fonts=True,
                format="pdf",
                sys_inputs={"data": self._data, "paper": paper},
                pdf_standards=["ua-1"],
            )
        assert isinstance(made, bytes)
        return made


def _document(document: Document, drawings: Mapping[str, Drawing], marks: Mapping[str, str]) -> _Record:
    traces = Traces(traced_figures(document))
    return {
        "title": document.title,
        "author": document.author,
        "summary": document.summary,
        "caution": document.caution,
        "parts": [
            {
                "anchor": part.anchor,
                "title": part.title,
                "blocks": [
                    _block(block, drawings, traces) for block in part.blocks if _is_set(block, document)
                ],
            }
            for part in document.parts
        ],
        "marks": {key: _standalone(mark) for key, mark in marks.items()},
        "appendix": appendix(document, traces.told) if document.index else None,
    }


def _is_set(block: Block, document: Document) -> bool:
    """Tell whether a block is set: the table of methods is not where the traces number them."""
    return not (document.index and isinstance(block, Table) and block.caption == METHODS)


def _numbered(told: Any, wording: Wording) -> Any:
    """Return a record with the numbers of its figures in the house's numerals."""
    if isinstance(told, dict):
        return {
            key: wording.numerals(value)
            if key in {"value", "u95"} and isinstance(value, str)
            else _numbered(value, wording)
            for key, value in told.items()
        }
    return [_numbered(part, wording) for part in told] if isinstance(told, list | tuple) else told


def _standalone(mark: str) -> str:
    """Return an SVG that stands inside a page as one that stands alone."""
    return str(mark).replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)


def _block(block: Block, drawings: Mapping[str, Drawing], traces: Traces) -> _Record:
    match block:
        case Text():
            told: _Record = {"text": block.text, "tone": block.tone}
        case Items():
            told = {"items": block.items}
        case Table():
            told = _table(block, traces)
        case Picture():
            drawing = drawings[block.name]
            caption = f"{drawing.title}. {block.caption}."
            told = {"svg": drawing.wide, "alt": drawing.alt, "caption": caption}
        case Cards():
            told = {
                "cards": [
                    {
                        "aircraft": card.aircraft,
                        "name": card.name,
                        "maker": card.maker,
                        "summary": card.summary,
                        "facts": card.facts,
                    }
                    for card in block.cards
                ]
            }
        case Key():
            told = {"entries": block.entries}
    return {"kind": block.kind, **told}


def _table(table: Table, traces: Traces) -> _Record:
    few = len(table.notes) <= MOST_NOTES
    notes = {note: number for number, note in enumerate(table.notes, 1)} if few else {}
    return {
        "caption": table.heading,
        "corner": table.corner,
        "columns": [{"title": column.title, "aircraft": column.aircraft} for column in table.columns],
        "groups": [_group(group, notes, traces) for group in table.groups],
        "notes": list(notes),
        "few": few,
        "widths": _widths(table),
        "small": len(table.columns) > MANY,
    }


def _group(group: Group, notes: Mapping[str, int], traces: Traces) -> _Record:
    shared = _group_terms(group)
    terms = [f"{name}: {text}" for name, text in shared.items() if not _is_told(text, group.title)]
    return {
        "title": group.title,
        "terms": "; ".join(terms),
        "rows": [_row(row, group.title, shared, notes, traces) for row in group.rows],
    }


def _group_terms(group: Group) -> dict[str, str]:
    """Return the terms that differ in all figures of a titled group alike: told once, with its title."""
    rows = [row.shared_terms for row in group.rows if any(cell.figure for cell in row.cells)]
    if not group.title or len(rows) < 2:
        return {}
    return {name: text for name, text in rows[0].items() if all(row.get(name) == text for row in rows)}


def _row(row: Row, group: str, told: Mapping[str, str], notes: Mapping[str, int], traces: Traces) -> _Record:
    shared = [
        f"{name}: {text}"
        for name, text in row.shared_terms.items()
        if name not in told and not _is_told(text, f"{group}; {row.head}; {row.note}")
    ]
    return {
        "head": row.head,
        "notes": [*([row.note] if row.note else []), *shared],
        "anchor": row.anchor,
        "cells": [_cell(cell, row, notes, traces) for cell in row.cells],
    }


def _is_told(term: str, words: str) -> bool:
    """Tell whether each part of a term stands whole among some words."""
    parts = (rf"(?<![\w.,−]){re.escape(part)}(?!\w)" for part in term.split(", "))
    return all(re.search(part, words) for part in parts)


def _cell(cell: Cell, row: Row, notes: Mapping[str, int], traces: Traces) -> _Record:
    figure = cell.figure
    if figure is None:
        return {"figure": None, "text": cell.text, "note": cell.note}
    told: _Record = {
        "key": figure.key,
        "traced": figure.key in traces.told,
        "first": traces.is_first(figure.key),
        "basis": BASES[figure.basis][0],
        "extrapolated": figure.extrapolated,
        "terms": [
            f"{name}: {text}"
            for name, text in row.own_terms(cell).items()
            if f"{name} {text}" not in cell.note
        ],
        "remarks": [notes[remark] for remark in figure.remarks if remark in notes],
        "missing": "" if figure.si is not None else cell.why or figure.missing,
    }
    if figure.si is not None:
        parts = printed(figure, signed=cell.signed)
        told |= {"value": parts.value, "u95": parts.u95, "unit": parts.unit}
    return {"figure": told, "text": "", "note": cell.note}


def _widths(table: Table) -> list[int]:
    """Return the shares of a table's columns in its width, by the length of what stands in them."""
    rows = [row for group in table.groups for row in group.rows]
    longest = [
        max([_wrapped(column.title), *(_length(row.cells[index]) for row in rows)])
        for index, column in enumerate(table.columns)
    ]
    if any(column.aircraft for column in table.columns):
        longest = [max(longest)] * len(longest)
    lengths = [max([12, len(table.corner), *_head_lengths(table)]), *longest]
    most, room = max(lengths), LINE if len(longest) <= MANY else SMALL_LINE
    while most > LEAST and sum(min(length, most) + BETWEEN for length in lengths) > room:
        most -= 1
    return [min(length, most) + BETWEEN for length in lengths]


def _head_lengths(table: Table) -> Iterator[int]:
    for group in table.groups:
        told = _group_terms(group)
        for row in group.rows:
            terms = (f"{name}: {text}" for name, text in row.shared_terms.items() if name not in told)
            yield max([len(row.head), *map(_wrapped, (row.note, *terms))])


def _length(cell: Cell) -> int:
    figure = cell.figure
    told = len(cell.text) if figure is None else len(f"{figure.number} {figure.unit_label}") + 4
    return max(told, _wrapped(cell.note))


def _wrapped(text: str) -> int:
    """Return how long the lines are that words on two lines come to."""
    return max([len(text) // 2, *map(len, text.split())])
