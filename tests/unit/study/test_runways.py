"""Runways that make no sense are named by file, line and field, all at once."""

from pathlib import Path

import pytest

from flyoff.core.problems import Problems
from flyoff.study.folder import read_folder
from helpers.study_files import write_study

GOOD = """
[[runways]]
name = "Home"
airport = "EKRN"
length = "2,000 m"
"""


def problems_of(folder: Path, runways: str) -> list[str]:
    write_study(folder)
    study = folder / "study.toml"
    study.write_text(study.read_text("utf-8") + runways, "utf-8")
    with pytest.raises(Problems) as caught:
        read_folder(folder)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"2,000 m"', '"-2,000 m"', "runways.0.length: '-2,000 m' is too small"),
        ('"2,000 m"', '"2,000"', "runways.0.length"),
        ('"EKRN"', '"EKRM"', "unknown airport 'EKRM'"),
        ('airport = "EKRN"\n', "", "a runway without an elevation"),
        ("length", 'surface = "short gras"\nlength', "runways.0.surface"),
        ("length", 'slope = "40 %"\nlength', "runways.0.slope: '40 %' is too large"),
        ("length", 'elevation = "90,000 ft"\nlength', "expected a place on land"),
        ("length", 'direction = "290 °"\nlength', "no wind_from"),
        ("length", 'direction = "290 °"\nwind_from = "240 °"\nlength', "wind_from without a wind"),
        (
            "length",
            'direction = "290 °"\nwind_from = "240 °"\nwind = "-5 kt"\nlength',
            "expected the wind's speed",
        ),
        (
            "length",
            'direction = "790 °"\nwind_from = "240 °"\nwind = "5 kt"\nlength',
            "expected 0 ° to 360 °",
        ),
        ("length", 'wind = "90 kt"\nlength', "expected less than 78 kt"),
        ("length", 'landing_length = "2,100 m"\nlength', "expected no more than its length"),
        ("length", 'temperature = "300 °C"\nlength', "runways.0.temperature"),
        ('"Home"', '"?"', "names nothing"),
    ],
)
def test_one_fault_is_named(tmp_path: Path, old: str, new: str, said: str) -> None:
    told = problems_of(tmp_path, GOOD.replace(old, new, 1))
    assert len(told) == 1, told
    assert said in told[0]
    assert told[0].startswith("study.toml:")


def test_every_fault_is_named_at_once(tmp_path: Path) -> None:
    told = problems_of(
        tmp_path, GOOD + GOOD.replace("EKRN", "NOWHERE") + '[runway_margin]\nlanding = "43 %"\n'
    )
    assert ["given twice" in told[0], "unknown airport 'NOWHERE'" in told[1]] == [True, True]


def test_a_margin_takes_nothing_away(tmp_path: Path) -> None:
    (told,) = problems_of(tmp_path, GOOD + '[runway_margin]\ntakeoff = "-10 %"\n')
    assert "runway_margin.takeoff: '-10 %' is too small" in told
