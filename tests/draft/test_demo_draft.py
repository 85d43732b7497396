"""The demo's draft and captions have the mistakes that they should have, and no more."""

from collections import Counter
from importlib.resources import files
from pathlib import Path

import pytest

from flyoff.draft.findings import Checked
from flyoff.study.check import check

FILES = Path(str(files("flyoff.demo") / "files"))
PLANTED = {
    "1,060 pounds": ("impossible", "useful_load"),
    "702 pounds": ("contradicted", "payload_full_tanks"),
    "137 knots": ("impossible", "table"),
    "12.4 nautical miles per gallon": ("contradicted", "specific_range"),
    "146 knots": ("impossible", "true_airspeed"),
    "940 nautical miles": ("contradicted", "range_full_tanks"),
    "375 nautical miles": ("impossible", "speed_time_distance"),
    "€562,500": ("impossible", "price"),
    "six point seven gallons an hour": ("contradicted", "cruise_fuel_flow"),
    "five gallons an hour": ("contradicted", "cruise_fuel_flow"),
    "ten hours": ("contradicted", "endurance_full_tanks"),
    "forty gallons": ("impossible", "fuel_flow_time"),
    "forty five knots": ("impossible", "stall_approach"),
}


@pytest.fixture(scope="module")
def checked() -> tuple[Checked, ...]:
    return check([FILES / "draft.md", FILES / "captions.vtt"], FILES)


def test_planted_mistakes_are_found_and_nothing_else(checked: tuple[Checked, ...]) -> None:
    found = {
        f.text: (f.verdict, f.relation)
        for one in checked
        for f in one.findings
        if f.verdict in ("impossible", "contradicted")
    }
    assert found == PLANTED


def test_each_of_the_five_words_is_there(checked: tuple[Checked, ...]) -> None:
    counts = sum((one.counts() for one in checked), Counter())
    assert counts["supported"] >= 20
    assert counts["unsupported"] >= 5
    assert counts["not a figure"] >= 5
    assert any("begins before" in note.words for note in checked[1].notes)
