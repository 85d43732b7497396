"""The document: complete, in words no stronger than the evidence."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from flyoff.comparison.results import Row as Asked
from flyoff.core.caution import CAUTION
from flyoff.core.figure import Figure, Trace
from flyoff.core.units import kt
from flyoff.report.blocks import DASH, Cell, Column, Document, Group, Row, Table, Text
from flyoff.report.comparing import verdict
from flyoff.report.document import build_document
from flyoff.report.html import printed
from flyoff.report.terms import source_words
from helpers import comparison_fixture

WHOLE = comparison_fixture.comparison()
DOCUMENT = build_document(WHOLE, comparison_fixture.SOURCES)


def tables(document: Document, anchor: str) -> Iterator[Table]:
    part = next(part for part in document.parts if part.anchor == anchor)
    yield from (block for block in part.blocks if isinstance(block, Table))


def rows(table: Table) -> dict[str, Row]:
    return {row.head: row for group in table.groups for row in group.rows}


def test_every_term_is_told_with_its_place_and_source() -> None:
    (table,) = tables(DOCUMENT, "terms")
    found = rows(table)
    assert found["Cruise power"].cells[0].text == "65 %"
    assert found["Cruise power"].cells[1] == Cell("Terms agreed by the editors", note="study.toml:12")
    assert {"Pressure altitude", "Temperature", "Head wind", "Reserve", "Bags", "Child, small"} <= set(found)
    assert {"jet-a1, density", "jet-a1, price", "avgas, density", "Autopilot"} <= set(found)
    assert found["Reserve"].cells[0].note == WHOLE.terms.reserve_rule


def test_every_quantity_of_every_airplane_has_its_cell() -> None:
    (table,) = tables(DOCUMENT, "figures")
    assert [column.title for column in table.columns] == [entry.name for entry in WHOLE.entries]
    keys = [cell.figure.key for row in rows(table).values() for cell in row.cells if cell.figure]
    assert keys == [f"{e.key}.{row.quantity}" for row in WHOLE.rows for e in WHOLE.entries]


def test_the_caution_stands_at_loading_range_fuel_trips_and_flight() -> None:
    for anchor in ("figures", "range", "balance", "trips", "flown"):
        part = next(part for part in DOCUMENT.parts if part.anchor == anchor)
        assert part.blocks[0] == Text(CAUTION, "caution"), anchor
    assert DOCUMENT.caution == CAUTION


def test_trips_say_whether_they_are_nonstop() -> None:
    (table,) = tables(DOCUMENT, "trips")
    assert table.groups[0].title == "Office to the islands, 704 nmi, EKCH to EKVG"
    nonstop = table.groups[0].rows[-1]
    assert nonstop.cells[0].text == "yes"
    assert nonstop.cells[2].text == "no: fuel for 655 nmi with these people aboard"
    assert table.groups[2].rows[-1].cells[2].text == "not known: no climb table, so no time to height"


def test_options_are_named_as_written() -> None:
    options = list(tables(DOCUMENT, "prices"))[1]
    assert list(rows(options)) == ["weeping wing", "air conditioning", "oxygen"]
    assert rows(options)["oxygen"].cells[2].text == "—"


def test_a_missing_difference_names_the_airplane_without_evidence() -> None:
    (table,) = tables(DOCUMENT, "differences")
    cell = rows(table)["Price as compared"].cells[1]
    assert cell.why == "no figure for Rita RG"
    assert cell.note == ""


def test_a_dash_is_explained_where_it_stands() -> None:
    tables_ = [b for part in DOCUMENT.parts for b in part.blocks if isinstance(b, Table)]
    dashed = [
        t for t in tables_ if any(c.text == DASH for g in t.groups for row in g.rows for c in row.cells)
    ]
    assert dashed
    assert all(table.heading == f"{table.caption}; {DASH} where {table.dash}" for table in dashed)
    assert all(table.heading == table.caption for table in tables_ if table not in dashed)


def test_columns_of_numbers_are_told_from_words() -> None:
    rows = (
        Row("1", (Cell("1,180", note="± 27"), Cell("climb"), Cell("−1,090.5 ± 0.4"), Cell(DASH))),
        Row("2", (Cell(DASH), Cell("12"), Cell("+3 ± 1"), Cell(DASH))),
    )
    table = Table("t", "", tuple(map(Column, "abcd")), (Group("", rows),), False, True)
    assert [table.counts(column) for column in range(4)] == [True, False, True, False]


def test_a_group_of_one_unit_tells_it_once() -> None:
    def group(*units: str) -> Group:
        trace = Trace("m", "s")
        cells = [Cell(figure=Figure(u, u, u, "speed", 1.0, "declared", trace)) for u in units]
        return Group("Speeds", tuple(Row("", (cell,)) for cell in cells))

    assert group("kt", "kt").unit == "kt"
    assert group("kt", "km/h").unit == group("kt").unit == ""


def test_remarks_are_numbered_under_their_table() -> None:
    (table,) = tables(DOCUMENT, "figures")
    assert table.notes == ("carried on from the last two rows",)


def test_terms_that_a_whole_row_shares_are_said_once() -> None:
    def figure(terms: dict[str, str]) -> Cell:
        trace = Trace("m", "s")
        return Cell(figure=Figure("a.b", "b", "kt", "speed", 1.0, "declared", trace, terms=terms))

    row = Row("b", (figure({"occupants": "4"}), figure({"occupants": "4", "fuel": "full"}), Cell("—")))
    assert row.shared_terms == {"occupants": "4"}
    assert row.own_terms(row.cells[0]) == {}
    assert row.own_terms(row.cells[1]) == {"fuel": "full"}


def difference_of(value_kt: float, u_kt: float) -> Figure:
    draws = (value_kt + u_kt * np.random.default_rng(1).standard_normal(2000)) * kt if u_kt else None
    return Figure("a-b.x", "x", "kt", "speed", value_kt * kt, "handbook", Trace("m", "s"), draws)


@pytest.mark.parametrize(
    ("value_kt", "u_kt", "better", "words"),
    [
        (10.0, 1.0, "more", "favours Lomvi 4"),
        (-10.0, 1.0, "more", "favours Tjaldur Six"),
        (10.0, 1.0, "less", "favours Tjaldur Six"),
        (1.0, 1.0, "more", "within the uncertainty; Lomvi 4 better with 83 %"),
        (1.0, 1.0, "less", "within the uncertainty; Tjaldur Six better with 83 %"),
        (10.0, 1.0, "", "beyond the uncertainty"),
        (0.0, 0.0, "more", "the same"),
        (10.0, 0.0, "less", "favours Tjaldur Six"),
    ],
)
def test_no_airplane_is_favoured_within_the_uncertainty(
    value_kt: float, u_kt: float, better: str, words: str
) -> None:
    first, rival = WHOLE.entries[:2]
    assert verdict(difference_of(value_kt, u_kt), Asked("x", "X", "g", better), first, rival) == words


def test_the_index_traces_every_figure_once() -> None:
    keys = [note.figure.key for _, notes in DOCUMENT.index for note in notes]
    assert sorted(keys) == sorted(WHOLE.figures)
    names = [name for name, _ in DOCUMENT.index]
    assert names[:4] == [entry.name for entry in WHOLE.entries]
    assert "Lomvi 4 less Rita RG" in names


def test_a_trace_links_both_ways() -> None:
    notes = {note.figure.key: note for _, group in DOCUMENT.index for note in group}
    assert [given.figure for given in notes["lomvi.range"].inputs] == [
        "lomvi.cruise_speed",
        "lomvi.cruise_fuel_flow",
    ]
    assert "lomvi.range" in [key for key, _ in notes["lomvi.cruise_speed"].used_by]


def test_a_source_keeps_its_page_and_an_unknown_one_its_name() -> None:
    sources = comparison_fixture.SOURCES
    assert source_words("terms", sources) == "Terms agreed by the editors"
    assert source_words("terms, p. 5-4", sources) == "Terms agreed by the editors, p. 5-4"
    assert source_words("hearsay, p. 1", sources) == "hearsay, p. 1"
    assert source_words(None, sources) == "—"


def test_printed_parts_are_those_of_the_figure() -> None:
    """Parts apart say what the figure itself prints: no digit finer than the uncertainty."""
    for figure in WHOLE.figures.values():
        if figure.si is None:
            with pytest.raises(ValueError, match="is missing"):
                printed(figure)
            continue
        parts = printed(figure)
        whole = f"{parts.value} ± {parts.u95}" if parts.u95 else parts.value
        assert (f"{whole} {parts.unit}" if parts.unit else whole) == str(figure)


@pytest.mark.parametrize(("value_kt", "text"), [(3.0, "+3"), (-3.0, "−3"), (0.2, "0")])
def test_a_difference_shows_its_sign(value_kt: float, text: str) -> None:
    assert printed(difference_of(value_kt, 2.5), signed=True).value == text


def test_a_bare_comparison_has_no_empty_parts() -> None:
    bare = replace(
        WHOLE,
        speed_curves=(),
        payload_ranges=(),
        balances=(),
        trip_legs=(),
        book=(),
        seats=(),
        rings=(),
        inspections=(),
        answers=(),
        swings=(),
        ownership=None,
    )
    anchors = [part.anchor for part in build_document(bare, {}).parts]
    assert anchors == [
        "airplanes", "terms", "figures", "differences", "prices", "evidence", "methods", "sources",
    ]  # fmt: skip
