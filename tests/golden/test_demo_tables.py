"""The demo's files are what its physics prints: no table edited by hand, no log from another flight."""

from importlib.resources import files
from pathlib import Path

import pytest

from flyoff.demo.make import TRUTH, made, made_truth

FILES = Path(str(files("flyoff.demo") / "files"))
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def generated() -> dict[str, str]:
    return made()


def test_every_table_and_log_is_generated(generated: dict[str, str]) -> None:
    assert {str(path.relative_to(FILES)) for path in FILES.rglob("*.csv")} == set(generated)


def test_files_are_as_generated(generated: dict[str, str]) -> None:
    differing = [path for path, text in generated.items() if (FILES / path).read_text("utf-8") != text]
    assert not differing, "run `python -m flyoff.demo.make` and look at the diff"


def test_log_is_small_enough_to_travel(generated: dict[str, str]) -> None:
    assert len(generated["flights/2026-06-02.csv"].encode()) < 600_000


def test_truth_is_of_the_same_flight() -> None:
    assert (ROOT / TRUTH).read_text("utf-8") == made_truth()
