"""A flight's document: complete, no number finer than its interval, what is wrong with it said."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from flyoff.core.caution import CAUTION
from flyoff.report.blocks import Document, Items, Part, Picture, Row, Table, Text
from flyoff.report.document import build_document
from flyoff.report.flight import MOST_REPAIRS, condition_anchor, flight_document, flight_part
from flyoff.study.seen import flown_day
from helpers import comparison_fixture
from helpers.flights import demo_reduction
from helpers.flown_days import REFUSED, day_of, hostile_day

DAY = day_of("sample.csv")
DOCUMENT = flight_document(DAY)
DEMO = flown_day(demo_reduction(), "demo")


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


def test_everything_at_standard_conditions_is_shown_with_the_size_of_each_correction() -> None:
    document = flight_document(DEMO)
    for anchor, key in (("speed-power", "speed_power"), ("climbs", "climbs"), ("glides", "glides")):
        tables = [b for b in part(document, anchor).blocks if isinstance(b, Table)]
        (sizes,) = (t for t in tables if t.caption.startswith("What each correction changed"))
        points = DEMO.data[key]["points"]
        assert [row.head for row in sizes.groups[0].rows] == [f"Point {p['point']}" for p in points]
        for row, point in zip(sizes.groups[0].rows, points, strict=True):
            shown = [float(c.text.replace("−", "-").replace(",", "")) for c in row.cells]
            changes = [c["change"] for c in point["corrections"]]
            assert shown == pytest.approx(changes, abs=0.5)
            for c in point["corrections"]:
                assert c["change"] == pytest.approx(c["to"] - c["from"], abs=0.02)
    engine = [row.head for row in rows(part(document, "engine"))]
    assert len(engine) == sum(bool(p["powers"]) for p in DEMO.data["engine"])
    told = {b.caption for b in flight_part(DEMO).blocks if isinstance(b, Table)}
    shown = {b.caption for p in document.parts for b in p.blocks if isinstance(b, Table)}
    assert shown - told == {b.caption for n in ("flight", "repairs", "methods")
                            for b in part(document, n).blocks if isinstance(b, Table)}  # fmt: skip


def test_turns_changes_of_speed_and_the_hand_s_word_are_shown() -> None:
    turn = {
        "start_utc": "2026-05-14T09:00:00Z", "end_utc": "2026-05-14T09:01:00Z", "turned_deg": -358.0,
        "pressure_altitude_ft": 3000.0, "ias_kt": 90.0, "ias_kt_u95": 0.5, "tas_kt": 94.0, "tas_kt_u95": 1.5,
        "wind_kt": 12.0, "wind_kt_u95": 2.0, "wind_from_deg": 338.0, "wind_from_deg_u95": 5.0,
        "residual_scatter_kt": 0.9, "refused": None, "lines": [3, 60],
    }  # fmt: skip
    refused = {**turn, "refused": REFUSED, "residual_scatter_kt": None}
    edit = {
        "start": "09:10", "end": "09:12", "decision": "reject", "why": "gusts",
        "found_there": [{"kind": "level", "start_utc": turn["start_utc"], "end_utc": turn["end_utc"]}],
    }  # fmt: skip
    data = {**DAY.data, "turns": [turn, refused], "edits": [edit]}
    document = flight_document(replace(DAY, data=data))
    first, second, *changes = rows(part(document, "turns"))
    assert [c.text for c in first.cells] == [
        "−358°", "3,000", "90.0 ± 0.5", "94.0 ± 1.5", "338° ± 5°", "12.0 ± 2.0", "0.9"
    ]  # fmt: skip
    assert second.cells[3].note == REFUSED
    assert len(changes) == sum(m["kind"] != "turn" for m in DAY.data["manoeuvres"])
    (row,) = rows(part(document, "edits"))
    assert [c.text for c in row.cells] == ["rejected", "level 09:00:00–09:01:00", "gusts"]


def test_stalls_are_shown() -> None:
    stall = {
        "start": "10:05", "line": 9, "flaps_deg": 0.0, "entry_rate_kt_per_s": 1.0,
        "ias_kt": 52.0, "ias_kt_u95": 1.0, "cas_kt": 55.0,
        "cas_kt_u95": 2.0, "standard_cas_kt": 57.0, "standard_cas_kt_u95": 2.0, "cl_max": 1.5,
        "cl_max_u95": 0.1, "flags": ["the calibration is extrapolated to the stall"],
        "corrections": [
            {"name": "weight", "from": 55.0, "to": 57.0, "change": 2.0, "unit": "kt", "source": "s"}
        ],
    }  # fmt: skip
    found, sizes = rows(part(flight_document(replace(DAY, data={**DAY.data, "stalls": [stall]})), "stalls"))
    said = ["0°", "1.0", "52.0 ± 1.0", "55.0 ± 2.0", "57.0 ± 2.0", "1.50 ± 0.10"]
    assert [c.text for c in found.cells] == said
    assert "extrapolated" in found.note
    assert [c.text for c in sizes.cells] == ["+2.0"]


def test_nothing_found_is_said() -> None:
    empty = {**DAY.data, "points": [], "legs": [], "repairs": [], "warnings": [], "manoeuvres": []}
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
