import os
import shutil
import signal
from pathlib import Path

import pytest

from flyoff.core.files import TemporaryFolder, read_text, write_bytes, write_folder, write_text
from flyoff.core.problems import Problems


def problem_of(path, **options):
    with pytest.raises(Problems) as caught:
        read_text(path, "day.csv", **options)
    assert len(caught.value.problems) == 1
    return str(caught.value)


def test_reads_text_with_or_without_a_mark(tmp_path):
    path = tmp_path / "day.csv"
    path.write_bytes("\ufeffa,b\n".encode())
    assert read_text(path, "day.csv") == "a,b\n"


def test_each_fault_is_a_problem(tmp_path):
    path = tmp_path / "day.csv"
    assert problem_of(path) == "day.csv: no such file; expected the file to be there"
    assert "not a file" in problem_of(tmp_path)
    path.write_bytes(b" \n")
    assert "the file is empty" in problem_of(path)
    path.write_bytes(b"a,b\n1,\xe9\n")
    assert problem_of(path) == "day.csv:2: byte 0xe9 is not UTF-8 text; expected a file saved as UTF-8"


def test_a_huge_file_is_not_read(tmp_path):
    path = tmp_path / "day.csv"
    with path.open("wb") as stream:
        stream.truncate(2 * 1024**3)
    assert "2,048 MiB is too large" in problem_of(path)


def test_writes_whole_and_leaves_nothing_behind(tmp_path):
    path = tmp_path / "out" / "a.txt"
    write_text(path, "ä\n")
    assert path.read_bytes() == "ä\n".encode()
    write_text(path, "b\n")
    assert path.read_text() == "b\n"
    assert [p.name for p in path.parent.iterdir()] == ["a.txt"]
    umask = os.umask(0)
    os.umask(umask)
    assert path.stat().st_mode & 0o777 == 0o666 & ~umask


def test_a_failed_write_keeps_the_old_file(tmp_path):
    path = tmp_path / "a.txt"
    path.write_text("old")
    with pytest.raises(TypeError):
        write_bytes(path, "text")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_folder_is_written_as_one_and_keeps_what_is_not_ours(tmp_path):
    folder = tmp_path / "out"
    write_folder(folder, {"report.html": b"1", "charts/a.svg": b"1", "charts/b.svg": b"1"})
    (folder / "mine.txt").write_text("mine")
    write_folder(folder, {"report.html": b"2", "charts/a.svg": b"2"})
    held = sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())
    assert held == ["charts/a.svg", "mine.txt", "report.html"]
    assert list(tmp_path.iterdir()) == [folder]


def test_a_folder_that_cannot_be_written_is_left_as_it_was(tmp_path, monkeypatch):
    folder = tmp_path / "out"
    write_folder(folder, {"a": b"1", "b": b"1"})

    def fails(path, data):
        if path.name == "b":
            raise OSError(28, "No space left on device", str(path))
        path.write_bytes(data)

    monkeypatch.setattr("flyoff.core.files.write_bytes", fails)
    with pytest.raises(OSError, match="No space left"):
        write_folder(folder, {"a": b"2", "b": b"2"})
    assert (folder / "a").read_bytes() == b"1"
    assert list(tmp_path.iterdir()) == [folder]


def test_a_file_in_the_way_of_a_folder_is_said(tmp_path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(Problems, match="expected a folder"):
        write_folder(tmp_path / "out", {"a": b"1"})


@pytest.fixture
def interruptible():
    usual = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, usual)


def test_a_folder_is_never_without_one_of_its_contents_when_interrupted(tmp_path, monkeypatch, interruptible):
    write_folder(tmp_path / "out", {"a": b"1"})
    rename = Path.rename

    def interrupted(path, target):
        renamed = rename(path, target)
        signal.raise_signal(signal.SIGINT)
        return renamed

    monkeypatch.setattr(Path, "rename", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_folder(tmp_path / "out", {"a": b"2"})
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert (tmp_path / "out" / "a").read_bytes() == b"2"


def test_a_temporary_folder_goes_whole_though_interrupted(tmp_path, monkeypatch, interruptible):
    rmtree = shutil.rmtree

    def interrupted(*arguments, **options):
        signal.raise_signal(signal.SIGINT)
        rmtree(*arguments, **options)

    monkeypatch.setattr(shutil, "rmtree", interrupted)
    with pytest.raises(KeyboardInterrupt), TemporaryFolder(dir=tmp_path) as folder:
        (Path(folder) / "a").write_bytes(b"1")
    assert not list(tmp_path.iterdir())
