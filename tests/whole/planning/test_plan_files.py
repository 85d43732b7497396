"""From a flight file to a plan: the command, its data, its problems, its files."""

import json
import shutil

import pytest

from flyoff.cli import main
from helpers.airplanes import FOLDER

FLIGHT = """\
date = "2026-06-09"
aircraft = "vadmel"

[loading]
fuel_at_start = "120 L"
fuel_density = "0.80 kg/L"

[[loading.occupants]]
station = "front seats"
weight = "82 kg"

[[loading.occupants]]
station = "front seats"
weight = "76 kg"

[instruments]
fuel_flow_u95 = "2 %"

[plan]
time = "60 min"
airfield_elevation = "52 ft"
lowest = "2,500 ft"
highest = "8,500 ft"
cruise_altitude = "8,000 ft"
"""


@pytest.fixture
def study(tmp_path):
    shutil.copytree(FOLDER, tmp_path / "study")
    return tmp_path / "study"


def run(study, capsys, *options, change=("", "")):
    assert change[0] in FLIGHT
    path = study / "flights" / "next.toml"
    path.write_text(FLIGHT.replace(*change), "utf-8")
    status = main(["plan", str(path), *map(str, options)])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def test_the_plan_as_text(study, capsys):
    status, out, err = run(study, capsys)
    assert (status, err) == (0, "")
    for words in (
        "Vadmel 160",
        "box of four legs",
        "range",
        "Fuel: 120 L aboard",
        "16 L reserve",
        "inside normal",
    ):
        assert words in out
    assert "Within the approved envelope. By a qualified pilot. Traffic first" in out
    assert "Not for flight planning or operational use" in out
    assert max(map(len, out.splitlines())) <= 130


def test_the_plan_as_data(study, capsys):
    status, out, _ = run(study, capsys, "--json")
    data = json.loads(out)
    assert status == 0
    assert data["aircraft"] == "vadmel" and data["time_available_min"] == 60.0 >= data["time_min"]
    assert [figure["name"] for figure in data["figures"]] == ["range", "cruise speed", "rate of climb"]
    assert all(f["u95_after"] < 0.6 * f["u95_before"] for f in data["figures"])
    assert data["steps"][-1]["fuel_left_l"] == pytest.approx(120 - data["fuel_l"], abs=0.11)
    times = [rung["time_min"] for rung in data["further_time"]]
    assert times == list(range(20, 121, 10))
    ranges = [rung["u95"]["range"] for rung in data["further_time"]]
    assert ranges == sorted(ranges, reverse=True)


def test_the_cards_are_written_and_the_same_each_time(study, capsys):
    status, out, _ = run(study, capsys, "--cards", study / "cards")
    assert status == 0
    first = {path.name: path.read_bytes() for path in (study / "cards").iterdir()}
    assert set(first) == {"cards.html", "entry.html"}
    assert str(study / "cards" / "entry.html") in out
    run(study, capsys, "--cards", study / "cards")
    assert first == {path.name: path.read_bytes() for path in (study / "cards").iterdir()}
    for text in first.values():
        assert b"http://" not in text and b"https://" not in text


def test_other_figures_and_gallons(study, capsys):
    change = ('aircraft = "vadmel"', 'aircraft = "kattun"')
    text = FLIGHT.replace("[plan]", '[plan]\nfigures = ["glide ratio"]').replace(*change)
    path = study / "flights" / "next.toml"
    path.write_text(text, "utf-8")
    assert main(["plan", str(path), "--cards", str(study / "cards")]) == 0
    assert "glide, two runs" in capsys.readouterr().out
    assert "US gal/h" in (study / "cards" / "entry.html").read_text("utf-8")


def test_a_flight_already_flown_counts(study, capsys):
    _, out, _ = run(study, capsys, "--json")
    fresh = json.loads(out)
    status, out, err = run(
        study, capsys, "--json", change=("[plan]", '[plan]\nprior_flights = ["2026-06-02"]')
    )
    assert (status, err) == (0, "")
    known = json.loads(out)
    assert known["figures"][1]["u95_before"] < 0.5 * fresh["figures"][1]["u95_before"]


def test_without_tables_the_class_is_what_is_known(study, capsys):
    path = study / "aircraft" / "vadmel.toml"
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("[[tables]]")], "utf-8")
    status, out, _ = run(study, capsys)
    assert status == 0
    assert "No handbook tables" in out


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('aircraft = "vadmel"', 'aircraft = "vadmal"'), "aircraft: no file aircraft/vadmal.toml;"),
        (("[plan]", "[steady]\n[plan_]"), "unknown key"),
        (('time = "60 min"', ""), "plan.time: missing"),
        (('time = "60 min"', 'time = "15 h"'), "plan.time: 15 h; expected up to 12 hours"),
        (('time = "60 min"', 'time = "10 min"'), "nothing can be flown in 10 min"),
        (('lowest = "2,500 ft"', 'lowest = "500 ft"'), "plan.lowest: 500 ft; expected 1,000 ft above"),
        (('highest = "8,500 ft"', 'highest = "850 ft"'), "plan.highest: below lowest"),
        (('weight = "82 kg"', 'weight = "582 kg"'), "is above the limit; expected at most 1,315 kg"),
        (('"front seats"', '"front seat"'), "unknown station 'front seat'; expected a station"),
        (('fuel_density = "0.80 kg/L"', ""), "loading.fuel_density: missing"),
        (("[plan]", '[plan]\nprior_flights = ["2026-06-03"]'), "no file 2026-06-03.toml; expected a"),
        (("[plan]", '[plan]\nfigures = ["top speed"]'), "plan.figures"),
    ],
)  # fmt: skip
def test_bad_input_is_said_and_nothing_written(study, capsys, change, said):
    status, out, err = run(study, capsys, "--cards", study / "cards", change=change)
    assert (status, out) == (2, "")
    assert said in err
    assert "next.toml" in err and "nothing was written" in err and "Traceback" not in err
    assert not (study / "cards").exists()
