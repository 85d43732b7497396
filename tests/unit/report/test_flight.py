"""A flight's document: complete, no number finer than its interval, what is wrong with it said."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from flyoff.core.caution import CAUTION
from flyoff.report.blocks import Document, Items, Part, Picture, Row, Table, Text
from flyoff.report.document import build_document
from flyoff.report.flight import MOST_REPAIRS, condition_anchor, flight_document, flight_part
from helpers import comparison_fixture
from helpers.flown_days import REFUSED, day_of, hostile_day

DAY = day_of("sample.csv")
DOCUMENT = flight_document(DAY)


def part(document: Document, anchor: str) -> Part:
    return next(part for part in document.parts if part.anchor == anchor)


def rows(found: Part) -> Iterator[Row]:
    for block in found.blocks:
        if isinstance(block, Table):
            yield from (row for group in block.groups for row in group.rows)


def test_every_point_has_its_row_and_anchor() -> None:
    found = list(rows(part(DOCUMENT, "points")))
    assert [row.anchor for row in found] == [condition_anchor(DAY, n) for n in range(len(DAY.data["points"]))]
    assert len({row.anchor for row in found}) == len(found) > 10


def test_numbers_are_those_of_the_json_and_no_finer_than_their_interval() -> None:
    (table,) = (b for b in part(DOCUMENT, "points").blocks if isinstance(b, Table))
    column = [c.title for c in table.columns].index("True, kt")
    told = 0
    for row, point in zip(table.groups[0].rows, DAY.data["points"], strict=True):
        cell, half = row.cells[column], point["tas_kt_u95"]
        if point["tas_kt"] is None:
            assert cell.text == "—"
            continue
        told += 1
        assert float(cell.text.replace(",", "")) == pytest.approx(point["tas_kt"], abs=half / 2)
        decimals = len(cell.text.partition(".")[2])
        assert 10.0**-decimals <= half
    assert told


def test_what_is_wrong_with_a_condition_is_said_once_and_pointed_to() -> None:
    flags = dict.fromkeys(flag for p in DAY.data["points"] for flag in p["flags"])
    items = next(b for b in part(DOCUMENT, "points").blocks if isinstance(b, Items)).items
    assert [item.partition(": ")[2] for item in items] == list(flags)
    for row, point in zip(rows(part(DOCUMENT, "points")), DAY.data["points"], strict=True):
        assert ("see " in row.note) == bool(point["flags"])


def test_a_refused_group_says_why() -> None:
    (first, *_) = (row for row in rows(part(flight_document(hostile_day()), "legs")))
    assert first.cells[2].text == "refused"
    assert first.cells[2].note == REFUSED
    assert {cell.text for cell in first.cells[3:]} == {"—"}


def test_every_repair_is_told_and_a_great_many_are_counted() -> None:
    told = list(rows(part(DOCUMENT, "repairs")))
    channels = sum(len(row.cells[2].text.split(", ")) for row in told)
    assert channels == len(DAY.data["repairs"]) > 0
    one = DAY.data["repairs"][0]
    many = [{**one, "lines": [n, n]} for n in range(MOST_REPAIRS + 50)]
    crowd = flight_document(replace(DAY, data={**DAY.data, "repairs": many}))
    assert len(list(rows(part(crowd, "repairs")))) == MOST_REPAIRS
    assert any(isinstance(b, Text) and b.text.startswith("50 more") for b in part(crowd, "repairs").blocks)


def test_nothing_found_is_said() -> None:
    empty = {**DAY.data, "points": [], "legs": [], "repairs": [], "warnings": []}
    empty["calibration"] = {"basis": "assumed", "observations": [], "curve": [], "handbook": []}
    document = flight_document(replace(DAY, data=empty, pictures=(), drawings={}))
    assert "calibration" not in {p.anchor for p in document.parts}
    said = " ".join(b.text for p in document.parts for b in p.blocks if isinstance(b, Text))
    assert "No steady condition was found" in said
    assert "no true airspeed" in said
    assert "every reading was taken as recorded" in said


def test_every_picture_is_shown_once_on_the_page_and_in_the_report() -> None:
    names = sorted(picture.name for picture in DAY.pictures)
    shown = [b.name for p in DOCUMENT.parts for b in p.blocks if isinstance(b, Picture)]
    assert sorted(shown) == names == sorted(DAY.drawings)
    in_report = [b.name for b in flight_part(DAY).blocks if isinstance(b, Picture)]
    assert sorted(in_report) == names


def test_the_report_has_a_part_for_the_flight_and_traces_lead_to_it() -> None:
    whole = comparison_fixture.comparison()
    flown = whole.flown[0]
    day = replace(DAY, name=flown.flight)
    document = build_document(whole, comparison_fixture.SOURCES, (day,))
    section = part(document, f"flight-{day.key}")
    assert section.blocks[0] == Text(CAUTION, "caution")
    notes = {note.figure.key: note for _, group in document.index for note in group}
    assert notes[flown.flown].seen[0][0] == condition_anchor(day, flown.number)
    assert notes[flown.handbook].seen == ()
    without = build_document(whole, comparison_fixture.SOURCES)
    assert not any(note.seen for _, group in without.index for note in group)
