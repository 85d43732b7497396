"""Demo and starter folders: written whole, never over somebody's work."""

import os
from collections.abc import Callable
from pathlib import Path

import airportsdata
import pytest

from flyoff.core.problems import Problems
from flyoff.demo.write import write_demo, write_starter
from flyoff.study.folder import read_folder
from flyoff.study.schema import KINDS

WRITERS = pytest.mark.parametrize("write", [write_demo, write_starter])
Writer = Callable[[Path], tuple[Path, ...]]


def snapshot(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@WRITERS
def test_what_is_written_reads_without_problems(write: Writer, tmp_path: Path) -> None:
    written = write(tmp_path / "study")
    assert set(written) == set(snapshot(tmp_path / "study"))
    folder = read_folder(tmp_path / "study")
    assert len(folder.dossiers) == len(folder.record.aircraft)
    assert len(folder.flights) == len(folder.record.flights) > 0
    assert [path.name for path in tmp_path.iterdir()] == ["study"]


@WRITERS
def test_writing_again_changes_nothing(write: Writer, tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "report.html").write_text("made by a build")
    (tmp_path / ".schema").mkdir()
    before = snapshot(tmp_path)
    write(tmp_path)
    assert snapshot(tmp_path) == before


@WRITERS
def test_a_lost_file_comes_back(write: Writer, tmp_path: Path) -> None:
    write(tmp_path)
    before = snapshot(tmp_path)
    (tmp_path / "sources.toml").unlink()
    write(tmp_path)
    assert snapshot(tmp_path) == before


@WRITERS
def test_a_changed_or_foreign_file_stops_it(write: Writer, tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "study.toml").write_text("title = 'mine'\n")
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "sources.toml").unlink()
    before = snapshot(tmp_path)
    with pytest.raises(Problems) as caught:
        write(tmp_path)
    assert [problem.found for problem in caught.value.problems] == [
        "a file of another study",
        "this file was changed since it was written",
    ]
    assert snapshot(tmp_path) == before


@WRITERS
def test_a_file_is_no_folder(write: Writer, tmp_path: Path) -> None:
    (tmp_path / "study").write_text("mine")
    with pytest.raises(Problems, match="a file; expected a folder"):
        write(tmp_path / "study")
    assert (tmp_path / "study").read_text() == "mine"


@WRITERS
@pytest.mark.parametrize("exists", [True, False])
def test_a_failure_leaves_nothing_behind(
    write: Writer, exists: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "study"
    if exists:
        target.mkdir()
    real, calls = os.fsync, []

    def failing(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 4:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(OSError, match="No space"):
        write(target)
    assert not snapshot(tmp_path)
    assert target.exists() is exists


@WRITERS
def test_toml_files_point_at_a_schema_that_is_made(write: Writer, tmp_path: Path) -> None:
    for path in write(tmp_path):
        if path.suffix == ".toml":
            first = path.read_text("utf-8").splitlines()[0]
            depth = len(path.relative_to(tmp_path).parts) - 1
            stem = first.removeprefix("#:schema " + "../" * depth + ".schema/").removesuffix(".json")
            assert stem in KINDS, first


def test_airports_exist(tmp_path: Path) -> None:
    write_demo(tmp_path)
    airports = airportsdata.load("ICAO")
    for trip, start, end in read_folder(tmp_path).trips:
        assert trip.start in airports and trip.end in airports
        assert start.code == trip.start and end.code == trip.end
