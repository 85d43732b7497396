"""The page of a flight is written where it is asked for, and nowhere else."""

import shutil
from pathlib import Path

import pytest

from flyoff.cli import main
from flyoff.study.seen import flown_days
from helpers.flights import FOLDER, reduction_of


@pytest.fixture
def flight(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    shutil.copy(FOLDER / "carded.csv", tmp_path)
    assert main(["reduce", str(tmp_path / "carded.csv"), "--propose"]) == 0
    (tmp_path / "carded.toml").write_text(capsys.readouterr().out, "utf-8")
    return tmp_path / "carded.toml"


def test_a_page_is_written_where_it_is_asked_for(flight: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = flight.parent / "pages" / "carded.html"
    assert main(["reduce", str(flight), "--page", str(page)]) == 0
    assert page.read_text("utf-8").startswith("<!DOCTYPE html>")
    out = capsys.readouterr().out
    assert out.endswith(f"Page: {page}\n")
    assert "Not for flight planning" in out


def test_json_stays_json_beside_a_page(flight: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = flight.parent / "carded.html"
    assert main(["reduce", str(flight), "--json", "--page", str(page)]) == 0
    with_page = capsys.readouterr().out
    assert main(["reduce", str(flight), "--json"]) == 0
    assert capsys.readouterr().out == with_page
    assert page.is_file()


def test_no_page_is_written_unasked(flight: Path) -> None:
    before = sorted(flight.parent.rglob("*"))
    assert main(["reduce", str(flight)]) == 0
    assert sorted(flight.parent.rglob("*")) == before


@pytest.mark.parametrize("name", ["carded.csv", "carded.toml", "page", "folder.html"])
def test_a_page_never_takes_the_place_of_a_record(
    flight: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (flight.parent / "folder.html").mkdir()
    target = flight.parent / name
    before = target.read_bytes() if target.is_file() else None
    assert main(["reduce", str(flight), "--page", str(target)]) == 2
    assert "no name for a page" in capsys.readouterr().err
    assert (target.read_bytes() if target.is_file() else None) == before


def test_a_page_of_a_broken_flight_is_not_written(flight: Path) -> None:
    flight.write_text("date = 3", "utf-8")
    page = flight.parent / "carded.html"
    assert main(["reduce", str(flight), "--page", str(page)]) == 2
    assert not page.exists()


def test_flights_whose_names_look_alike_keep_apart() -> None:
    reduction = reduction_of("carded.csv")
    told: list[str] = []
    first, second = flown_days({"a b": reduction, "a-b": reduction, "a(b": reduction}, told.append)[::2]
    assert first.key != second.key
    assert told == ["drawing a b", "drawing a-b", "drawing a(b"]
