"""The demo's files are what its physics prints: no table edited by hand, no log from another flight."""

import json
from importlib.resources import files
from pathlib import Path

import pytest

from flyoff.demo.flight import Flown, fly
from flyoff.demo.handbook import HANDBOOKS, tables
from flyoff.demo.recorder import record, truth

FILES = Path(str(files("flyoff.demo") / "files"))
TRUTH = Path(__file__).parents[1] / "data" / "demo_truth.json"


@pytest.fixture(scope="module")
def flown() -> Flown:
    return fly()


@pytest.mark.parametrize("key", HANDBOOKS)
def test_tables_are_what_the_design_prints(key: str) -> None:
    folder = FILES / "aircraft" / key
    printed = tables(key)
    assert {path.name for path in folder.iterdir()} == set(printed)
    for name, text in printed.items():
        assert (folder / name).read_text("utf-8") == text, name


def test_log_is_what_the_recorder_wrote(flown: Flown) -> None:
    text = (FILES / "flights" / "2026-06-02.csv").read_text("utf-8")
    assert text == record(flown)
    assert len(text.encode()) < 600_000


def test_truth_is_of_the_same_flight(flown: Flown) -> None:
    assert json.loads(TRUTH.read_text("utf-8")) == truth(flown)
