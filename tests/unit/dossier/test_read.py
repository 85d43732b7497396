"""A dossier is read whole, and every fault is said with its place."""

import pytest

from flyoff.core.problems import Collector
from flyoff.core.sources import Source
from flyoff.dossier.read import read_dossier
from helpers.study_files import write_study

SOURCES = {"afm": Source("afm", "Invented manual"), "us": Source("us", "This study")}


def read(folder, **changes):
    write_study(folder, **changes)
    collector = Collector()
    dossier = read_dossier(folder / "aircraft/plain.toml", "aircraft/plain.toml", SOURCES, collector)
    return dossier, [str(problem) for problem in collector.problems]


def test_a_good_dossier_keeps_value_unit_source_and_place(tmp_path):
    dossier, problems = read(tmp_path)
    assert problems == []
    takeoff = dossier.airplane.weights.takeoff
    assert (takeoff.si, takeoff.unit.label, takeoff.text, takeoff.source) == (1100, "kg", "1,100 kg", "afm")
    assert str(takeoff.place) == "aircraft/plain.toml:10"
    assert set(dossier.tables) == {"cruise", "climb"}


FAULTS = [
    (
        'takeoff = "1,100 kg"',
        "takeoff = 1100",
        "aircraft/plain.toml:10: weights.takeoff: bare number 1100; "
        'expected a mass with its unit as text, such as "2,900 lb"',
    ),
    (
        'takeoff = "1,100 kg"',
        'takeof = "1,100 kg"',
        "aircraft/plain.toml:10: weights.takeof: unknown key; expected one of empty, empty_arm, takeoff, "
        "ramp, landing, zero_fuel, includes (did you mean 'takeoff'?)",
    ),
    (
        'takeoff = "1,100 kg"',
        'takeoff = "690 kg"',
        "aircraft/plain.toml:10: weights.takeoff: 690 kg is not above the empty weight; "
        "expected more than 700 kg, on line 8",
    ),
    (
        'takeoff = "1,100 kg"',
        'takeoff = "1,100 kgs"',
        "aircraft/plain.toml:10: weights.takeoff: unknown unit 'kgs' in '1,100 kgs'; "
        "expected a unit of mass (did you mean 'kg'?)",
    ),
    (
        'takeoff = "1,100 kg"',
        'takeoff = "1,10 kg"',
        "aircraft/plain.toml:10: weights.takeoff: '1,10 kg' is not a number with a unit; "
        "expected thousands commas in groups of three and a decimal point, such as '1,234.5 kg'",
    ),
    (
        'excludes = ["big tank"]',
        'excludes = ["cooler"]',
        "aircraft/plain.toml:59: options.1.excludes.0: 'cooler' excludes itself; expected another option",
    ),
    (
        'excludes = ["big tank"]',
        'needs = ["big tnk"]',
        "aircraft/plain.toml:59: options.1.needs.0: unknown option 'big tnk'; "
        "expected an option of this airplane (did you mean 'big tank'?)",
    ),
    (
        'name = "big tank"',
        'name = "cooler"',
        "aircraft/plain.toml:61: options.2.name: 'cooler' given twice; "
        "expected a name of its own (see line 52)",
    ),
    (
        '{ weight = "900 kg", arm = "2.10 m" }',
        '{ weight = "900 kg", arm = "2.90 m" }',
        "aircraft/plain.toml:36: envelopes.0.points: the edge of 'normal' crosses itself; "
        "expected the corners in order round the edge",
    ),
    (
        'includes = ["autopilot"]',
        'includes = ["autopilt"]',
        "aircraft/plain.toml:12: weights.includes.0: unknown option 'autopilt'; "
        "expected an option of this airplane (did you mean 'autopilot'?)",
    ),
    (
        'source = "afm"',
        'source = "amf"',
        "aircraft/plain.toml:4: source: unknown source 'amf'; "
        "expected a key of sources.toml (did you mean 'afm'?)",
    ),
    (
        "price_year = 2026",
        "",
        "aircraft/plain.toml:48: options.0.price: a price without a year; expected price_year beside it",
    ),
    (
        'file = "plain/climb.csv"',
        'file = "../../climb.csv"',
        "aircraft/plain.toml:94: tables.1.file: '../../climb.csv' is outside the study; "
        "expected a file beside this one",
    ),
    (
        'file = "plain/climb.csv"',
        'file = "plain/clim.csv"',
        "aircraft/plain/clim.csv: no such file; expected the file to be there",
    ),
    (
        'gear = "fixed"',
        'gear = "fxed"',
        "aircraft/plain.toml:78: airframe.gear: found 'fxed'; expected 'fixed' or 'retractable'",
    ),
    (
        'empty_arm = "2.30 m"',
        'empty_arm = "2,300 m"',
        "aircraft/plain.toml:9: weights.empty_arm: '2,300 m' is too large; expected at most 30 m",
    ),
    (
        'rated_power = "150 hp"',
        'rated_power = "150,000 hp"',
        "aircraft/plain.toml:66: engine.rated_power: '150,000 hp' is too large; expected at most 2,682.04 hp",
    ),
    (
        'takeoff = "1,100 kg"',
        'takeoff = "1,150 kg"',
        "aircraft/plain.toml:34: envelopes: no envelope is high enough; "
        "expected one that reaches the takeoff weight, 1,150 kg",
    ),
    (
        "[price]",
        '[speeds]\nnever_exceed = "120 kt"\nnormal_operating = "140 kt"\n[price]',
        "aircraft/plain.toml:81: speeds.never_exceed: 120 kt; "
        "expected more than the normal operating speed, 140 kt",
    ),
    (
        "[propeller]",
        "[propeller\n",
        "aircraft/plain.toml:70: not TOML: expected ']' at the end of a table declaration; "
        'expected key = "value"',
    ),
]


@pytest.mark.parametrize(("old", "new", "said"), FAULTS)
def test_each_fault_is_said_with_its_line(tmp_path, old, new, said):
    dossier, problems = read(tmp_path, plain=(old, new))
    assert dossier is None
    assert said in problems


def test_all_faults_are_said_at_once(tmp_path):
    write_study(tmp_path)
    path = tmp_path / "aircraft/plain.toml"
    text = path.read_text()
    for old, new, _ in (FAULTS[0], FAULTS[5], FAULTS[14]):
        text = text.replace(old, new)
    path.write_text(text)
    (tmp_path / "aircraft/plain/cruise.csv").write_bytes(b"\xff\xfe")
    collector = Collector()
    read_dossier(path, "plain.toml", SOURCES, collector)
    fields = {problem.place.field for problem in collector.problems}
    assert {"weights.takeoff", "airframe.gear"} <= fields
