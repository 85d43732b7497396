"""Writing: all files, whole or not at all, the same bytes in any process."""

import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from flyoff.charts.catalogue import charts_of
from flyoff.comparison.results import Comparison
from flyoff.report import write
from flyoff.report.document import build_document
from flyoff.report.table_files import sheets
from flyoff.report.write import write_report
from helpers import comparison_fixture

FILES = {"report.html", "report-a4.pdf", "report-letter.pdf", "figures.csv", "figures.json"}


def names(comparison: Comparison) -> set[str]:
    """What is written of a comparison: its charts in each form, its tables in each."""
    found = {*FILES, "tables/tables.xlsx"}
    for chart in charts_of(comparison):
        columns = {f"print/{chart.name}-{c}.{e}" for c in ("single", "double") for e in ("svg", "pdf")}
        count = chart.screens(comparison)
        screens = {f"{chart.name}-dark.png"} if count == 1 else set()
        screens |= {f"{chart.name}-{n + 1}-dark.png" for n in range(count) if count > 1}
        found |= {f"charts/{n}" for n in (f"{chart.name}.svg", f"{chart.name}.png", *columns, *screens)}
    document = build_document(comparison, comparison_fixture.SOURCES)
    return found | {f"tables/{s.name}.{e}" for s in sheets(document) for e in ("html", "csv", "md")}


LARGEST_REPORT = 2_000_000
PROGRAM = """
import sys
from pathlib import Path
from flyoff.report.write import write_report
from helpers import comparison_fixture as fixture
write_report(fixture.comparison(), fixture.SOURCES, Path(sys.argv[1]), lambda _: None)
"""


def digests(folder: Path) -> dict[str, str]:
    return {
        str(file.relative_to(folder)): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def test_writes_everything_and_the_same_in_another_process(tmp_path: Path) -> None:
    told: list[str] = []
    fixture = comparison_fixture
    written = write_report(fixture.comparison(), fixture.SOURCES, tmp_path / "here", told.append)
    assert {str(file.relative_to(tmp_path / "here")) for file in written} == names(fixture.comparison())
    assert told[-3:] == ["report", "paper: report-a4.pdf", "paper: report-letter.pdf"]
    assert (tmp_path / "here" / "report.html").stat().st_size < LARGEST_REPORT
    tests = str(Path(fixture.__file__).parents[1])
    command = [sys.executable, "-c", PROGRAM, str(tmp_path / "there")]
    # Another seed of Python's hashes, so that no order comes from a set.
    subprocess.run(command, check=True, env={"PYTHONPATH": tests, "PYTHONHASHSEED": "271"})
    assert digests(tmp_path / "here") == digests(tmp_path / "there")


def test_a_fault_leaves_the_folder_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "report.html").write_text("before")

    def fail(*_: object) -> str:
        raise RuntimeError("no report")

    monkeypatch.setattr(write, "charts_of", lambda _: ())
    monkeypatch.setattr(write, "build_document", fail)
    with pytest.raises(RuntimeError, match="no report"):
        write_report(comparison_fixture.comparison(), {}, tmp_path, lambda _: None)
    assert [file.name for file in tmp_path.iterdir()] == ["report.html"]
    assert (tmp_path / "report.html").read_text() == "before"
