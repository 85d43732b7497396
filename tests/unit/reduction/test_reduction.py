"""The parts of the reduction, each against a plain calculation of its own."""

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from flyoff.core.units import celsius, degree, ft, kt, lb
from flyoff.flights.card import Instruments
from flyoff.flights.grid import make_grid
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.flights.steady import Condition
from flyoff.physics.airspeed import calibrated_airspeed, true_airspeed
from flyoff.physics.mach import mach_at_true_airspeed, probe_temperature
from flyoff.reduction.airdata import Probe, altimeter_u_m, calibrated_from_true, reduce_air
from flyoff.reduction.calibration import calibrate
from flyoff.reduction.groups import LegGroup
from flyoff.reduction.legs import heading_conflict, solve_legs
from flyoff.reduction.output import reduction_data, reduction_text
from flyoff.reduction.readings import read_condition
from flyoff.reduction.run import reduce_flight
from flyoff.reduction.statistics import Estimate, autocorrelation_time, coverage_factor, mean_of, rise_of
from helpers.flights import FOLDER, flight_of, made_log, reduction_of

EXACT = Probe(0.8, 0.0, 0.0, 0.0)


def legs_of(headings_deg, tas_kt=120.0, wind=(15.0, -8.0), u_kt=0.3):
    headings = np.radians(headings_deg)
    ground = tas_kt * np.column_stack([np.cos(headings), np.sin(headings)]) + np.array(wind)
    return ground * kt, np.tile(np.eye(2) * (u_kt * kt) ** 2, (len(headings), 1, 1))


def test_coverage_factors_are_students():
    assert coverage_factor(math.inf) == pytest.approx(1.959964, abs=1e-6)
    assert coverage_factor(4) == pytest.approx(stats.t.ppf(0.975, 4))
    assert coverage_factor(0.2) == coverage_factor(1)


def test_autocorrelation_time_of_a_first_order_process():
    rng = np.random.default_rng(2)
    x = np.zeros(200_000)
    for i, e in enumerate(rng.normal(0, 1, len(x) - 1), 1):
        x[i] = 0.7 * x[i - 1] + e
    assert autocorrelation_time(x) == pytest.approx((1 + 0.7) / (1 - 0.7), rel=0.1)
    assert autocorrelation_time(rng.normal(0, 1, 5000)) == pytest.approx(1, abs=0.2)


def test_rounding_that_noise_does_not_stir_stays():
    constant = mean_of(np.full(100, 98.0), 1.0)
    assert constant.u == pytest.approx(1 / math.sqrt(12))
    rng = np.random.default_rng(3)
    stirred = mean_of(np.round(98.3 + rng.normal(0, 1.0, 400)), 1.0)
    assert stirred.u < 0.12
    assert abs(stirred.value - 98.3) < 3 * stirred.u


def test_means_and_slopes_of_too_little_are_none():
    assert mean_of(np.array([1.0, np.nan, 2.0])) is None
    assert rise_of(np.array([1.0, 2.0, np.nan, 3.0])) is None


@given(st.floats(-5, 5), st.floats(-100, 100))
def test_a_straight_line_has_its_slope(slope, start):
    assert rise_of(start + slope * np.arange(60.0)).value == pytest.approx(slope, abs=1e-9)


@given(
    st.floats(60, 250), st.floats(-40, 40), st.floats(-40, 40), st.floats(0, 360),
    st.lists(st.floats(70, 110), min_size=2, max_size=5),
)  # fmt: skip
def test_exact_legs_give_exact_answers(tas, north, east, first, turns):
    headings = np.cumsum([first, *turns])
    solution = solve_legs(*legs_of(headings, tas, (north, east)))
    assert solution.true_airspeed.value / kt == pytest.approx(tas, abs=1e-4)
    assert np.array(solution.wind_m_s) / kt == pytest.approx([north, east], abs=1e-4)
    assert not solution.refused


@given(st.floats(0, 360))
def test_turning_the_compass_rose_turns_only_the_wind(turn):
    ground, covariance = legs_of((10, 100, 250))
    ground = ground + np.array([[0.2, 0.1], [-0.1, 0.3], [0.0, -0.2]])
    a = math.radians(turn)
    rotation = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    one, other = solve_legs(ground, covariance), solve_legs(ground @ rotation.T, covariance)
    assert other.true_airspeed.value == pytest.approx(one.true_airspeed.value, abs=1e-6)
    assert rotation @ np.array(one.wind_m_s) == pytest.approx(np.array(other.wind_m_s), abs=1e-6)


def test_legs_at_other_airspeeds_are_told_by_their_ratio():
    headings = np.radians([0, 120, 240])
    ratio = np.array([0.98, 1.0, 1.02])
    air = 120 * kt * ratio[:, None] * np.column_stack([np.cos(headings), np.sin(headings)])
    covariance = np.tile(np.eye(2) * 0.01, (3, 1, 1))
    solution = solve_legs(air + np.array([5.0, 3.0]), covariance, ratio)
    assert solution.true_airspeed.value == pytest.approx(120 * kt)


def test_an_error_on_one_of_three_legs_is_a_third_in_airspeed():
    ground, covariance = legs_of((0, 120, 240))
    for leg in range(3):
        wrong = ground.copy()
        wrong[leg] *= 1 + 1 * kt / np.hypot(*ground[leg])
        moved = solve_legs(wrong, covariance).true_airspeed.value - 120 * kt
        assert moved / kt == pytest.approx(0.33, abs=0.02)


@pytest.mark.parametrize(
    ("headings", "said"),
    [((0, 10, 20), "too close together"), ((90, 90, 90), "do not tell"), ((0, 0.1, 0.2), "")],
)
def test_poor_geometry_is_refused(headings, said):
    solution = solve_legs(*legs_of(headings))
    assert solution.refused
    assert said in solution.refused


def test_shapes_that_do_not_fit_raise():
    ground, covariance = legs_of((0, 90, 180))
    with pytest.raises(ValueError, match="at least 3"):
        solve_legs(ground[:2], covariance[:2])
    with pytest.raises(ValueError, match="one entry for each leg"):
        solve_legs(ground, covariance[:2])


def test_residuals_widen_and_then_refuse():
    ground, covariance = legs_of((0, 90, 180, 270))
    pushes = np.array([1, -1, 1, -1])[:, None] * ground / np.hypot(*ground.T)[:, None]
    calm = solve_legs(ground, covariance)
    stirred = solve_legs(ground + 0.2 * pushes, covariance)
    stormy = solve_legs(ground + 1.0 * pushes, covariance)
    assert not stirred.refused
    assert stirred.widened > 1
    assert stirred.true_airspeed.u95 > calm.true_airspeed.u95
    assert "do not fit one airspeed and one wind" in stormy.refused


def test_a_compass_off_by_one_constant_is_no_conflict():
    headings = np.radians([350.0, 110.0, 230.0])
    assert heading_conflict(headings, headings - 7 * degree, 3 * degree) == pytest.approx(1.0)
    assert heading_conflict(headings, headings + np.radians([0, 25, 0]), 3 * degree) < 1e-6


def test_air_data_of_exact_readings():
    cas, altitude, static = 125 * kt, 7000 * ft, celsius(6.6)
    tas = float(
        true_airspeed(calibrated_airspeed_m_s=cas, pressure_altitude_m=altitude, temperature_k=static)
    )
    warmed = float(probe_temperature(static, float(mach_at_true_airspeed(tas, static)), 0.8))
    air = reduce_air(Estimate(cas, 0), Estimate(altitude, 0), Estimate(warmed, 0), EXACT)
    assert air.true_airspeed.value == pytest.approx(tas, rel=1e-9)
    assert air.temperature.value == pytest.approx(static, rel=1e-9)
    back = calibrated_from_true(Estimate(tas, 0), Estimate(altitude, 0), Estimate(warmed, 0), EXACT)
    assert back.value == pytest.approx(cas, rel=1e-7)


def test_air_data_uncertainty_agrees_with_drawing():
    cas, altitude, probe = Estimate(60.0, 0.5), Estimate(2000.0, 12.0), Estimate(285.0, 0.4)
    air = reduce_air(cas, altitude, probe, EXACT)
    rng = np.random.default_rng(0)
    drawn = [
        reduce_air(*(Estimate(e.value + e.u * rng.normal(), 0) for e in (cas, altitude, probe)), EXACT)
        for _ in range(1500)
    ]
    for name in ("true_airspeed", "temperature", "density_altitude"):
        spread = np.std([getattr(d, name).value for d in drawn])
        assert getattr(air, name).u == pytest.approx(spread, rel=0.1)


def test_without_airspeed_or_temperature_what_can_be_said_is_said():
    altitude, probe = Estimate(2000.0, 10.0), Estimate(285.0, 0.5)
    still = reduce_air(None, altitude, probe, EXACT)
    assert still.true_airspeed is None
    assert still.temperature.u > 0.9
    assert reduce_air(Estimate(60.0, 0.5), altitude, None, EXACT).true_airspeed is None


def test_altimeter_tolerance():
    assert altimeter_u_m(0.0) == pytest.approx(20 * ft / math.sqrt(3))
    assert altimeter_u_m(5000 * ft) == pytest.approx(37.5 * ft / math.sqrt(3))


def group_at(ias_kt, correction_kt, altitude_m=1200.0, temperature_k=284.0):
    cas = (ias_kt + correction_kt) * kt
    tas = float(
        true_airspeed(
            calibrated_airspeed_m_s=cas, pressure_altitude_m=altitude_m, temperature_k=temperature_k
        )
    )
    solution = solve_legs(*legs_of((0, 120, 240), tas / kt))
    return LegGroup(
        (0, 1, 2), solution, 0.0, 1.0, Estimate(altitude_m, 1.0), Estimate(ias_kt * kt, 0.05 * kt)
    )


def calibration_of(*pairs):
    groups = [group_at(*pair) for pair in pairs]
    still = Probe(0.0, 0.0, 0.0, 0.0)
    return calibrate(Instruments(), groups, [Estimate(284.0, 0.1)] * len(groups), still)


def test_calibration_follows_the_leg_groups_and_widens_away_from_them():
    calibration = calibration_of((90, -1.0), (130, 1.0))
    assert calibration.basis == "legs"
    for ias, expected in ((90, -1.0), (110, 0.0), (130, 1.0)):
        correction = calibration.correction(ias * kt)
        assert correction.value / kt == pytest.approx(expected, abs=0.25)
        assert not calibration.is_extrapolated(ias * kt)
    assert calibration.is_extrapolated(70 * kt)
    widths = [calibration.correction(ias * kt).u for ias in (130, 145, 160)]
    assert widths == sorted(widths)


def test_without_anything_the_correction_is_nought_and_wide():
    calibration = calibration_of()
    assert calibration.basis == "assumed"
    assert calibration.correction(60.0).value == 0
    assert calibration.correction(60.0).u95 / kt == pytest.approx(5, abs=0.01)
    assert calibration.is_extrapolated(60.0)


def test_a_reduction_is_plain_data_with_its_trace():
    data = reduction_data(reduction_of("sample.csv"))
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    point = data["points"][0]
    for name in (
        "pressure_altitude_ft", "outside_air_temp_c", "ias_kt", "cas_kt", "tas_kt", "fuel_flow_gph", "rpm",
        "manifold_pressure_inhg", "rate_of_climb_fpm",
    ):  # fmt: skip
        assert isinstance(point[name], float)
        assert point[f"{name}_u95"] > 0
    assert {"start_utc", "end_utc", "kind"} <= point.keys()
    first, last = point["lines"]
    lines = (FOLDER / "sample.csv").read_text("utf-8").splitlines()
    assert lines[first - 1].startswith(point["start_utc"])
    assert lines[last - 1].startswith(point["end_utc"])
    leg = data["legs"][0]
    assert {
        "members",
        "tas_kt",
        "tas_kt_u95",
        "wind_from_deg",
        "wind_kt",
        "wind_kt_u95",
        "ias_kt",
        "refused",
    } <= leg.keys()
    assert "Not for flight planning" in data["caution"]
    text = reduction_text(reduction_of("sample.csv"))
    assert "Not for flight planning" in text
    assert "frozen position" in text


def test_a_flight_without_airspeed_says_so():
    reduction = reduce_flight(parse_flight(propose(FOLDER / "sample.gpx"), "f", FOLDER))
    assert any("no airspeed was recorded" in w for w in reduction.warnings)
    assert all(p.air.true_airspeed is None for p in reduction.points)
    assert all(g.refused for g in reduction.legs)  # three powers on one heading are no legs of one airspeed


def test_mass_falls_with_the_fuel_burned():
    text = propose(FOLDER / "carded.csv")
    loading = '[loading]\nramp_weight = "2,248.8 lb"\nfuel_density = "6.0 lb/gal"\n\n[[logs]]'
    reduction = reduce_flight(parse_flight(text.replace("[[logs]]", loading, 1), "f", FOLDER))
    masses = [p.mass_kg / lb for p in reduction.points]
    assert masses == sorted(masses, reverse=True)
    assert masses[0] == pytest.approx(2243.5, abs=1.5)
    assert masses[-1] == pytest.approx(2212, abs=3)


def test_reductions_are_equal_each_time():
    again = reduce_flight(flight_of("carded.csv"))
    assert reduction_data(again) == reduction_data(reduction_of("carded.csv"))


def test_calibrated_airspeed_is_the_inverse_of_true():
    cas = float(calibrated_airspeed(true_airspeed_m_s=70.0, pressure_altitude_m=2000.0, temperature_k=280.0))
    assert float(
        true_airspeed(calibrated_airspeed_m_s=cas, pressure_altitude_m=2000.0, temperature_k=280.0)
    ) == pytest.approx(70.0)


@pytest.mark.parametrize(("change_kt", "flagged"), [(0.0, False), (12.0, True)])
def test_a_wind_that_rises_within_a_leg_is_flagged(change_kt, flagged):
    rng = np.random.default_rng(4)
    count = 120
    log = made_log(
        count,
        ground_speed=(110 + np.linspace(0, change_kt, count) + rng.normal(0, 0.3, count)) * kt,
        ground_track=rng.normal(1.0, 0.01, count),
        indicated_airspeed=(100 + rng.normal(0, 0.5, count)) * kt,
    )
    condition = Condition("level", float(log.time_s[0]), float(log.time_s[-1]))
    readings = read_condition(log, make_grid(log), condition, {})
    assert (readings.wind_shift_m_s > 0) is flagged
    if flagged:
        assert readings.wind_shift_m_s / kt == pytest.approx(6, abs=1)


def test_legs_that_contradict_the_calibration_given_are_said():
    given = (
        '[instruments]\nairspeed_correction = [ { indicated = "60 kt", add = "4 kt" },'
        ' { indicated = "150 kt", add = "4 kt" } ]\n\n[[logs]]'
    )
    text = propose(FOLDER / "carded.csv").replace("[[logs]]", given, 1)
    reduction = reduce_flight(parse_flight(text, "f", FOLDER))
    assert any("the calibration given" in warning for warning in reduction.warnings)


def test_readings_that_no_light_airplane_has_give_nothing_rather_than_a_fault():
    fast, high, cold = Estimate(250.0, 1.0), Estimate(18000.0, 10.0), Estimate(200.0, 1.0)
    air = reduce_air(fast, high, cold, EXACT)
    assert air.true_airspeed is None
    assert calibrated_from_true(Estimate(400.0, 1.0), high, cold, EXACT) is None


def test_a_track_beside_a_log_tells_nothing_twice():
    track = '\n[[logs]]\nfile = "sample.gpx"\nformat = "gpx"\n'
    both = reduce_flight(parse_flight(propose(FOLDER / "sample.csv") + track, "f", FOLDER))
    alone = reduction_of("sample.csv")
    level = [p for p in both.points if p.condition.kind == "level" and p.indicated_airspeed]
    assert len(level) == sum(p.condition.kind == "level" for p in alone.points)
    assert [g.solution.true_airspeed for g in both.legs if not g.refused] == [
        g.solution.true_airspeed for g in alone.legs
    ]
    [merge] = both.flight.merges
    assert not merge.refused
    assert abs(merge.offset_s) < 0.1
