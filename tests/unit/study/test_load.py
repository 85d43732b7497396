"""A loading on the command line: what is answered, what is named."""

import json
from pathlib import Path

import pytest

from flyoff.cli import main
from flyoff.core.caution import CAUTION
from flyoff.core.problems import Problems
from flyoff.study.load import Asked, load_all
from flyoff.study.load_text import load_text
from helpers.study_files import write_study

PLANE = "aircraft/plain.toml"


def answered(folder, asked=None, *, path="", **changes):
    loaded, problems = load_all([write_study(folder, **changes) / path], asked or Asked())
    assert not problems
    return loaded[0]


def test_an_aircraft_file_alone_is_loaded_as_weighed(tmp_path):
    one = answered(tmp_path, path=PLANE)
    assert one.answer.ready.empty_kg == 700
    assert "fuel: taken as 6.0 lb/US gal (FAA-H-8083-25, standard weight)" in one.assumed
    assert [p.mass_kg for p, _ in one.answer.loaded.seats] == [pytest.approx(77.11, abs=0.01)]


def test_a_study_is_loaded_on_its_terms(tmp_path):
    one = answered(tmp_path)
    names = [state.name for state in one.answer.states]
    assert names == ["ramp", "takeoff", "landing", "zero fuel"]
    assert one.answer.ready.reserve_kg > 0
    assert one.answer.kept


def test_the_landing_limit_is_held(tmp_path):
    light = ('takeoff = "1,100 kg"', 'takeoff = "1,100 kg"\nlanding = "950 kg"')
    one = answered(tmp_path, Asked(fuel="200 L", bags="0 kg"), plain=light)
    margin = next(m for m in one.answer.limits if m.limit == "landing weight")
    landing = next(s for s in one.answer.states if s.name == "landing")
    assert margin.spare_si == pytest.approx(950 - landing.mass_kg)


def test_the_first_limit_to_bind_is_named(tmp_path):
    one = answered(tmp_path, Asked(people=("80 kg",), fuel="full"))
    assert one.answer.nearest.limit == "tanks"
    assert one.answer.nearest.spare_si == pytest.approx(0, abs=1e-9)


def test_tanks_empty_in_the_dossiers_order(tmp_path):
    two = '''[[tanks]]
name = "tips"
usable = "60 L"
arm = "2.50 m"
fuel = "avgas"

[[stations]]
name = "front"'''
    folder = write_study(tmp_path, plain=('[[stations]]\nname = "front"', two))
    plane = folder / PLANE
    text = plane.read_text("utf-8")
    plane.write_text(text.replace("[weights]", 'fuel_order = ["tips", "wings"]\n\n[weights]', 1), "utf-8")
    one = load_all([plane], Asked(fuel="full"))[0][0]
    assert [state.name for state in one.answer.states] == ["ramp", "takeoff", "tips empty", "zero fuel"]
    assert [stage.name for stage in one.answer.ready.stages] == ["wings", "tips"]


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(people=("-70 kg",)), "'-70 kg' is negative"),
        (Asked(people=("-3",)), "-3 people"),
        (Asked(people=("0",)), "0 people"),
        (Asked(people=("80 kg in cokpit",)), "unknown station 'cokpit'"),
        (Asked(people=("standard giant",)), "unknown standard weight 'standard giant'"),
        (Asked(people=("900 kg",)), "a person of 900 kg"),
        (Asked(people=("80",)), "80 people"),
        (Asked(bags="-4 kg"), "'-4 kg' is negative"),
        (Asked(bags="4 ft"), "unknown unit 'ft'"),
        (Asked(fuel="900 L"), "expected at most the 200.0 L that the tanks of Plain One hold"),
        (Asked(fuel="-1 L"), "'-1 L' is negative"),
        (Asked(density="7 kg/L"), "'7 kg/L'"),
    ],
)
def test_what_cannot_be_is_named(tmp_path, asked, words):
    with pytest.raises(Problems, match=words.replace("(", r"\(")):
        load_all([write_study(tmp_path)], asked)


def test_more_people_than_seats_are_answered_with_who_stays(tmp_path):
    one = answered(tmp_path, Asked(people=("5",), bags="0 kg"))
    assert "5 people for 4 seats" in one.assumed
    assert len(one.answer.loaded.people_left) >= 1
    assert not one.answer.kept
    assert one.answer.envelopes[0].left is not None


def test_a_reserve_larger_than_the_tanks_is_named_and_the_rest_answered(tmp_path):
    one = answered(tmp_path, Asked(reserve="500 L"))
    assert any("the reserve is larger" in remark for remark in one.answer.remarks)
    assert one.answer.envelopes[0].most_fuel is not None


def test_an_envelope_that_excludes_the_empty_airplane_is_named(tmp_path):
    one = answered(tmp_path, plain=('empty_arm = "2.30 m"', 'empty_arm = "2.05 m"'))
    assert "the empty airplane alone is outside the normal envelope: " in one.answer.remarks[0]


def test_one_airplane_at_fault_is_named_and_the_others_answered(tmp_path, capsys):
    whole, spoilt = write_study(tmp_path / "a"), write_study(tmp_path / "b")
    plane = spoilt / PLANE
    text = plane.read_text("utf-8")
    start = text.index("[[options]]")
    once = text[start : text.index("[[options]]", start + 1)]
    plane.write_text(text.replace(once, once + once, 1), "utf-8")
    status = main(["load", str(whole / PLANE), str(plane), "--bags", "10 kg"])
    out, err = capsys.readouterr()
    assert status == 1
    assert "given twice" in err
    assert out.count("Plain One") == 1


def test_text_fits_the_page_and_ends_with_the_caution(tmp_path, capsys):
    status = main(["load", str(write_study(tmp_path)), "--people", "90 kg", "standard male, NCC.POL.105"])
    out = capsys.readouterr().out
    assert status == 0
    assert max(map(len, out.splitlines())) <= 100
    assert " ".join(out.split()).endswith(CAUTION)


def test_the_data_says_its_units(tmp_path, capsys):
    assert main(["load", str(write_study(tmp_path)), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    one = data["loadings"][0]
    assert data["caution"] == CAUTION
    assert {"state", "fuel_kg", "weight_kg", "arm_m"} == set(one["states"][0])
    assert one["envelopes"][0]["most_fuel"]["fuel_l"] > 0


def test_outside_a_limit_is_a_finding(tmp_path):
    heavy = [
        "load",
        str(write_study(tmp_path)),
        "--people",
        "120 kg",
        "120 kg",
        "90 kg",
        "90 kg",
        "--fuel",
        "full",
    ]
    assert main(heavy) == 1


def test_prints_in_the_house_s_units_with_limits_as_the_manual_declares_them_beside():
    loaded, _ = load_all([Path(__file__).parents[2] / "studies" / "alpine"], Asked())
    text = load_text(loaded)
    own = text[text.index("Brinjak 180") :]
    assert "1’156,7 (2’550 lb)" in own
    assert "45,4 (100 lb)" in own
    assert "US gal" not in own and " in\n" not in own
    assert "(980 kg)" not in text  # what is declared in the house's own unit needs nothing beside it
