"""Rendering: exact size, the same bytes, nothing from outside, no silent fault."""

import struct
from xml.etree import ElementTree

import pytest

from flyoff.charts.catalogue import CHARTS
from flyoff.charts.render import UnknownField, check_fields, png, svg
from flyoff.charts.style import DARK, FILM, LIGHT, PAGE, SCREEN, Setting
from helpers import comparison_fixture

SVG = "{http://www.w3.org/2000/svg}"
SPEED = CHARTS[0]


def drawn(setting: Setting = Setting(LIGHT, PAGE), prefix: str = "x") -> str:  # noqa: B008
    return svg(SPEED.definition(comparison_fixture.comparison(), setting), 'a "picture" <of> speeds', prefix)


def test_the_same_bytes_whatever_was_drawn_before() -> None:
    first = drawn()
    drawn(Setting(DARK, SCREEN))
    assert drawn() == first
    assert png(first) == png(first)


def test_size_role_and_words() -> None:
    root = ElementTree.fromstring(drawn())
    assert root.tag == f"{SVG}svg"
    assert (root.get("width"), root.get("height")) == (str(PAGE.width), str(PAGE.height))
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'a "picture" <of> speeds'
    assert "Lomvi 4" in "".join(root.itertext())


def test_ids_begin_with_the_prefix_and_links_resolve() -> None:
    root = ElementTree.fromstring(drawn(prefix="page-one"))
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    links = [e.get("clip-path", "") for e in root.iter() if e.get("clip-path")]
    assert ids
    assert links
    assert all(str(name).startswith("page-one-") for name in ids)
    assert {link[5:-1] for link in links} <= set(ids)


def test_pixels_are_those_of_a_screen() -> None:
    data = png(drawn(Setting(DARK, SCREEN)))
    assert struct.unpack(">II", data[16:24]) == (1920, 1080)


def test_film_has_no_ground() -> None:
    root = ElementTree.fromstring(drawn(Setting(FILM, SCREEN)))
    assert not [e for e in root if e.tag == f"{SVG}rect"]


def test_a_field_that_the_data_lacks_is_refused() -> None:
    spec = SPEED.definition(comparison_fixture.comparison(), Setting(LIGHT, PAGE))
    spec["layer"][-1]["encoding"]["x"]["field"] = "sped"
    with pytest.raises(UnknownField, match="no field 'sped' in data with"):
        svg(spec, "", "x")


def test_a_field_without_data_is_refused() -> None:
    with pytest.raises(UnknownField, match="no data for the fields x"):
        check_fields({"data": {"values": []}, "mark": "point", "encoding": {"x": {"field": "x"}}})


def test_no_address_is_followed() -> None:
    spec = SPEED.definition(comparison_fixture.comparison(), Setting(LIGHT, PAGE))
    spec["layer"].append({"data": {"url": "http://data.invalid/rows.json"}, "mark": "point"})
    with pytest.raises(ValueError, match=r"data\.invalid"):
        svg(spec, "", "x")


def test_markup_in_names_stays_text() -> None:
    root = ElementTree.fromstring(
        svg(SPEED.definition(comparison_fixture.hostile(), Setting(LIGHT, PAGE)), "<b>", "x")
    )
    assert not [e for e in root.iter() if "script" in str(e.tag)]
    assert "<script>" in "".join(root.itertext())
