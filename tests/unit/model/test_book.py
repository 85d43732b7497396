"""Handbook statements beside flight, brought to the handbook's weight and power."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from flyoff.core.draws import COVERAGE_95, Draws
from flyoff.core.units import degree, fpm, ft, hour, hp, kt, us_gal
from flyoff.dossier.airplane import Cruise
from flyoff.flights.read import read_flight
from flyoff.model.book import beside_handbook
from flyoff.model.book_cruise import PROPELLER_EFFICIENCY, at_mass, levels_of
from flyoff.model.handbook import Handbook
from flyoff.model.statement import STATEMENTS, Flown, Step, statement_of
from flyoff.physics.atmosphere import density_ratio
from flyoff.physics.generalised import generalised_power, generalised_speed
from flyoff.reduction.glide import Glide, Polar
from flyoff.reduction.run import reduce_flight
from flyoff.reduction.stall import Stall
from flyoff.reduction.statistics import Estimate
from helpers.airplanes import FOLDER, dossier_of

DRAWS = Draws(1000)


@cache
def demo():
    name = "flights/2026-06-02.toml"
    return reduce_flight(read_flight(FOLDER / name, name), dossier=dossier_of("vadmel"))


def handbook(dossier=None):
    return Handbook(dossier or dossier_of("vadmel"), 800.0, DRAWS)


@cache
def book():
    return beside_handbook(handbook(), [demo()], 1200.0, DRAWS)


def with_standard(**changes):
    return replace(demo(), standard=replace(demo().standard, **changes))


def about(found, key):
    return found.about(statement_of(key))


def without(*kinds):
    dossier = dossier_of("vadmel")
    return replace(dossier, tables={k: t for k, t in dossier.tables.items() if k not in kinds})


def test_level_conditions_are_asked_three_ways_and_keep_their_place():
    for key in ("cruise_speed", "cruise_speed_at_power", "fuel_flow_at_power"):
        assert len(about(book(), key)) == 12
    first = about(book(), "cruise_speed")[0]
    assert first.seen.place.file == "flights/2026-06-02.csv"
    assert first.seen.place.line > 4
    assert {i.place.file for i in first.printed_inputs} == {"aircraft/vadmel/cruise.csv"}
    assert all(i.place.line > 1 for i in first.printed_inputs)


def test_the_weight_correction_follows_the_generalised_form():
    """SFTE Reference Handbook (2013), 12.7.1: both weights lie on one curve P = a V³ + b / V."""
    flown = Flown(demo(), DRAWS)
    level = levels_of(flown, 1200.0)[0]
    corrected, (step,), _ = at_mass(flown, level, handbook())
    assert step.name == "weight, 1,131 kg to 1,240 kg"
    assert (step.start, step.end) == (level.true_airspeed_m_s[0], corrected[0])
    sigma = float(density_ratio(level.pressure_altitude_m, level.temperature_k))
    power_w = PROPELLER_EFFICIENCY.value * level.best_power.power_w.value
    span_m = flown.effective_span_m(11.9)[0]
    b = 2 * (1240 * 9.80665 / span_m) ** 2 / (math.pi * 1.225)
    zero_lift = []
    for speed, mass_kg in ((level.true_airspeed_m_s[0], level.mass_kg), (corrected[0], 1240.0)):
        viw = generalised_speed(speed, mass_kg, 1240.0, sigma)
        piw = generalised_power(power_w, mass_kg, 1240.0, sigma)
        zero_lift.append((piw - b / viw) / viw**3)
    assert zero_lift[0] == pytest.approx(zero_lift[1], rel=1e-6)
    assert corrected[0] < level.true_airspeed_m_s[0]


def test_a_flight_shares_its_errors_and_a_condition_has_its_own():
    levels = levels_of(Flown(demo(), DRAWS), 1200.0)
    flows = [level.fuel_flow_m3_s[1:] / level.fuel_flow_m3_s[0] for level in levels[:2]]
    assert np.std(flows[0]) == pytest.approx(0.02 / COVERAGE_95, rel=0.1)
    assert np.corrcoef(flows)[0, 1] > 0.95
    speeds = [level.true_airspeed_m_s[1:] for level in levels[-2:]]  # one power, one altitude
    assert 0.1 < np.corrcoef(speeds)[0, 1] < 0.999


def test_what_the_dossier_doubts_of_its_handbook_is_not_part_of_what_it_prints():
    dossier = dossier_of("vadmel")
    trusting = replace(dossier, airplane=dossier.airplane.model_copy(update={"cruise": Cruise()}))
    both = [beside_handbook(handbook(d), [demo()], 1200.0, DRAWS) for d in (dossier, trusting)]
    doubted, sure = (np.std(about(b, "cruise_speed_at_power")[0].printed) for b in both)
    assert doubted == pytest.approx(sure)


def test_where_flight_or_handbook_says_nothing_that_is_said():
    none = beside_handbook(handbook(without("climb", "glide")), [demo()], 1200.0, DRAWS)
    for key, kind in (("climb_rate", "climb"), ("climb_time", "climb"), ("glide_ratio", "glide")):
        assert {p.missing for p in about(none, key)} == {f"the handbook has no {kind} table"}
        assert all(p.printed is None for p in about(none, key))
    assert book().notes["stall_speed_clean"] == ("no clean stall was noted",)
    assert all("the handbook's speed is" in note for note in book().notes["glide_ratio"])
    assert beside_handbook(handbook(), [], 1200.0, DRAWS).notes == {}
    told = {p.statement.key for p in book().points} | set(book().notes)
    assert told == {s.key for s in STATEMENTS}


def test_outside_the_printed_flows_there_is_no_answer():
    points = tuple(
        replace(p, fuel_flow=Estimate(90e-6, 1e-7)) if p.condition.kind == "level" else p
        for p in demo().points
    )
    found = beside_handbook(handbook(), [replace(demo(), points=points)], 1200.0, DRAWS)
    said = {p.missing.rpartition(" at ")[0] for p in about(found, "cruise_speed")}
    assert said == {"the handbook does not print this fuel flow"}
    assert all(p.difference is None for p in about(found, "cruise_speed"))


def test_climbs_are_brought_to_the_weight_of_the_climb_table():
    """Sum on a card: inertia 1,136 / 1,310, then induced drag, SFTE Reference Handbook (2013), 12.5.2."""
    first = next(p for p in about(book(), "climb_rate") if p.number == 0)
    point = demo().points[0]
    speed, sigma = point.air.true_airspeed.value, density_ratio(
        point.pressure_altitude.value, point.air.temperature.value
    )  # fmt: skip
    span_m = Flown(demo(), DRAWS).effective_span_m(11.9)[0]
    light, heavy = point.mass_kg, 1310.0
    induced = 2 * 9.80665 * (light**2 - heavy**2) / heavy / (math.pi * span_m**2 * 1.225 * sigma * speed)
    weight = next(s for s in first.corrections if s.name == "weight, 1,136 kg to 1,310 kg")
    assert weight.end == pytest.approx(weight.start * light / heavy + induced, abs=8 * fpm)
    assert first.corrections[0].name == "steady airspeed"
    ends = [step.end for step in first.corrections if "printed" not in step.name]
    assert ends[-1] == pytest.approx(first.flown[0])
    assert [step.start for step in first.corrections[: len(ends)]] == [first.as_flown[0], *ends[:-1]]
    time = next(p for p in about(book(), "climb_time") if p.number == 0)
    assert time.flown[0] / time.as_flown[0] == pytest.approx(first.as_flown[0] / first.flown[0])


def test_power_short_of_rated_is_made_good_below_the_critical_altitude():
    share = {"power_percent": Estimate(0.9, 0.001)}
    points = tuple(
        replace(p, readings=replace(p.readings, means={**p.readings.means, **share})) for p in demo().points
    )
    weak = beside_handbook(handbook(), [replace(demo(), points=points)], 1200.0, DRAWS)
    step = next(s for s in about(weak, "climb_rate")[0].corrections if s.name == "power, to rated")
    assert step.end - step.start == pytest.approx(0.75 * 0.1 * 120e3 / (1310 * 9.80665))


def test_a_glide_at_the_handbook_s_speed_is_asked_about():
    """The demo's handbook prints 12.9 at 66 kt and 1,000 kg, 76 kt and 1,310 kg."""
    number = next(i for i, p in enumerate(demo().points) if p.condition.kind == "descent" and p.mass_kg)
    points = list(demo().points)
    air = replace(points[number].air, calibrated_airspeed=Estimate(71 * kt, 0.3 * kt))
    points[number] = replace(points[number], air=air)
    glide = Glide(number, Estimate(0.9, 0.01), Estimate(0.07, 0.001), Estimate(12.1, 0.2), "stopped", ())
    flown = replace(with_standard(polar=Polar((glide,))), points=tuple(points))
    (point,) = about(beside_handbook(handbook(), [flown], 1200.0, DRAWS), "glide_ratio")
    # 70.2 kt is the book's speed at this weight; by hand along the polar, CD + k (CL'² − CL²)
    ratio = point.flown[0]
    asked = (66 + 10 * (demo().points[number].mass_kg - 1000) / 310) / 71
    k = 16.6 / (math.pi * Flown(flown, DRAWS).effective_span_m(11.9)[0] ** 2)
    assert ratio == pytest.approx(0.9 / asked**2 / (0.9 / 12.1 + k * (0.9**2 / asked**4 - 0.9**2)))
    assert abs(ratio - 12.1) < 0.1
    assert point.difference[0] == pytest.approx(ratio - 12.9)
    assert [step.name for step in point.corrections] == ["airspeed, to the handbook's"]
    assert "propeller stopped" in point.remarks


def stall(speed_kt, flaps, at_kg=1240.0, flown_kg=1130.0):
    noted = Estimate(speed_kt * kt, 0.5 * kt)
    standard = noted.scaled((at_kg / flown_kg) ** 0.5)
    steps = (statement_step("calibration", noted, noted), statement_step("weight", noted, standard))
    flaps_rad = None if flaps is None else flaps * degree
    return Stall(60, "09:30", flaps_rad, noted, noted, standard, None, steps, ())


def statement_step(name, start, end):
    return Step(name, start.value, end.value, "kt", "x")


def test_stalls_are_brought_to_takeoff_weight_and_sorted_by_flaps():
    stalls = (stall(54.0, 0), stall(45.0, 35), stall(50.0, 15), stall(52.0, None))
    found = beside_handbook(handbook(), [with_standard(stalls=stalls)], 1200.0, DRAWS)
    (clean,), (landing,) = about(found, "stall_speed_clean"), about(found, "stall_speed_landing")
    assert clean.flown[0] / kt == pytest.approx(54.0 * math.sqrt(1310 / 1130))
    assert clean.difference[0] / kt == pytest.approx(54.0 * math.sqrt(1310 / 1130) - 57)
    assert landing.difference[0] / kt == pytest.approx(45.0 * math.sqrt(1310 / 1130) - 49)
    assert clean.seen.place.line == 60
    assert found.notes["stall_speed_clean"] == (
        "2026-06-02, stall at 09:30: flaps neither clean nor fully extended",
        "2026-06-02, stall at 09:30: no flap setting is noted",
    )


def test_without_span_or_loading_nothing_is_corrected_and_that_is_said():
    bare = with_standard(airplane=replace(demo().standard.airplane, span_m=None))
    point = about(beside_handbook(handbook(), [bare], 1200.0, DRAWS), "cruise_speed")[0]
    assert point.flown[0] == point.as_flown[0]
    assert point.corrections == ()
    assert "not corrected for weight: no span or no power is known" in point.remarks
    light = replace(demo(), points=tuple(replace(p, mass_kg=None) for p in demo().points))
    point = about(beside_handbook(handbook(), [light], 1200.0, DRAWS), "cruise_speed")[0]
    assert "not corrected for weight: no loading is known" in point.remarks


def test_a_table_for_one_temperature_shows_what_temperature_changed():
    dossier = dossier_of("vadmel")
    table = dossier.tables["cruise"]
    altitudes, deviations, powers = (axis.si.size for axis in table.axes)
    rows = np.arange(altitudes * deviations * powers).reshape(altitudes, deviations, powers)[:, 1, :].ravel()
    cold = replace(
        table,
        record=table.record.model_copy(update={"axes": ("pressure altitude", "percent power")}),
        axes=(table.axes[0], table.axes[2]),
        lines=table.lines[rows],
        results={
            name: replace(c, si=c.si[rows], half_digit_si=c.half_digit_si[rows])
            for name, c in table.results.items()
        },
    )
    one = handbook(replace(dossier, tables={**dossier.tables, "cruise": cold}))
    point = about(beside_handbook(one, [demo()], 1200.0, DRAWS), "cruise_speed")[0]
    step = point.corrections[-1]
    assert step.name == "temperature, of the printed speed"
    # 8 °C above standard is about 1,000 ft of density altitude, and a knot at this power
    assert 0.3 * kt < step.end - step.start < 2 * kt
    assert point.printed[0] == pytest.approx(step.end)
    assert point.printed[0] == pytest.approx(about(book(), "cruise_speed")[0].printed[0], abs=0.8 * kt)


def test_words_name_the_condition_and_the_power():
    points = about(book(), "cruise_speed_at_power")
    assert points[0].words == "4,000 ft, ISA +8 °C, 55 % power by recorded share"
    flow = about(book(), "cruise_speed")[0].words
    assert flow == "4,000 ft, ISA +8 °C, 4.9 US gal/h"
    assert statement_of("fuel_flow_at_power").shown(us_gal / hour) == pytest.approx(1.0)
    assert 60 * hp < levels_of(Flown(demo(), DRAWS), 1.0)[0].best_power.power_w.value < 100 * hp
    assert [round(p.pressure_altitude_m / ft / 500) for p in points] == [8] * 6 + [15] * 6


def by_rpm():
    """Return the demo's cruise table as handbooks of fixed pitch print it: entered by rpm."""
    dossier = dossier_of("vadmel")
    table = dossier.tables["cruise"]
    by_power = table.axes[2]
    rpm = replace(by_power, name="rpm", si=np.array([30.0, 32.0, 34.0, 36.0, 38.0, 40.0])[: by_power.si.size])
    record = table.record.model_copy(update={"axes": ("pressure altitude", "ISA deviation", "rpm")})
    cruise = replace(table, record=record, axes=(*table.axes[:2], rpm))
    return replace(dossier, tables={**dossier.tables, "cruise": cruise})


def test_a_table_by_rpm_is_asked_at_the_fuel_flow_too():
    found = about(beside_handbook(handbook(by_rpm()), [demo()], 1200.0, DRAWS), "cruise_speed")
    for point, other in zip(found, about(book(), "cruise_speed"), strict=True):
        assert point.printed[0] == pytest.approx(other.printed[0])


def test_a_cruise_table_without_fuel_flow_says_so():
    dossier = dossier_of("vadmel")
    table = dossier.tables["cruise"]
    dry = replace(table, results={k: c for k, c in table.results.items() if k != "fuel flow"})
    found = beside_handbook(
        handbook(replace(dossier, tables={**dossier.tables, "cruise": dry})), [demo()], 1200.0, DRAWS
    )
    missing = {p.missing for p in about(found, "cruise_speed")}
    assert missing == {"the cruise table is not printed with a fuel flow"}
    assert {p.missing for p in about(found, "fuel_flow_at_power")} == {
        "the cruise table has no column 'fuel flow'"
    }


def test_conditions_in_a_turn_or_moving_air_are_left_out_and_named():
    flag = "flown in a turn of +1.0 degrees per second"
    number = about(book(), "cruise_speed")[0].number
    points = tuple(replace(p, flags=(flag,)) if i == number else p for i, p in enumerate(demo().points))
    found = beside_handbook(handbook(), [replace(demo(), points=points)], 1200.0, DRAWS)
    assert len(about(found, "cruise_speed")) == 11
    assert found.notes["cruise_speed"] == (f"2026-06-02, condition {number}: {flag}",)
