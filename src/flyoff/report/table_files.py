"""Every table of a document as files: HTML, CSV, Markdown, and one workbook with all of them."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeAlias

import xlsxwriter
from markupsafe import escape

from flyoff.charts.language import ENGLISH, Language
from flyoff.core.figure import Figure, slug
from flyoff.core.wording import Wording
from flyoff.report.blocks import Cell, Document, Row, Table, TraceNote
from flyoff.report.html import printed
from flyoff.report.tables import guarded

Value: TypeAlias = str | float
_COLUMNS = ("value", "±", "unit", "note")
_MADE = datetime(2000, 1, 1)
"""Stands in a workbook for when it was made, so that the same tables give the same bytes."""


@dataclass(frozen=True)
class Sheet:
    """A table as a page of a workbook: its name, which is also its files', and where it stands."""

    name: str
    table: Table


def sheets(document: Document) -> tuple[Sheet, ...]:
    """Return the tables of a document, each with a name of its own."""
    taken: set[str] = set()
    tables = [(part.short, b) for part in document.parts for b in part.blocks if isinstance(b, Table)]
    return tuple(Sheet(_free(slug(short), taken), table) for short, table in tables)


def _free(name: str, taken: set[str]) -> str:
    """Return a name that is not taken yet, short enough for a workbook's page."""
    base = name[:27].rstrip("-") or "table"
    free = next(n for n in (base, *(f"{base}-{k}" for k in range(2, 1000))) if n not in taken)
    taken.add(free)
    return free


def headed(table: Table, language: Language) -> Table:
    """Return a table with its caption and the heads of its columns, groups and rows in a language."""
    if language.is_source:
        return table
    said = language.text
    groups = tuple(
        replace(g, title=said(g.title), rows=tuple(replace(r, head=said(r.head)) for r in g.rows))
        for g in table.groups
    )
    columns = tuple(replace(column, title=said(column.title)) for column in table.columns)
    return replace(
        table, caption=said(table.caption), corner=said(table.corner), columns=columns, groups=groups
    )


def table_files(document: Document, language: Language = ENGLISH) -> Iterator[tuple[str, bytes]]:
    """Yield the files of every table, those for readers headed in a language, and the workbook."""
    caution = language.text(document.caution)
    for sheet in sheets(document):
        wording, shown = document.wording, headed(sheet.table, language)
        yield f"{sheet.name}.html", html_table(shown, wording, caution).encode()
        yield f"{sheet.name}.csv", csv_table(sheet.table).encode()
        yield f"{sheet.name}.md", markdown_table(shown, wording, caution).encode()
    yield "tables.xlsx", workbook(document)


def _rows(table: Table) -> Iterator[tuple[str, Row]]:
    for group in table.groups:
        for row in group.rows:
            yield group.title, row


def said(cell: Cell, wording: Wording) -> str:
    """Return a cell in words, as a reader of the report sees it."""
    figure = cell.figure
    if figure is None:
        text = cell.text
    elif figure.si is None:
        text = f"missing: {cell.why or figure.missing}"
    else:
        parts = printed(figure, signed=cell.signed, wording=wording)
        text = f"{parts.value} ± {parts.u95}" if parts.u95 else parts.value
        text = " ".join(filter(None, (text, parts.unit, "(extrapolated)" if figure.extrapolated else "")))
    return f"{text} ({cell.note})" if cell.note else text


def html_table(table: Table, wording: Wording, caution: str) -> str:
    """Return a table as a piece of HTML to set into any page."""
    heads = "".join(f'<th scope="col">{escape(t)}</th>' for t in (table.corner, *_titles(table)))
    lines = ["<figure>", "<table>", f"<caption>{escape(table.caption)}</caption>"]
    lines += [f"<thead><tr>{heads}</tr></thead>"]
    for group in table.groups:
        lines.append("<tbody>")
        if group.title:
            span = len(table.columns) + 1
            lines.append(f'<tr><th scope="rowgroup" colspan="{span}">{escape(group.title)}</th></tr>')
        for row in group.rows:
            cells = "".join(f"<td>{escape(said(cell, wording))}</td>" for cell in row.cells)
            lines.append(f'<tr><th scope="row">{escape(row.head)}</th>{cells}</tr>')
        lines.append("</tbody>")
    return "\n".join([*lines, "</table>", f"<figcaption>{escape(caution)}</figcaption>", "</figure>", ""])


def markdown_table(table: Table, wording: Wording, caution: str) -> str:
    """Return a table in Markdown, its groups as rows of their own."""
    figures = table.figures or table.numbers
    rows = [[table.corner, *_titles(table)], ["---", *["---:" if figures else "---"] * len(table.columns)]]
    for group in table.groups:
        if group.title:
            rows.append([f"**{_plain(group.title)}**", *[""] * len(table.columns)])
        rows += [[_plain(r.head), *(_plain(said(c, wording)) for c in r.cells)] for r in group.rows]
    lines = [f"| {' | '.join(row)} |" for row in rows]
    return "\n".join([f"**{_plain(table.caption)}**", "", *lines, "", f"*{caution}*", ""])


def _plain(text: str) -> str:
    """Return a text that a Markdown table takes for words alone."""
    return " ".join("".join(f"\\{c}" if c in "|\\`*_[]<>" else c for c in text).split())


def _titles(table: Table) -> tuple[str, ...]:
    return tuple(column.title for column in table.columns)


def csv_table(table: Table) -> str:
    """Return a table as CSV (RFC 4180): numbers in full with a decimal point, intervals and units apart."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    for row in _flat(table):
        writer.writerow([guarded(value) for value in row])
    return stream.getvalue()


def _flat(table: Table) -> Iterator[list[Value]]:
    """Yield heads and rows with a column for each value, interval, unit and note of a figure."""
    if not table.figures:
        yield ["", table.corner, *_titles(table)]
        for group, row in _rows(table):
            yield [group, row.head, *(f"{c.text} ({c.note})" if c.note else c.text for c in row.cells)]
        return
    heads = [f"{title}, {part}" for title in _titles(table) for part in _COLUMNS]
    yield ["", table.corner, *heads]
    for group, row in _rows(table):
        yield [group, row.head, *(value for cell in row.cells for value in _parts(cell))]


def _parts(cell: Cell) -> tuple[Value, Value, str, str]:
    figure = cell.figure
    if figure is None:
        return cell.text, "", "", cell.note
    if figure.value is None or figure.u95 is None:
        return "", "", "", f"missing: {cell.why or figure.missing}"
    unit = "" if figure.dimension == "count" else figure.unit_label
    notes = (figure.basis, "extrapolated" if figure.extrapolated else "", cell.note)
    return figure.value, figure.u95 or "", unit, "; ".join(filter(None, notes))


def workbook(document: Document) -> bytes:
    """Return all tables as a workbook: numbers as numbers, shown as printed; and the figures' traces."""
    stream = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(stream, options)
    book.set_properties(
        {"title": document.title, "author": document.author, "comments": document.caution, "created": _MADE}
    )
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
    formats: dict[str, xlsxwriter.format.Format] = {}
    for sheet in sheets(document):
        page = book.add_worksheet(sheet.name)
        page.write(0, 0, sheet.table.caption, bold)
        page.write(1, 0, document.caution)
        for down, row in enumerate(_flat(sheet.table), 2):
            for across, value in enumerate(row):
                shown = bold if down == 2 else _shown(sheet.table, down - 3, across, book, formats)
                page.write(down, across, value, shown)
        page.freeze_panes(3, 2)
        page.set_column(0, 1, 26)
        page.set_column(2, 1 + 4 * len(sheet.table.columns), 12)
    _traces(book.add_worksheet("traces"), document, bold)
    book.close()
    return stream.getvalue()


def _shown(
    table: Table,
    row: int,
    column: int,
    book: xlsxwriter.Workbook,
    formats: dict[str, xlsxwriter.format.Format],
) -> xlsxwriter.format.Format | None:
    """Return the format that shows a figure's numbers with the decimals its uncertainty supports."""
    if not table.figures or column < 2:
        return None
    cells = [r for _, r in _rows(table)][row].cells
    figure = cells[(column - 2) // len(_COLUMNS)].figure
    if figure is None or figure.si is None:
        return None
    pattern = _pattern(figure)
    if pattern not in formats:
        formats[pattern] = book.add_format({"num_format": pattern})
    return formats[pattern]


def _pattern(figure: Figure) -> str:
    return "#,##0" + ("." + "0" * figure.decimals if figure.decimals > 0 else "")


def _traces(page: xlsxwriter.worksheet.Worksheet, document: Document, bold: object) -> None:
    heads = ("of", "figure", "label", "value", "±", "unit", "basis", "method", "source", "rests on", "place")
    for across, head in enumerate(heads):
        page.write(0, across, head, bold)
    down = 1
    for group, notes in document.index:
        for note in notes:
            for row in _trace_rows(group, note):
                for across, value in enumerate(row):
                    page.write(down, across, value)
                down += 1
    page.freeze_panes(1, 2)
    page.set_column(0, 2, 24)
    page.set_column(7, 10, 36)


def _trace_rows(group: str, note: TraceNote) -> Iterator[Sequence[Value]]:
    """Yield a line for each thing that a figure rests on, the figure itself on the first."""
    figure = note.figure
    value, interval, unit, _ = _parts(Cell(figure=figure))
    trace = figure.trace
    own = (group, figure.key, note.title, value, interval, unit, figure.basis, trace.method, trace.source)
    inputs = [(f"{given.label}: {given.text}", given.figure or given.where) for given in note.inputs]
    for number, (rests_on, place) in enumerate(inputs or [("", "")]):
        yield (*(own if number == 0 else (group, figure.key, *[""] * 7)), rests_on, place)
