"""Tables as files: numbers stay numbers, words stay words, the house's units everywhere."""

import csv
import io
from dataclasses import replace

import openpyxl
import pytest
from markdown_it import MarkdownIt

from flyoff.core.wording import Wording
from flyoff.report.blocks import Cell, Column, Document, Group, Part, Row, Table
from flyoff.report.document import build_document
from flyoff.report.table_files import csv_table, markdown_table, sheets, table_files, workbook
from flyoff.report.worded import worded
from helpers import comparison_fixture as fixture

METRIC = Wording("metric", decimal=",", thousands=".")


@pytest.fixture(scope="module")
def document() -> Document:
    return build_document(fixture.comparison(), fixture.SOURCES)


def main_table(document: Document) -> Table:
    return next(sheet.table for sheet in sheets(document) if sheet.name == "figures")


def hostile() -> Table:
    cells = (Cell("=1+1"), Cell("a | b <i>\n*c*"))
    row = Row("@name", cells)
    return Table("x", "=corner", (Column("A"), Column("B")), (Group("", (row,)),), figures=False)


def test_every_table_has_every_form_and_the_same_bytes(document: Document) -> None:
    made = dict(table_files(document))
    names = {sheet.name for sheet in sheets(document)}
    assert set(made) == {"tables.xlsx", *(f"{name}.{e}" for name in names for e in ("html", "csv", "md"))}
    assert dict(table_files(document)) == made
    for name in names:
        assert "Not for flight planning" in made[f"{name}.html"].decode()
        assert "Not for flight planning" in made[f"{name}.md"].decode()


def test_a_workbook_holds_numbers_shown_as_printed_and_their_traces(document: Document) -> None:
    """Read by another library than wrote it."""
    book = openpyxl.load_workbook(io.BytesIO(workbook(document)))
    assert book.sheetnames == [*(sheet.name for sheet in sheets(document)), "traces"]
    page = book["figures"]
    figure = fixture.comparison().figures["lomvi.useful_load"]
    row = next(row for row in page.iter_rows(min_row=4) if row[1].value == "Useful load")
    assert row[2].value == pytest.approx(figure.value)
    assert row[3].value == pytest.approx(figure.u95)
    assert row[4].value == "lb"
    assert row[2].number_format == "#,##0"
    traces = list(book["traces"].values)
    assert {line[1] for line in traces[1:]} == set(fixture.comparison().figures)
    first = next(line for line in traces if line[1] == figure.key)
    assert (first[3], first[6]) == (pytest.approx(figure.value), figure.basis)


def test_csv_has_numbers_in_full_with_a_point(document: Document) -> None:
    rows = list(csv.reader(io.StringIO(csv_table(main_table(worded(document, METRIC))))))
    assert rows[0][2:6] == ["Lomvi 4, value", "Lomvi 4, ±", "Lomvi 4, unit", "Lomvi 4, note"]
    load = next(row for row in rows if row[1] == "Useful load")
    kilograms = fixture.comparison().figures["lomvi.useful_load"].si
    assert kilograms is not None
    assert (float(load[2]), load[4]) == (pytest.approx(kilograms), "kg")


def test_markdown_is_the_table_a_reader_sees(document: Document) -> None:
    table = main_table(document)
    shown = MarkdownIt("commonmark").enable("table").render(markdown_table(table, Wording(), "caution"))
    assert shown.count("<tr>") == 1 + sum(len(g.rows) + bool(g.title) for g in table.groups)
    assert "1,234 ± 12 lb" in shown


def test_no_text_becomes_a_formula_or_markup() -> None:
    table = hostile()
    assert "'=1+1" in csv_table(table) and "'@name" in csv_table(table)
    rendered = MarkdownIt("commonmark").enable("table").render(markdown_table(table, Wording(), ""))
    assert "a | b &lt;i&gt; *c*" in rendered
    part = Part("p", "P", "P", (table,))
    whole = Document("t", "", "", "", (part,), ())
    page = openpyxl.load_workbook(io.BytesIO(workbook(whole)))["p"]
    assert [cell.data_type for cell in page[4]] == ["n", "s", "s", "s"]


def test_a_document_is_worded_but_what_a_trace_quotes(document: Document) -> None:
    metric = worded(document, METRIC)
    text = markdown_table(main_table(metric), metric.wording, "")
    assert "560 ± 5 kg" in text and " lb" not in text and " kt" not in text and "26,2 ± 0,7 L/h" in text
    quoted = [i for _, notes in document.index for note in notes for i in note.inputs if not i.figure]
    kept = [i for _, notes in metric.index for note in notes for i in note.inputs if not i.figure]
    assert kept == quoted
    both = worded(document, Wording("both"))
    assert "1,234 ± 12 lb (560 ± 5 kg)" in markdown_table(main_table(both), both.wording, "")
    assert worded(document, Wording()) is document
    assert replace(metric, wording=document.wording).title == document.title
