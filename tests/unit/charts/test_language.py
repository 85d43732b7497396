"""The language of charts: what it says, what it lacks, and what is refused."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from flyoff.charts import export, speed_altitude
from flyoff.charts.house import PLAIN, House, read_house
from flyoff.charts.language import Language
from flyoff.charts.style import PAGE
from flyoff.core.problems import Problems
from flyoff.report.blocks import Column, Group, Row, Table
from flyoff.report.table_files import headed
from helpers import comparison_fixture


def house(folder: Path, text: str) -> House:
    (folder / "house.toml").write_text(text)
    return read_house(folder)


def texts(house: House) -> tuple[str, set[str]]:
    """Return a chart as SVG, and its words."""
    setting = house.setting(house.light, PAGE)
    svg = export.drawn(speed_altitude.CHART, comparison_fixture.comparison(), setting, "x")
    root = ElementTree.fromstring(svg)
    return svg, {"".join(e.itertext()) for e in root.iter("{http://www.w3.org/2000/svg}text")}


def test_a_german_house_has_german_charts(tmp_path: Path) -> None:
    german = house(tmp_path, 'language = "de"\n')
    svg, words = texts(german)
    assert 'lang="de"' in svg
    assert "Wahre Fluggeschwindigkeit, kt" in words
    assert "Reisegeschwindigkeit über der Höhe" in words
    assert any(line.startswith("Nicht zur Flugplanung") for line in words)
    english = {key.lower() for key in german.language.phrases if "{}" not in key}
    for line in words:
        assert not {part.lower() for part in re.split(", |; ", line)} & english


def test_english_is_drawn_as_without_a_language(tmp_path: Path) -> None:
    svg, _ = texts(house(tmp_path, 'language = "en"\n'))
    assert svg == texts(PLAIN)[0]
    assert "lang=" not in svg


def test_phrases_that_are_lacking_are_listed_and_their_text_stays_whole(tmp_path: Path) -> None:
    (tmp_path / "words.toml").write_text('"True airspeed" = "Vitesse vraie"\n"bands hold 95 %" = "95 %"\n')
    french = house(tmp_path, 'language = "fr"\nphrases = "words.toml"\n')
    _, words = texts(french)
    assert "Vitesse vraie, kt" in words
    assert "Cruise speed over altitude" in words
    said = [*french.language.unsaid()]
    assert said.count("  Cruise speed over altitude") == 1
    assert "  Pressure altitude" in said and "  True airspeed" not in said


def test_phrases_of_the_house_go_before_those_shipped(tmp_path: Path) -> None:
    (tmp_path / "words.toml").write_text('"true airspeed" = "Eigengeschwindigkeit"\n')
    own = house(tmp_path, 'language = "de"\nphrases = "words.toml"\n').language
    assert own.text("True airspeed, kt") == "Eigengeschwindigkeit, kt"
    assert own.text("Range, nmi") == "Reichweite, nmi"


def test_numbers_and_names_keep_their_place() -> None:
    german = Language("de", {"no evidence for {}": "ohne {}", "{} to spare": "noch {}"}).sparing(
        {"Vadmel 160"}
    )
    assert german.text("4.6 in to spare; no evidence for Vadmel 160") == "noch 4.6 in; ohne Vadmel 160"
    assert german.text("Vadmel 160") == "Vadmel 160"
    assert not german.lacking


def test_a_number_hides_no_words_from_the_list() -> None:
    german = Language("de", {"{} power at {}": "{} Leistung in {}"})
    text = "65 % power at 8,000 ft, 10 kt head wind"
    assert german.text(text) == text
    assert list(german.lacking) == ["10 kt head wind"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('language = "xx"', "house.toml:1: language: 'xx'; expected a language shipped (en, de)"),
        (
            '\nlanguage = "German"\nphrases = "w.toml"',
            "house.toml:2: language: 'German'; expected a language",
        ),
        ('language = "de"\nphrases = "../w.toml"', "house.toml:2: phrases: '../w.toml'"),
        ('language = "de"\nphrases = "w.toml"', "w.toml:2: {} aboard: 'an Bord'; expected {} 1 times"),
    ],
)
def test_what_is_refused(tmp_path: Path, text: str, found: str) -> None:
    (tmp_path / "w.toml").write_text('"range" = "Reichweite"\n"{} aboard" = "an Bord"\n')
    with pytest.raises(Problems) as caught:
        house(tmp_path, text)
    assert found in str(caught.value)


def test_a_table_is_headed_in_the_language(tmp_path: Path) -> None:
    german = house(tmp_path, 'language = "de"\n').language
    table = Table(
        "Range", "Quantity", (Column("Handbook"),), (Group("Cruise", (Row("Range, full tanks", ()),)),)
    )
    said = headed(table, german)
    heads = (
        said.caption,
        said.corner,
        said.columns[0].title,
        said.groups[0].title,
        said.groups[0].rows[0].head,
    )
    assert heads == ("Reichweite", "Größe", "Handbuch", "Reiseflug", "Reichweite, volle Tanks")
