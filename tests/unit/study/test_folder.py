"""A study folder is checked across its files, all problems at once."""

import pytest

from flyoff.core.problems import Problems
from flyoff.study.folder import read_folder
from helpers.study_files import write_study

FAULTS = [
    ('aircraft = ["plain"]', 'aircraft = ["plane"]', "study.toml:3: aircraft.0: no file aircraft/plane.toml"),
    ('aircraft = ["plain"]', 'aircraft = ["plane"]', "did you mean 'plain'?"),
    ('"air conditioning"', '"air conditoning"', "'air conditoning' is offered by none"),
    ('kind = "avgas"', 'kind = "diesel"', "no avgas; expected an entry for avgas, which Plain One burns"),
    ('power = "65 %"', 'power = "650 %"', "terms.power: 650 %; expected between 20 and 100 %"),
    ('reserve = "45 min"', 'reserve = "-45 min"', "'-45 min' is too small"),
    ('reserve = "45 min"', "reserve = 45", "terms.reserve: bare number 45"),
    (
        'start = "EETN"',
        'start = "EETN"\noccupants = 3',
        "3 people; expected at most the 2 people of the terms",
    ),
    ('currency = "EUR"', 'currency = "Euro"', "money.currency: found 'Euro'"),
    ('"radio", "air', '"radio", "radio", "air', "'radio' demanded twice"),
    ('title = "A plain study"', "", "study.toml:1: title: missing"),
    (
        "[terms]",
        '[terms]\nevidence = "measured"',
        "study.toml:6: terms.evidence: 'measured', and none of them was flown; expected flights",
    ),
    ("[terms]", '[terms]\nevidence = "flown"', "terms.evidence: found 'flown'"),
]


@pytest.mark.parametrize(("old", "new", "said"), FAULTS)
def test_each_fault_is_said(tmp_path, old, new, said):
    write_study(tmp_path, study=(old, new))
    with pytest.raises(Problems) as caught:
        read_folder(tmp_path)
    assert said in str(caught.value)


def test_faults_of_all_files_are_said_at_once(tmp_path):
    write_study(tmp_path, study=('end = "ESSA"', 'end = "EETN"'), plain=("blades = 2", "blades = 0"))
    with pytest.raises(Problems) as caught:
        read_folder(tmp_path)
    assert {p.place.file for p in caught.value.problems} == {"study.toml", "aircraft/plain.toml"}


def test_a_folder_without_a_study_says_so(tmp_path):
    with pytest.raises(Problems, match=r"study\.toml: no such file"):
        read_folder(tmp_path)
    with pytest.raises(Problems, match=r"nowhere: no such folder"):
        read_folder(tmp_path / "nowhere")


def test_a_source_without_a_title_is_told_at_its_own_line(tmp_path):
    write_study(tmp_path, sources=('title = "This study"', 'titel = "This study"'))
    with pytest.raises(Problems) as caught:
        read_folder(tmp_path)
    assert [str(problem).partition("; ")[0] for problem in caught.value.problems] == [
        "sources.toml:4: us.title: missing",
        "sources.toml:5: us.titel: unknown key",
        "study.toml:2: source: unknown source 'us'",
    ]


def test_a_broken_sources_file_is_told_once(tmp_path):
    write_study(tmp_path, sources=("[afm]", "[afm"))
    with pytest.raises(Problems) as caught:
        read_folder(tmp_path)
    assert len(caught.value.problems) == 1


def test_money_in_a_third_currency_and_twins_are_said(tmp_path):
    exchange = '[[money.exchange]]\ncurrency = "USD"\nworth = "9 NOK"\n'
    write_study(tmp_path, study=("yearly_increase", f"#\n{exchange}{exchange}#"))
    with pytest.raises(Problems) as caught:
        read_folder(tmp_path)
    said = str(caught.value)
    assert "one USD in NOK; expected it in EUR, the study's currency" in said
    assert "USD again" in said


def test_trips_that_differ_in_punctuation_only_are_said(tmp_path):
    twin = '[[trips]]\nname = "Over-the-water!"\nstart = "EETN"\nend = "ESSA"\n[money]'
    write_study(tmp_path, study=("[money]", twin))
    with pytest.raises(Problems, match="given twice; expected a name of its own, punctuation aside"):
        read_folder(tmp_path)


def test_a_doubt_of_a_term_is_refused(tmp_path):
    write_study(tmp_path, study=('"45 min"', '{ value = "45 min", u95 = "5 min" }'))
    with pytest.raises(Problems, match="a term with u95"):
        read_folder(tmp_path)


def test_unprintable_names_are_refused(tmp_path):
    write_study(tmp_path, plain=('name = "Plain One"', 'name = "Pl\\u0000ain"'))
    with pytest.raises(Problems, match=r"unprintable character, U\+0000"):
        read_folder(tmp_path)


@pytest.mark.parametrize(("mixture", "refused"), [("best power", False), ("best economy", True), ("", True)])
def test_a_second_cruise_table_is_one_for_another_mixture(tmp_path, mixture, refused):
    first = 'kind = "cruise"\nfile = "plain/cruise.csv"\n'
    axes = 'axes = ["pressure altitude", "ISA deviation", "percent power"]\n'
    told = f'mixture = "{mixture}"\n' if mixture else ""
    second = f'{first}mixture = "best economy"\n{axes}[[tables]]\n{first}{told}'
    folder = write_study(tmp_path, plain=(first, second))
    if refused:
        with pytest.raises(
            Problems, match="a second cruise table; expected one table of each kind, of cruise"
        ):
            read_folder(folder)
    else:
        assert "cruise, best power" in read_folder(folder).dossiers[0].tables
