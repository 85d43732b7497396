import os

import pytest

from flyoff.core.files import read_text, write_bytes, write_text
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
