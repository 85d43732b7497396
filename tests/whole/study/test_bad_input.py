"""What is wrong with one trip or one airplane is named, and the rest still answered."""

import pytest

from flyoff.cli import main
from flyoff.study.run import load
from helpers.study_files import write_study

_THERE = 'start = "EETN"\nend = "ESSA"'


@pytest.mark.parametrize(
    ("old", "new", "said", "missing"),
    [
        (_THERE, 'start = "EETQ"\nend = "ESSA"', "26: trips.0.start: unknown airport 'EETQ'", "nobody knows"),
        (
            _THERE,
            'start = "EETN"\nend = "EETN"',
            "27: trips.0.end: a trip from 'EETN' to itself",
            "to itself",
        ),
        (_THERE, f'{_THERE}\nalternate = "EZZZ"', "28: trips.0.alternate: unknown airport", "'EZZZ'"),
        (_THERE, f"{_THERE}\noccupants = 2\n[airfields]", "", ""),
        ('wind = "0 kt"', 'wind = "150 kt"', "", "the head wind is not below the true airspeed"),
        ('reserve = "45 min"', 'reserve = "20 h"', "", "the tanks hold less than taxi and reserve need"),
    ],
)
def test_a_trip_that_nobody_can_fly_is_missing_alone(tmp_path, old, new, said, missing):
    study = load(write_study(tmp_path, study=(old, new)))
    assert [str(p).partition(";")[0] for p in study.folder.unflyable if said not in str(p)] == []
    assert bool(study.folder.unflyable) == bool(said)
    time = study.comparison.figure("plain", "trip.over-the-water.time")
    assert missing in time.missing
    assert (time.si is None) == bool(missing)
    assert study.comparison.figure("plain", "cruise_speed").si is not None


def test_an_envelope_that_excludes_the_empty_airplane_is_named(tmp_path):
    folder = write_study(tmp_path)
    file = folder / "aircraft/plain.toml"
    before, corners, after = file.read_text().partition("points = [")
    points, close, rest = after.partition("\n]\n")
    moved = points.replace('arm = "2', 'arm = "3')
    file.write_text(f"{before}{corners}{moved}{close}{rest}")
    comparison = load(folder).comparison
    said = "the empty airplane alone is outside the normal envelope: 2.328 m, where 3.100 to 3.600 m"
    assert said in comparison.entries[0].remarks[0]
    assert said in comparison.figure("plain", "fuel_within_limits").missing
    assert comparison.figure("plain", "cruise_speed").si is not None


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("load", "--people", "-5kg"), "--people: '−5kg' is negative; expected 0 or more"),
        (("load", "--bags", "-5kg"), "--bags: '−5kg' is negative; expected 0 or more"),
        (("trip", "EETN", "ESSA", "--people", "-2"), "--people: '−2' people; expected a number from 1"),
    ],
)
def test_a_number_below_zero_is_no_option(tmp_path, monkeypatch, capsys, asked, said):
    monkeypatch.chdir(write_study(tmp_path))
    assert main(asked) == 2
    assert said in capsys.readouterr().err


def test_trips_that_nobody_can_fly_are_named_and_the_report_written(tmp_path, capsys):
    second = '[[trips]]\nname = "Round"\nstart = "EETN"\nend = "EETN"\n[money]'
    folder = write_study(tmp_path, study=('start = "EETN"', 'start = "EETQ"\nthere_and_back = true'))
    study = folder / "study.toml"
    study.write_text(study.read_text().replace("[money]", second).replace('"0 kt"', '"150 kt"'))
    assert main(["build", str(folder)]) == 1
    out, err = capsys.readouterr()
    assert "study.toml:26: trips.0.start: unknown airport 'EETQ'" in err
    assert "trips.1.end: a trip from 'EETN' to itself" in err
    assert "nobody knows an airport 'EETQ'" in out
    report = (folder / "out/report.html").read_text()
    assert "nan" not in report.casefold().split("over the water,")[1][:40]
    assert "a trip from 'EETN' to itself" in report.replace("&#39;", "'")
