"""The charts of a flight: valid, legible, true to the reduction, nothing told by colour alone."""

import math
from dataclasses import replace
from functools import cache
from types import SimpleNamespace
from typing import Any

import altair
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.charts import calibration, climbs, fitted, flight, polar, residuals, speed_power, velocity_circles
from flyoff.charts.catalogue import FLIGHT_CHARTS, charts_of_flight
from flyoff.charts.chart import Chart, members_words, signed
from flyoff.charts.conditions import KINDS, kind_of, patterned
from flyoff.charts.plot import Plot
from flyoff.charts.render import check_fields
from flyoff.charts.scales import Scale, clock_scale
from flyoff.charts.signals import MOST_COLUMNS, Signal, signals, thinned
from flyoff.charts.style import DARK, FILM, LIGHT, PAGE, PHONE, SCREEN, Setting
from flyoff.core.units import degree, hp, kt
from flyoff.reduction.legs import solve_legs
from flyoff.reduction.run import Reduction
from flyoff.reduction.statistics import Estimate
from helpers.flights import demo_reduction, reduction_of

SETTINGS = {
    "page": Setting(LIGHT, PAGE),
    "phone": Setting(LIGHT, PHONE, titled=False),
    "screen": Setting(DARK, SCREEN),
    "film": Setting(FILM, SCREEN),
}
PAGE_SETTING = SETTINGS["page"]
SAMPLE = "sample.csv"
WHY = "the legs do not fit one airspeed and one wind: residuals up to 3.1 m/s where about 0.2 m/s is expected"
every_chart = pytest.mark.parametrize("chart", FLIGHT_CHARTS, ids=lambda chart: chart.name)


def units(spec: dict[str, Any]) -> list[dict[str, Any]]:
    parts = [p for name in ("layer", "concat") for p in spec.get(name, ())]
    return [unit for part in parts for unit in units(part)] if parts else [spec]


def texts(spec: dict[str, Any]) -> str:
    found = []
    for unit in units(spec):
        if unit["mark"]["type"] == "text":
            said = unit["mark"].get("text")
            found += said if isinstance(said, list) else [row["text"] for row in unit["data"]["values"]]
    return "\n".join(found)


def brief(spec: dict[str, Any]) -> dict[str, Any]:
    """Return a definition with three rows of its data: the schema asks the same of every row."""
    short = {name: [brief(p) for p in spec[name]] for name in ("layer", "concat") if name in spec}
    data = {"data": {"values": spec["data"]["values"][:3]}} if "data" in spec else {}
    return {**spec, **short, **data}


@cache
def refused() -> Reduction:
    """Return a flight whose first group of legs gives no answer."""
    whole = demo_reduction()
    group = whole.legs[0]
    solution = replace(group.solution, refused=WHY)
    return replace(whole, legs=(replace(group, solution=solution), *whole.legs[1:]))


@every_chart
@pytest.mark.parametrize("setting", SETTINGS)
@pytest.mark.parametrize("subject", [demo_reduction, refused], ids=["answered", "refused"])
def test_the_definition_is_valid(chart: Chart[Reduction], setting: str, subject: Any) -> None:
    """Vega-Lite's JSON Schema, through the reference library that carries it."""
    spec = chart.definition(subject(), SETTINGS[setting])
    kind = altair.ConcatChart if "concat" in spec else altair.LayerChart
    kind.from_dict(brief(spec), validate=True)
    check_fields(spec)
    assert spec["usermeta"]["width"] == SETTINGS[setting].format.canvas[0]
    if SETTINGS[setting].format is SCREEN:
        assert spec["usermeta"]["height"] <= 1080


@every_chart
def test_text_is_large_enough_on_a_phone(chart: Chart[Reduction]) -> None:
    spec = chart.definition(demo_reduction(), SETTINGS["phone"])
    sizes = [u["mark"].get("fontSize", PHONE.text) for u in units(spec) if u["mark"]["type"] == "text"]
    assert min(sizes) >= 11
    assert spec["config"]["axis"]["labelFontSize"] >= 11


@every_chart
def test_pure_unfetched_and_without_legend(chart: Chart[Reduction]) -> None:
    first, second = (chart.definition(demo_reduction(), PAGE_SETTING) for _ in range(2))
    assert first == second
    for unit in units(first):
        assert set(unit["data"]) == {"values"}
        assert "color" not in unit.get("encoding", {})
    assert "Not for flight planning" in texts(first)


def test_a_flight_of_notes_alone_has_nothing_over_time() -> None:
    whole = demo_reduction()
    bare = replace(whole, flight=replace(whole.flight, logs=()), legs=(), points=(), manoeuvres=())
    bare = replace(bare, calibration=replace(bare.calibration, observations=()))
    bare = replace(bare, standard=replace(bare.standard, speed_power=None, climbs=None, polar=None))
    assert charts_of_flight(bare) == ()
    assert charts_of_flight(whole) == FLIGHT_CHARTS


# the flight over time


readings = st.lists(st.floats(-1e4, 1e4, allow_nan=False), min_size=2, max_size=400)


@given(values=readings, columns=st.integers(1, 60))
def test_thinning_keeps_the_least_and_the_greatest(values: list[float], columns: int) -> None:
    time_s = np.arange(len(values), dtype=float)
    signal = Signal("rpm", "Engine speed", "rpm", 5.0, time_s, np.array(values))
    kept = list(thinned(signal, columns))
    assert len(kept) <= max(2 * columns, min(len(values), 2 * columns))
    shown = [y for _, y, _ in kept]
    for extreme, found in ((min(values), min(shown)), (max(values), max(shown))):
        assert found == pytest.approx(extreme, rel=1e-4, abs=1e-12)
    assert [x for x, *_ in kept] == sorted(x for x, *_ in kept)


def test_a_long_log_is_thinned_to_two_thousand_points() -> None:
    time_s = np.arange(40_000, dtype=float)
    signal = Signal("rpm", "Engine speed", "rpm", 5.0, time_s, np.sin(time_s))
    assert len(list(thinned(signal, 10_000))) <= 2 * MOST_COLUMNS == 2000


def test_a_gap_in_a_log_is_not_bridged() -> None:
    time_s = np.concatenate([np.arange(60.0), 200 + np.arange(60.0)])
    signal = Signal("rpm", "Engine speed", "rpm", 5.0, time_s, np.ones(120))
    runs = {x: run for x, _, run in thinned(signal, 500)}
    assert runs[59.0] != runs[200.0]
    assert runs[0.0] == runs[59.0]


def test_every_panel_has_one_clock_and_the_last_its_labels() -> None:
    spec = flight.CHART.definition(reduction_of(SAMPLE), PAGE_SETTING)
    domains, labelled = set(), []
    for panel in spec["concat"]:
        channel = next(u["encoding"]["x"] for u in panel["layer"] if "x" in u.get("encoding", {}))
        domains.add(tuple(channel["scale"]["domain"]))
        labelled.append(channel["axis"]["labels"])
    assert len(domains) == 1
    assert labelled == [False] * (len(labelled) - 1) + [True]


def test_each_condition_is_a_bar_in_the_lane_of_its_kind() -> None:
    whole = reduction_of(SAMPLE)
    spec = flight.CHART.definition(whole, PAGE_SETTING)
    said = texts(spec["concat"][0]).splitlines()
    kinds = {kind_of(p) for p in whole.points}
    assert kinds <= set(said)
    boxes = [u for u in units(spec["concat"][0]) if u["mark"]["type"] == "rect"]
    starts = sorted(row["x"] for u in boxes[: len(kinds)] for row in u["data"]["values"])
    assert starts == pytest.approx(sorted(p.condition.start_s for p in whole.points))
    assert "repaired" in said


def test_no_two_kinds_share_a_pattern() -> None:
    plot = Plot(Scale(0.0, 100.0, 10.0, 100.0), Scale(0.0, 20.0, 10.0, 20.0), "", "", 0.0)
    box = [(10.0, 2.0, 60.0, 18.0)]

    def pattern(kind: str) -> str:
        fill, strokes = patterned(plot, box, kind, "#000000", PAGE_SETTING)
        return f"{fill['mark']['opacity']} {strokes['data']['values'][4:]}"

    assert len({pattern(kind) for kind in KINDS}) == len(KINDS)


def test_a_kind_never_heard_of_has_a_lane_too() -> None:
    whole = reduction_of(SAMPLE)
    first = whole.points[0]
    odd = replace(first, readings=replace(first.readings, condition=replace(first.condition, phase="stall")))
    spec = flight.CHART.definition(replace(whole, points=(odd, *whole.points[1:])), PAGE_SETTING)
    assert "stall" in texts(spec["concat"][0])


def test_a_log_without_airspeed_shows_the_speed_over_the_ground() -> None:
    whole = reduction_of(SAMPLE)
    log = whole.flight.logs[0]
    channels = {n: v for n, v in log.channels.items() if n not in ("indicated_airspeed", "true_airspeed")}
    slow = replace(whole, flight=replace(whole.flight, logs=(replace(log, channels=channels),)))
    assert [s.title for s in signals(slow)][1] == "Ground speed"
    assert "Ground speed, kt" in str(flight.CHART.definition(slow, PAGE_SETTING))


@pytest.mark.parametrize(("seconds", "step"), [(20, 5), (600, 120), (7200, 900), (36_000, 7200)])
def test_a_clock_is_read_in_steps_that_people_use(seconds: int, step: int) -> None:
    scale = clock_scale(1000.0, 1000.0 + seconds, 600.0, 8)
    assert scale.step == step
    assert all(tick % step == 0 for tick in scale.ticks)


@pytest.mark.parametrize("start", [0.0, 500.0, 1700.0])
def test_a_narrow_clock_has_three_ticks(start: float) -> None:
    assert len(clock_scale(start, start + 4000.0, 300.0, 2).ticks) >= 3


# velocity circles


def test_the_circles_are_round_and_of_one_scale() -> None:
    spec = velocity_circles.CHART.definition(reduction_of(SAMPLE), PAGE_SETTING)
    spans = set()
    for panel in spec["concat"]:
        assert panel["width"] == panel["height"]
        encoding = next(u["encoding"] for u in panel["layer"] if "x" in u.get("encoding", {}))
        spans |= {round(float(np.ptp(encoding[c]["scale"]["domain"])), 6) for c in "xy"}
    assert len(spans) == 1


def test_the_circle_is_the_wind_and_the_true_airspeed() -> None:
    whole = reduction_of(SAMPLE)
    spec = velocity_circles.CHART.definition(whole, PAGE_SETTING)
    for panel, group in zip(spec["concat"], whole.legs, strict=True):
        circle = next(
            np.array([[row["x"], row["y"]] for row in u["data"]["values"]])
            for u in panel["layer"]
            if u["mark"].get("color") == LIGHT.series[0]
        )
        north, east = group.solution.wind_m_s
        away = np.hypot(*(circle - np.array([east, north]) / kt).T)
        assert away == pytest.approx(group.solution.true_airspeed.value / kt, abs=0.01)


def test_a_refused_group_is_shown_as_refused_with_its_reason() -> None:
    subject = refused()
    panel = velocity_circles.CHART.definition(subject, PAGE_SETTING)["concat"][0]
    told = " ".join(texts(panel).split())
    assert f"Refused: {WHY}" in told
    colours = {u["mark"].get("color") for u in panel["layer"]}
    assert not colours & {LIGHT.series[0], LIGHT.series[1]}  # neither circle nor wind
    assert "Refused" in velocity_circles.CHART.alt(subject)


def test_an_answer_that_is_not_a_number_is_drawn_as_refused() -> None:
    whole = reduction_of(SAMPLE)
    group = whole.legs[-1]
    nothing = np.full_like(group.solution.residuals_m_s, math.nan)
    wind = (math.nan, math.nan)
    solution = replace(group.solution, refused="no answer", residuals_m_s=nothing, wind_m_s=wind)
    subject = replace(whole, legs=(replace(group, solution=solution),))
    spec = velocity_circles.CHART.definition(subject, PAGE_SETTING)
    check_fields(spec)
    assert "nan" not in str(spec).lower()
    assert not residuals.CHART.drawn(subject)


# what each leg leaves over


def test_residuals_are_those_of_the_reduction() -> None:
    whole = reduction_of(SAMPLE)
    checked = [g for g in whole.legs if len(g.members) > 3]
    spec = residuals.CHART.definition(whole, PAGE_SETTING)
    points = [u["data"]["values"][0]["x"] for u in units(spec) if u["mark"]["type"] == "point"]
    assert points == pytest.approx([float(r) / kt for g in checked for r in g.solution.residuals_m_s])
    intervals = [u["data"]["values"][0] for u in units(spec) if u["mark"]["type"] == "rule"]
    assert all(row["low"] < row["x"] < row["high"] for row in intervals)


def test_the_interval_of_a_leg_is_the_one_that_the_reduction_judged_it_by() -> None:
    """No narrower than the ground speed's scatter along the air velocity; wander and airspeed add to it."""
    whole = reduction_of(SAMPLE)
    group = next(g for g in whole.legs if len(g.members) > 3)
    legs = residuals._legs(whole, group)
    for leg, member, u in zip(legs, group.members, group.solution.residuals_u_m_s, strict=True):
        own = whole.points[member].readings
        air = own.ground_m_s - np.array(group.solution.wind_m_s)
        heading = math.atan2(air[1], air[0])
        way = np.array([math.cos(heading), math.sin(heading)])
        assert leg.half == pytest.approx(1.96 * u / kt, rel=1e-4)
        assert u > math.sqrt(way @ own.ground_covariance @ way)
        course = math.atan2(own.ground_m_s[1], own.ground_m_s[0]) / degree % 360
        assert leg.course_deg == pytest.approx(course)


def test_the_reduction_states_each_leg_s_uncertainty() -> None:
    headings, wind = np.radians([10.0, 100.0, 190.0, 280.0]), np.array([3.0, -4.0])
    ground = 50 * np.column_stack([np.cos(headings), np.sin(headings)]) + wind
    along = np.array([0.2, 0.3, 0.2, 0.4])
    found = solve_legs(ground, np.eye(2) * along[:, None, None] ** 2)
    assert found.residuals_u_m_s == pytest.approx(along)


def test_three_legs_leave_nothing_over_and_that_is_said() -> None:
    whole = reduction_of(SAMPLE)
    three = [g for g in whole.legs if len(g.members) == 3]
    assert three, "the sample flight has a group of three legs"
    assert "three legs for three unknowns" in residuals.CHART.subtitle(whole)


# calibration


def test_the_curve_is_filled_only_where_it_was_flown() -> None:
    whole = reduction_of(SAMPLE)
    spec = calibration.CHART.definition(whole, PAGE_SETTING)
    filled = [row for u in units(spec) if u["mark"]["type"] == "area" for row in u["data"]["values"]]
    dashed = [
        row
        for u in units(spec)
        if u["mark"]["type"] == "line"
        and len(u["mark"].get("strokeDash", ())) == 2
        and u["mark"]["strokeDash"][0] > 1
        for row in u["data"]["values"]
    ]
    curve = whole.calibration
    assert filled
    assert not any(
        curve.is_extrapolated(row["x"] * kt * (1 + 1e-5 * way))
        and curve.is_extrapolated(row["x"] * kt * (1 - 1e-5 * way))
        for row in filled
        for way in (1,)
    )
    assert dashed
    for row in filled:
        there = curve.correction(row["x"] * kt)
        assert row["y"] == pytest.approx(there.value / kt, abs=2e-3)
        assert row["high"] - row["low"] == pytest.approx(2 * there.u95 / kt, abs=4e-3)


def test_what_the_legs_measured_stands_beside_the_curve() -> None:
    whole = reduction_of(SAMPLE)
    said = texts(calibration.CHART.definition(whole, PAGE_SETTING))
    for seen in whole.calibration.observations:
        assert f"points {members_words(whole.legs[seen.group].members)}" in said
    assert "Measured by points" in calibration.CHART.alt(whole)


def test_an_assumed_calibration_says_so() -> None:
    whole = reduction_of(SAMPLE)
    assumed = replace(whole.calibration, basis="assumed", observations=())
    subject = replace(whole, calibration=assumed)
    assert "no calibration is known" in calibration.CHART.subtitle(subject)
    areas = [
        u for u in units(calibration.CHART.definition(subject, PAGE_SETTING)) if u["mark"]["type"] == "area"
    ]
    assert not areas


def test_the_handbooks_correction_stands_beside_the_legs() -> None:
    whole = reduction_of(SAMPLE)
    speeds, calibrated = np.array([90.0, 110.0, 130.0]) * kt, np.array([91.0, 110.0, 129.0]) * kt
    axis = SimpleNamespace(si=speeds)
    table = SimpleNamespace(axes=(axis,), results={"calibrated airspeed": SimpleNamespace(si=calibrated)})
    airplane = replace(whole.standard.airplane, tables={"airspeed": table})
    subject = replace(whole, standard=replace(whole.standard, airplane=airplane))
    spec = calibration.CHART.definition(subject, PAGE_SETTING)
    check_fields(spec)
    squares = [u for u in units(spec) if u["mark"].get("shape") == "square"]
    rows = [(row["x"], row["y"]) for u in squares for row in u["data"]["values"]]
    assert rows == [pytest.approx(pair) for pair in ((90.0, 1.0), (110.0, 0.0), (130.0, -1.0))]
    assert "squares are the handbook’s" in calibration.CHART.subtitle(subject)
    assert "handbook" not in calibration.CHART.subtitle(whole)


# words


def test_the_alternative_texts_tell_the_numbers() -> None:
    whole = demo_reduction()
    alt = {chart.name: chart.alt(whole) for chart in FLIGHT_CHARTS}
    assert "Pressure altitude from" in alt["flight"]
    assert f"Steady in level, {sum(kind_of(p) == 'level' for p in whole.points)}" in alt["flight"]
    group = next(g for g in whole.legs if not g.refused)
    assert f"{group.solution.wind_from_rad / degree:03.0f}°" in alt["velocity_circles"]
    assert "±" in alt["residuals"]
    power, climbed, glided = whole.standard.speed_power, whole.standard.climbs, whole.standard.polar
    assert power and climbed and glided
    first = power.points[0]
    assert f"point {first.point}, {first.generalised_speed.value / kt:.1f} kt" in alt["speed_power"]
    assert all(f"points {s.members[0]}" in alt["climbs"] for s in climbed.speeds)
    assert f"at CL {glided.glides[0].lift_coefficient.value:.2f}" in alt["polar"]


# at standard conditions


def test_a_fitted_curve_stays_within_what_was_flown_and_its_band_holds_it() -> None:
    """The curve of speed and power at its ends is the reduction's own; nothing is drawn beyond the points."""
    found = demo_reduction().standard.speed_power
    assert found
    spec = speed_power.CHART.definition(demo_reduction(), PAGE_SETTING)
    (area,) = (u for u in units(spec) if u["mark"]["type"] == "area")
    rows, speeds = area["data"]["values"], [p.generalised_speed.value / kt for p in found.points]
    assert (rows[0]["x"], rows[-1]["x"]) == pytest.approx((min(speeds), max(speeds)))
    for row in (rows[0], rows[30], rows[-1]):
        power = found.power_at(row["x"] * kt)
        assert power
        assert (row["low"], row["high"]) == pytest.approx(
            ((power.value - power.u95) / hp, (power.value + power.u95) / hp)
        )


def test_the_best_rate_has_its_own_mark_and_its_absence_its_reason() -> None:
    whole = demo_reduction()
    found = whole.standard.climbs
    assert found
    without = replace(found, best_speed=None, best_rate=None, missing="too few")
    assert found.curve
    with_best = replace(found, best_speed=Estimate(40.0, 1.0), best_rate=Estimate(4.0, 0.2), missing="")
    for climbed, shown in ((without, False), (with_best, True)):
        subject = replace(whole, standard=replace(whole.standard, climbs=climbed))
        shapes = {u["mark"].get("shape") for u in units(climbs.CHART.definition(subject, PAGE_SETTING))}
        assert ("diamond" in shapes) == shown
        assert ("no best: too few" in climbs.CHART.subtitle(subject)) != shown


def test_without_a_fit_there_is_no_curve_and_the_reason_is_said() -> None:
    whole = demo_reduction()
    power, glided = whole.standard.speed_power, whole.standard.polar
    assert power and glided
    bare = replace(
        whole.standard,
        speed_power=replace(power, coefficients=None, covariance=None, missing="too few levels"),
        polar=replace(glided, coefficients=None, covariance=None, missing="too few glides"),
    )
    for chart, why in ((speed_power.CHART, "too few levels"), (polar.CHART, "too few glides")):
        subject = replace(whole, standard=bare)
        assert not any(u["mark"]["type"] == "area" for u in units(chart.definition(subject, PAGE_SETTING)))
        assert why in chart.subtitle(subject) and why in chart.alt(subject)


def test_points_that_lie_together_share_one_name() -> None:
    seen = [fitted.Seen(100.0 + 0.001 * n, 50.0, 1.0, 2.0, str(n)) for n in (3, 12, 4)]
    spec = fitted.chart(
        ("t", "s"), ("x", "y"), [*seen, fitted.Seen(120.0, 60.0, 1.0, 2.0, "7")], [], PAGE_SETTING
    )
    assert {"3, 4, 12", "7"} <= set(texts(spec).splitlines())


@pytest.mark.parametrize(
    ("text", "words"), [("0.1 ± 0.4", "+0.1 ± 0.4"), ("0.0 ± 0.4", "0.0 ± 0.4"), ("−1", "−1")]
)
def test_a_sign_where_there_is_one(text: str, words: str) -> None:
    assert signed(text) == words
