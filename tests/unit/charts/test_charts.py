"""Every chart: a valid definition, its words, and what it does where evidence is missing."""

from dataclasses import replace
from typing import Any

import altair
import numpy as np
import pytest

from flyoff.charts.catalogue import CHARTS, charts_of
from flyoff.charts.chart import Chart
from flyoff.charts.render import check_fields
from flyoff.charts.style import DARK, FILM, LIGHT, PAGE, PHONE, SCREEN, Setting
from helpers import comparison_fixture

SETTINGS = {
    "page": Setting(LIGHT, PAGE),
    "phone": Setting(LIGHT, PHONE, titled=False),
    "screen": Setting(DARK, SCREEN),
    "film": Setting(FILM, SCREEN),
}
every_chart = pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)


def units(spec: dict[str, Any]) -> list[dict[str, Any]]:
    parts = [p for name in ("layer", "concat") for p in spec.get(name, ())]
    return [unit for part in parts for unit in units(part)] if parts else [spec]


@every_chart
@pytest.mark.parametrize("name", SETTINGS)
def test_the_definition_is_valid(chart: Chart, name: str) -> None:
    """Vega-Lite's JSON Schema, through the reference library that carries it."""
    spec = chart.definition(comparison_fixture.comparison(), SETTINGS[name])
    kind = altair.ConcatChart if "concat" in spec else altair.LayerChart
    kind.from_dict(spec, validate=True)
    check_fields(spec)
    setting = SETTINGS[name]
    assert spec["usermeta"]["width"] == setting.format.canvas[0]
    if setting.format is SCREEN:
        assert spec["usermeta"]["height"] == 1080


@every_chart
def test_text_is_large_enough_on_a_phone(chart: Chart) -> None:
    spec = chart.definition(comparison_fixture.comparison(), SETTINGS["phone"])
    sizes = [u["mark"].get("fontSize", PHONE.text) for u in units(spec) if u["mark"]["type"] == "text"]
    assert min(sizes) >= 11
    assert spec["config"]["axis"]["labelFontSize"] >= 11


@every_chart
def test_nothing_is_fetched_and_nothing_has_a_legend(chart: Chart) -> None:
    for unit in units(chart.definition(comparison_fixture.comparison(), SETTINGS["page"])):
        assert set(unit["data"]) == {"values"}
        assert "color" not in unit.get("encoding", {})


@every_chart
def test_the_definition_is_a_function_of_the_comparison(chart: Chart) -> None:
    first, second = (chart.definition(comparison_fixture.comparison(), SETTINGS["page"]) for _ in range(2))
    assert first == second


@every_chart
def test_a_chart_that_leaves_the_house_carries_the_caution(chart: Chart) -> None:
    for name in ("page", "screen"):
        spec = chart.definition(comparison_fixture.comparison(), SETTINGS[name])
        said = [str(u["mark"].get("text")) for u in units(spec) if u["mark"]["type"] == "text"]
        assert any("Not for flight planning" in text for text in said)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("speed_altitude", "Rita RG: from 134 kt at 0 ft to 144 kt at 8,000 ft"),
        ("payload_range", "the terms’ four people and bags, 595 lb"),
        ("payload_range", "902 lb over 872 nmi"),
        ("balance", "Rita RG, normal envelope: zero fuel 2,430 lb at 110.7 in"),
        ("balance", "outside by 0.5 in at the aft limit"),
        ("trips", "Rita RG no evidence (no climb table, so no time to height)"),
        ("trips", "1 stop"),
        ("seat_table", "Rita RG, 4 aboard: no range: no seating and stowing keeps the balance"),
        ("flown", "3.0 ± 1.4 kt slower than the book over 3 conditions"),
    ],
)
def test_the_alternative_text_tells_the_numbers(name: str, words: str) -> None:
    chart = next(chart for chart in CHARTS if chart.name == name)
    assert words in chart.alt(comparison_fixture.comparison())


def test_every_number_of_people_is_named_on_its_axis() -> None:
    comparison = comparison_fixture.comparison()
    chart = next(chart for chart in CHARTS if chart.name == "seat_table")
    spec = chart.definition(comparison, Setting())
    axes = [u["encoding"]["x"]["axis"] for u in spec["layer"] if "x" in u.get("encoding", {})]
    most = max(seat.occupants for seat in comparison.seats)
    assert all(axis["values"] == [float(n) for n in range(1, most + 1)] for axis in axes)


def test_charts_without_evidence_are_not_drawn() -> None:
    whole = comparison_fixture.comparison()
    bare = replace(
        whole,
        speed_curves=(),
        payload_ranges=(),
        balances=(),
        trip_legs=(),
        book=(),
        seats=(),
        rings=(),
        inspections=(),
        swings=(),
    )
    assert charts_of(bare) == ()
    assert charts_of(whole) == CHARTS


def test_an_airplane_without_a_speed_is_said() -> None:
    whole = comparison_fixture.comparison()
    curve = whole.speed_curves[2]
    none = np.full_like(curve.true_airspeed_m_s, np.nan)
    curves = (*whole.speed_curves[:2], replace(curve, true_airspeed_m_s=none), whole.speed_curves[3])
    chart = CHARTS[0]
    gap = replace(whole, speed_curves=curves)
    assert "no evidence for Rita RG" in chart.subtitle(gap)
    assert "Rita RG: no evidence" in chart.alt(gap)
    check_fields(chart.definition(gap, SETTINGS["page"]))


def test_a_gap_in_a_speed_is_not_bridged() -> None:
    whole = comparison_fixture.comparison()
    curve = whole.speed_curves[0]
    speed = curve.true_airspeed_m_s.copy()
    speed[5] = np.nan
    gap = replace(whole, speed_curves=(replace(curve, true_airspeed_m_s=speed),))
    lines = [
        u for u in units(CHARTS[0].definition(gap, SETTINGS["page"])) if "detail" in u.get("encoding", {})
    ]
    rows = lines[0]["data"]["values"]
    assert {row["run"] for row in rows} == {0, 1}
    assert len(rows) == np.isfinite(speed).sum()


def test_eight_airplanes_fit_a_screen() -> None:
    whole = comparison_fixture.comparison()
    more = tuple(replace(e, key=f"{e.key}-two", name=f"{e.name} with a long name") for e in whole.entries)
    tracks = tuple(replace(t, aircraft=f"{t.aircraft}-two") for t in whole.balances)
    crowd = replace(whole, entries=(*whole.entries, *more), balances=(*whole.balances, *tracks))
    chart = next(chart for chart in CHARTS if chart.name == "balance")
    spec = chart.definition(crowd, SETTINGS["screen"])
    text = spec["config"]["axis"]["labelFontSize"]
    assert text >= 20
    assert all(panel["height"] >= 7 * text and panel["width"] >= 12 * text for panel in spec["concat"])
    rows = len(spec["concat"]) / spec["columns"]
    used = rows * spec["concat"][0]["height"] + (rows - 1) * spec["spacing"]["row"]
    assert spec["padding"]["top"] + used + spec["padding"]["bottom"] == pytest.approx(1080)


def test_one_airplane_alone_can_be_drawn() -> None:
    whole = comparison_fixture.comparison()
    alone = replace(
        whole,
        entries=whole.entries[:1],
        speed_curves=whole.speed_curves[:1],
        payload_ranges=whole.payload_ranges[:1],
        balances=whole.balances[:1],
        trip_legs=tuple(leg for leg in whole.trip_legs if leg.aircraft == "lomvi"),
        seats=tuple(seat for seat in whole.seats if seat.aircraft == "lomvi"),
        rings=whole.rings[:1],
        swings=tuple(swing for swing in whole.swings if swing.aircraft == "lomvi"),
        inspections=whole.inspections[:1],
    )
    for chart in charts_of(alone):
        check_fields(chart.definition(alone, SETTINGS["page"]))
