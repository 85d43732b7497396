"""Every form that leaves the house: exact sizes, fonts embedded, the same bytes, the house's units."""

import contextlib
import re
import struct
import zlib
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pytest

from flyoff.charts import export, render, trips
from flyoff.charts.catalogue import CHARTS
from flyoff.charts.chart import Chart
from flyoff.charts.house import PLAIN
from flyoff.charts.style import PAGE, SCREEN, THEMES, Setting, column
from flyoff.core.wording import Wording
from helpers import comparison_fixture

every_chart = pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
METRIC = Wording("metric", decimal=",", thousands=".")
US_UNITS = re.compile(
    r"\d\s?(?:lb|kt|nmi|ft|ft/min|US gal|US gal/h|hp|in)(?![\w/])|, (?:lb|kt|nmi|ft|hp|in)$"
)


def drawn(chart: Chart[Any], setting: Setting) -> ElementTree.Element:
    return ElementTree.fromstring(export.drawn(chart, comparison_fixture.comparison(), setting, "x"))


def texts(root: ElementTree.Element) -> list[str]:
    return ["".join(e.itertext()) for e in root.iter("{http://www.w3.org/2000/svg}text")]


def unpacked(pdf: bytes) -> bytes:
    """A PDF with what its compressed streams hold."""
    found = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    opened = []
    for stream in found:
        with contextlib.suppress(zlib.error):
            opened.append(zlib.decompress(stream))
    return b"\n".join([pdf, *opened])


@every_chart
@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_every_chart_in_every_theme_is_of_its_exact_size(chart: Chart[Any], theme: Any) -> None:
    root = drawn(chart, Setting(theme, SCREEN))
    assert (root.get("width"), root.get("height")) == ("1920", "1080")
    edged = {e.get("stroke") for e in root.iter("{http://www.w3.org/2000/svg}text")}
    assert edged == {theme.halo}


@every_chart
def test_a_column_has_its_width_in_millimetres(chart: Chart[Any]) -> None:
    for form, width in zip(PLAIN.columns, ("86mm", "178mm"), strict=True):
        root = drawn(chart, Setting(format=form))
        assert root.get("width") == width
        assert str(root.get("height")).endswith("mm")


@every_chart
def test_a_metric_house_shows_no_us_unit(chart: Chart[Any]) -> None:
    comparison = comparison_fixture.comparison()
    for form in (PAGE, SCREEN):
        setting = Setting(format=form, wording=METRIC)
        said = [*texts(drawn(chart, setting)), export.alt(chart, comparison, setting)]
        assert [text for text in said if US_UNITS.search(text)] == []


def test_the_words_of_trips_count_the_same_kilometres_as_the_chart() -> None:
    chart = next(chart for chart in CHARTS if chart.name == "trips")
    comparison = comparison_fixture.comparison()
    setting = Setting(wording=METRIC)
    headings = [text for text in texts(drawn(chart, setting)) if text.endswith(" km")]
    said = export.alt(chart, comparison, setting)
    assert headings
    assert [heading for heading in headings if f"{heading}:" not in said] == []


def test_a_metric_axis_has_round_numbers_where_they_belong() -> None:
    chart = CHARTS[0]
    spec = chart.definition(comparison_fixture.comparison(), Setting(wording=METRIC))
    axis = next(layer["encoding"]["x"] for layer in spec["layer"] if "x" in layer.get("encoding", {}))["axis"]
    assert axis["title"] == "True airspeed, km/h"
    for tick in axis["values"]:
        assert tick * 1.852 == pytest.approx(round(tick * 1.852 / 5) * 5)
    both = chart.definition(comparison_fixture.comparison(), Setting(wording=Wording("both")))
    titles = {
        layer["encoding"][c]["axis"]["title"]
        for layer in both["layer"]
        for c in ("x", "y")
        if (layer.get("encoding", {}).get(c) or {}).get("axis")
    }
    assert {"True airspeed, kt (km/h)", "Pressure altitude, ft (m)"} <= titles


def test_a_pdf_has_the_size_of_its_column_its_typeface_and_the_same_bytes() -> None:
    chart, comparison = CHARTS[0], comparison_fixture.comparison()
    made = [dict(export.for_print(chart, comparison, PLAIN, "speed")) for _ in range(2)]
    assert made[0] == made[1]
    assert sorted(made[0]) == [f"print/speed-{c}.{e}" for c in ("double", "single") for e in ("pdf", "svg")]
    data = unpacked(made[0]["print/speed-single.pdf"])
    box = re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert box is not None
    assert float(box[1]) == pytest.approx(86 / 25.4 * 72, abs=0.01)
    assert b"LiberationSans" in data and b"/FontFile2" in data
    assert b"/StructTreeRoot" in data and b"/CreationDate" not in data


def test_a_picture_in_pixels_is_no_page() -> None:
    page = export.drawn(CHARTS[0], comparison_fixture.comparison(), Setting(), "x")
    with pytest.raises(ValueError, match="size in millimetres; got 760 by 470"):
        export.pdf(page, "t", "a", PLAIN)


def test_stills_have_their_pixels_and_no_ground() -> None:
    made = dict(export.stills(CHARTS[0], comparison_fixture.comparison(), PLAIN, "speed"))
    assert sorted(made) == [f"speed-{g}-{n}.png" for g in ("dark", "light") for n in ("1080", "2160")]
    for name, data in made.items():
        size = (3840, 2160) if "2160" in name else (1920, 1080)
        assert struct.unpack(">IIBB", data[16:26]) == (*size, 8, 6)  # 8 bits, with an alpha channel


def test_a_crowded_chart_has_more_screens_than_one_and_none_is_left_out() -> None:
    chart = next(chart for chart in CHARTS if chart.name == "balance")
    comparison = comparison_fixture.comparison()
    shown = list(export.screens(chart, comparison, PLAIN, PLAIN.film, "balance"))
    assert [name for name, _ in shown] == ["balance-1", "balance-2"]
    said = [" ".join(texts(drawn(chart, setting))) for _, setting in shown]
    for entry in comparison.entries:
        assert sum(entry.name in text for text in said) == 1


def test_a_long_subtitle_makes_a_column_grow_and_the_caution_is_whole() -> None:
    chart = next(chart for chart in CHARTS if chart.name == "flown")
    root = drawn(chart, Setting(format=column("slim", 60, 8)))
    assert "Not for flight planning" in " ".join(texts(root))
    assert "…" not in "".join(texts(root)[:1])


def test_words_have_an_edge_only_where_the_ground_is_unknown() -> None:
    plain = render.svg(CHARTS[0].definition(comparison_fixture.comparison(), Setting()), "", "x")
    assert "paint-order" not in plain


def test_trips_that_a_screen_cannot_hold_in_words_of_full_size_go_on_the_next() -> None:
    comparison = comparison_fixture.comparison()
    legs = tuple(
        replace(leg, trip=f"{leg.trip} {number}") for number in range(5) for leg in comparison.trip_legs
    )
    crowded, chart = replace(comparison, trip_legs=legs), trips.CHART
    shown = list(export.screens(chart, crowded, PLAIN, PLAIN.film, chart.name))
    assert len(shown) == chart.screens(crowded) > 1
    pictures = [export.drawn(chart, crowded, setting, chart.name) for _, setting in shown]
    said = [" ".join(texts(ElementTree.fromstring(picture))) for picture in pictures]
    for trip in {leg.trip for leg in legs}:
        assert sum(f"{trip}, " in words for words in said) == 1, trip
    assert all(f'font-size="{SCREEN.text}px"' in picture for picture in pictures)
