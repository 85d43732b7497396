"""A trip asked for on the command line."""

import json

import pytest

from flyoff.cli import main
from flyoff.core.caution import CAUTION
from helpers.study_files import AIRCRAFT, write_study


def run(folder, capsys, *asked):
    status = main(["trip", *asked, "--study", str(folder)])
    return status, *capsys.readouterr()


def test_who_can_do_it_how_long_on_how_much(tmp_path, capsys):
    status, out, _ = run(write_study(tmp_path), capsys, "EETN", "ESSA")
    assert status == 0
    assert "EETN to ESSA" in out
    assert "1:47 ± 0:01 h" in out
    assert " ".join(out.split()).endswith(" ".join(CAUTION.split()))


def test_data_are_the_same_figures(tmp_path, capsys):
    _, out, _ = run(write_study(tmp_path), capsys, "EETN", "ESSA", "--return", "--json")
    (airplane,) = json.loads(out)["airplanes"]
    keys = {figure["key"] for figure in airplane["figures"]}
    assert {"plain.trip.this-trip.time", "plain.trip.this-trip-back.fuel"} <= keys
    assert [way["nonstop"] for way in airplane["ways"]] == [True, True]


def test_the_best_altitude(tmp_path, capsys):
    _, out, _ = run(write_study(tmp_path), capsys, "EETN", "ESSA", "--altitude", "best")
    assert "12,000 ft" in out


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("EETN", "EETX"), "unknown airport 'EETX'; expected the ICAO code of an airport"),
        (("EETN", "EETN"), "a trip from 'EETN' to itself"),
        (("EETN", "ESSA", "--people", "-1"), "'−1' people"),
        (("EETN", "ESSA", "--people", "two"), "'two' people"),
        (("EETN", "ESSA", "--bags", "12"), "'12' has no unit"),
        (("EETN", "ESSA", "--bags=-3 kg"), "negative"),
        (("EETN", "ESSA", "--wind", "fresh"), "has no number"),
        (("EETN", "ESSA", "--altitude", "high"), "has no number"),
        (("EETN", "ESSA", "--aloft", "westerly"), "no winds aloft 'westerly'"),
    ],
)
def test_what_cannot_be_made_out_is_said(tmp_path, capsys, asked, said):
    status, out, err = run(write_study(tmp_path), capsys, *asked)
    assert status == 2
    assert said in err
    assert not out


def test_too_many_people_and_too_much_wind_are_said_of_each_airplane(tmp_path, capsys):
    folder = write_study(tmp_path)
    for asked, said in (
        (("--people", "5"), "1 without a seat"),
        (("--wind", "150 kt"), "head wind is not below"),
    ):
        status, out, _ = run(folder, capsys, "EETN", "ESSA", *asked)
        assert status == 1
        assert said in " ".join(out.split())


def test_one_bad_airplane_is_named_and_the_other_answered(tmp_path, capsys):
    folder = write_study(tmp_path, study=('aircraft = ["plain"]', 'aircraft = ["plain", "bad"]'))
    (folder / "aircraft/bad.toml").write_text(AIRCRAFT.replace('empty = "700 kg"', 'empty = "700"'))
    status, out, err = run(folder, capsys, "EETN", "ESSA")
    assert status == 1
    assert "Plain One" in out
    assert "aircraft/bad.toml" in err
