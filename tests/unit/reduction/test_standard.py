"""Points at standard conditions, each against a plain calculation of its own."""

import math
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.problems import Collector, Problems
from flyoff.core.units import fpm, ft, hour, hp, inhg, kt, lb, rpm
from flyoff.dossier.airplane import TableFile
from flyoff.dossier.tables import read_table
from flyoff.flights.card import FlightFile, Instruments
from flyoff.flights.read import Flight, parse_flight
from flyoff.flights.steady import Condition
from flyoff.physics.airspeed import impact_pressure
from flyoff.physics.atmosphere import density_ratio, pressure_at_altitude, temperature_at_altitude
from flyoff.physics.mach import mach_at_true_airspeed, probe_temperature
from flyoff.reduction.airdata import Probe, static_shift
from flyoff.reduction.airplane import Airplane
from flyoff.reduction.calibration import beside_handbook, calibrate
from flyoff.reduction.climb import constant_airspeed_factor, reduce_climbs
from flyoff.reduction.cruise import speed_power
from flyoff.reduction.glide import glide_polar
from flyoff.reduction.output import reduction_data, reduction_text
from flyoff.reduction.points import Point, reduce_point
from flyoff.reduction.power import engine_points, powers_of
from flyoff.reduction.readings import Readings
from flyoff.reduction.recovery import recovery_factor
from flyoff.reduction.run import reduce_flight
from flyoff.reduction.statistics import Estimate, noise_of, reading_mean_of, rise_of
from flyoff.reduction.wander import PRIOR_M_S, wind_wander
from helpers.points import PLANE, by_hand, point_at


def test_speed_and_power_freed_of_weight_and_density():
    """2,200 lb, 6,000 ft standard, 118 kt, 97.5 hp: 112.68 kt and 101.57 hp at 2,400 lb (constructed)."""
    found = speed_power([point_at()], [by_hand(97.5)], PLANE)
    level = found.points[0]
    assert level.generalised_speed.value / kt == pytest.approx(112.68, abs=0.005)
    assert level.generalised_power.value / hp == pytest.approx(101.57, abs=0.005)
    assert level.altitude_m == pytest.approx(6000 * ft)
    # at its own altitude only the weight is corrected
    assert level.speed.value == pytest.approx(118 * kt * math.sqrt(2400 / 2200))
    assert level.corrections[0].end == pytest.approx(level.speed.value)
    assert found.missing


def test_the_curve_comes_back_from_its_points():
    a, b = 30.0, 900_000.0
    speeds = np.array([85.0, 95.0, 105.0, 118.0])
    points = [point_at(tas=float(v), altitude=4000.0, mass_lb=2400.0) for v in speeds]
    sigma = float(density_ratio(4000 * ft, float(temperature_at_altitude(4000 * ft))))
    viw = speeds * kt * math.sqrt(sigma)
    powers = [by_hand(float(p) / math.sqrt(sigma) / hp) for p in a / 100 * viw**3 + b / viw]
    found = speed_power(points, powers, PLANE)
    assert found.coefficients == pytest.approx([a / 100, b], rel=1e-6)
    assert found.power_at(float(viw[1])).value == pytest.approx(a / 100 * viw[1] ** 3 + b / viw[1])


def test_far_carried_points_are_flagged():
    found = speed_power([point_at(mass_lb=2000.0)], [by_hand(90)], PLANE)
    assert "more than 10 %" in found.points[0].flags[0]


def test_powers_side_by_side_and_their_conflict():
    point = point_at(flow=9.0, rpm=2400 * rpm, manifold_pressure=22 * inhg)
    powers = powers_of(point, PLANE)
    by = {r.way: r.power_w.value / hp for r in powers.readings}
    assert by["fuel flow"] == pytest.approx(9.0 * 6.0 / 0.45)
    assert 80 < by["manifold pressure"] < 140
    assert powers.readings[0].power_w.u <= powers.readings[-1].power_w.u
    lean = powers_of(point_at(flow=4.0, rpm=2400 * rpm, manifold_pressure=22 * inhg), PLANE)
    assert "hp from" in lean.conflict
    used = engine_points((point,), [powers], PLANE)[0].consumption_kg_j
    assert used.value == pytest.approx(9.0 * 6.0 * lb / hour / powers.by_levers.power_w.value)
    assert engine_points((point,), [by_hand(1.0)], PLANE)[0].consumption_kg_j is None


def test_power_by_the_handbooks_chart(tmp_path):
    path = tmp_path / "power.csv"
    path.write_text(
        "pressure altitude [ft],rpm [rpm],manifold pressure [inHg],power [hp]\n"
        "4000,2300,20,100\n4000,2300,24,130\n4000,2500,20,108\n4000,2500,24,138\n"
        "8000,2300,20,104\n8000,2300,24,134\n8000,2500,20,112\n8000,2500,24,142\n"
    )
    record = TableFile(kind="power", file="power.csv", axes=("pressure altitude", "rpm", "manifold pressure"))
    table = read_table(path, "power.csv", record, Collector())
    plane = Airplane(tables={"power": table})
    still = powers_of(point_at(rpm=2400 * rpm, manifold_pressure=22 * inhg), plane).best
    assert still.way == "chart"
    assert still.power_w.value / hp == pytest.approx(121.0)
    warm = powers_of(point_at(warmer=20.0, rpm=2400 * rpm, manifold_pressure=22 * inhg), plane).best
    standard = float(temperature_at_altitude(6000 * ft))
    assert warm.power_w.value / hp == pytest.approx(121.0 * math.sqrt(standard / (standard + 20)))
    assert powers_of(point_at(rpm=2700 * rpm, manifold_pressure=22 * inhg), plane).best is None


def powers_for(points):
    return [by_hand(150.0) for _ in points]


def climb(tas, rate, heading=0.0, mass_lb=2400.0, **more):
    return point_at("climb", tas, 5000.0, 0.0, mass_lb, rate, heading=heading, **more)


def test_reciprocal_climbs_are_averaged_and_the_best_speed_found():
    rates = {70.0: 640.0, 80.0: 700.0, 90.0: 640.0}
    points = [
        climb(tas, rate + shear, heading)
        for tas, rate in rates.items()
        for shear, heading in ((25.0, 40.0), (-25.0, 222.0))
    ]
    found = reduce_climbs(points, powers_for(points), PLANE, None)
    assert len(found.speeds) == 3
    assert all(s.is_paired for s in found.speeds)
    assert [s.rate.value / fpm for s in found.speeds] == pytest.approx([640, 700, 640], abs=2)
    assert found.best_speed.value == pytest.approx(found.speeds[1].calibrated_airspeed_m_s, abs=0.1)
    assert found.best_rate.value / fpm == pytest.approx(700, abs=2)
    assert 0 < found.best_speed.u < 3 * kt


def test_alone_a_climb_keeps_the_winds_change_in_its_uncertainty():
    both = [climb(80.0, 700.0), climb(80.0, 700.0, 180.0)]
    alone = reduce_climbs(both[:1], powers_for(both[:1]), PLANE, None).speeds[0]
    paired = reduce_climbs(both, powers_for(both), PLANE, None).speeds[0]
    assert alone.rate.u > 1.5 * paired.rate.u


def test_corrections_of_a_climb_follow_each_other_and_have_the_published_size():
    point = climb(80.0, 700.0, mass_lb=2200.0, drift=0.02)
    found = reduce_climbs([point], [by_hand(150.0)], PLANE, Estimate(0.8, 0.02)).climbs[0]
    steps = {c.name: (c.start, c.end) for c in found.corrections}
    assert list(steps) == [
        "tapeline",
        "acceleration",
        "temperature and power",
        "weight, inertia",
        "weight, induced drag",
        "constant airspeed",
    ]
    for one, other in zip(found.corrections, found.corrections[1:], strict=False):
        assert one.end == pytest.approx(other.start)
    start, end = steps["acceleration"]
    drift = 80 * kt / 9.80665 * 0.02 * (80 * kt / point.indicated_airspeed.value)
    growth = (end - start - drift) / start
    # V/g dV/dh: at constant calibrated airspeed the true one grows by 1.55 % in 1,000 ft (low altitude)
    assert growth == pytest.approx((80 * kt) ** 2 * 0.0155 / (1000 * ft) / 9.80665, rel=0.05)
    assert steps["temperature and power"][0] == pytest.approx(
        steps["temperature and power"][1]
    )  # standard air
    start, end = steps["weight, inertia"]
    assert end == pytest.approx(start * 2200 / 2400)
    start, end = steps["weight, induced drag"]
    density = 1.225 * float(density_ratio(5000 * ft, float(temperature_at_altitude(5000 * ft))))
    weights = (2200 * lb * 9.80665, 2400 * lb * 9.80665)
    expected = (
        2 / (math.pi * 11.0**2 * 0.8 * density * 80 * kt) * (weights[0] ** 2 - weights[1] ** 2) / weights[1]
    )
    assert end - start == pytest.approx(expected)


def test_a_warm_climb_is_taller_than_its_pressure_says():
    """700 ft/min of pressure altitude at 5,000 ft, 15 K above standard: 737.7 ft/min (constructed)."""
    temperature = float(temperature_at_altitude(5000 * ft)) + 15.0
    means = {
        "pressure_altitude": Estimate(5000 * ft, 1.0),
        "indicated_airspeed": Estimate(80 * kt, 0.1),
        "outside_air_temperature": Estimate(temperature, 0.05),
    }
    readings = Readings(
        Condition("climb", 0.0, 90.0), "log", (1, 2), means, Estimate(700 * fpm, 0.01), None, None, math.inf
    )
    still = Probe(0.0, 0.0, 0.0, 0.1, 0.0, 0.0)
    flight = Flight("f", date(2026, 1, 1), FlightFile(date="2026-01-01"), ())
    calibration = calibrate(Instruments(), [], [], still)
    point = reduce_point(readings, calibration, still, flight, None)
    assert point.rate_of_climb.value / fpm == pytest.approx(737.7, abs=0.05)


def glide(tas, cd0=0.03, k=0.06, **more):
    density = 1.225 * float(density_ratio(5000 * ft, float(temperature_at_altitude(5000 * ft))))
    weight = 2400 * lb * 9.80665
    q_area = density / 2 * (tas * kt) ** 2 * 16.0
    sine = 0.1
    for _ in range(60):
        lift = weight * math.sqrt(1 - sine**2) / q_area
        sine = (cd0 + k * lift**2) * q_area / weight
    probe = point_at("descent", tas, 5000.0, 0.0, 2400.0, -sine * tas * kt / fpm, 0.0, **more)
    factor = constant_airspeed_factor(probe)
    return point_at("descent", tas, 5000.0, 0.0, 2400.0, -sine * tas * kt / fpm / (1 + factor), 0.0, **more)


@given(st.floats(0.015, 0.06), st.floats(0.03, 0.09))
def test_glides_give_their_polar_back(cd0, k):
    points = [glide(tas, cd0, k, rpm=0.0) for tas in (70.0, 85.0, 100.0)]
    polar = glide_polar(points, PLANE)
    assert {g.propeller for g in polar.glides} == {"stopped"}
    assert polar.coefficients == pytest.approx([cd0, k], rel=1e-4)
    assert polar.span_efficiency.value == pytest.approx(16.0 / (math.pi * 121 * k), rel=1e-4)


def test_descents_under_power_are_no_glides():
    assert glide_polar([glide(80.0, rpm=2300 * rpm)], PLANE) is None
    assert glide_polar([glide(80.0, rpm=0.0, power_percent=0.2)], PLANE) is None
    mixed = glide_polar([glide(70.0, rpm=0.0), glide(100.0, rpm=900 * rpm), point_at(flow=9.0)], PLANE)
    assert "not the same" in mixed.missing


STALL = """
date = "2026-05-14"
[airplane]
standard_weight = "2,400 lb"
wing_area = "170 ft²"
forward_limit = "0.90 m"
tail_arm = "5 m"
[instruments]
airspeed_correction = [ { indicated = "40 kt", add = "4 kt" }, { indicated = "60 kt", add = "2 kt" } ]
[[points]]
kind = "stall"
start = "10:00:00"
end = "10:00:10"
indicated_airspeed = "50 kt"
weight = "2,200 lb"
"""


def test_stalls_to_standard_weight_and_forward_limit():
    aft = reduce_flight(
        parse_flight(STALL + 'arm = "1.10 m"\nflaps = "30 deg"', "f", Path())
    ).standard.stalls[0]
    assert aft.calibrated.value / kt == pytest.approx(53.0)
    by_weight = 53 * math.sqrt(2400 / 2200)
    assert aft.corrections[1].end / kt == pytest.approx(by_weight)
    assert aft.standard.value / kt == pytest.approx(by_weight / math.sqrt(1 - 0.2 / 5))
    unsaid = reduce_flight(parse_flight(STALL, "f", Path()))
    stall = unsaid.standard.stalls[0]
    assert stall.standard.value / kt == pytest.approx(by_weight)
    assert any("balance" in flag for flag in stall.flags)
    assert not unsaid.points
    assert reduction_data(unsaid)["stalls"][0]["standard_cas_kt"] == pytest.approx(by_weight, abs=0.01)
    assert "stalls" in reduction_text(unsaid)


def stalls_at(*entries):
    """Return the stalls at entry rates and speeds in knots, and flaps in degrees."""
    own = "".join(
        f'[[points]]\nkind = "stall"\nstart = "10:0{i}:00"\nend = "10:0{i}:10"\nweight = "2,400 lb"\n'
        f'indicated_airspeed = "{speed:.2f} kt"\nflaps = "{flaps} deg"\n'
        + (f'entry_rate = "{rate} kt"\n' if rate is not None else "")
        for i, (rate, speed, flaps) in enumerate(entries)
    )
    text = STALL[: STALL.index("[[points]]")]
    return reduce_flight(parse_flight(text + own, "f", Path())).standard.stalls


def test_stalls_are_brought_to_an_entry_of_a_knot_a_second():
    """A line through stalls at entry rates of 0.6 to 2.0 kt/s: 0.9 kt less for each kt/s more."""
    speeds = {0.6: 50.36, 1.4: 49.64, 2.0: 49.1}
    stalls = stalls_at(*((rate, speed, 0) for rate, speed in speeds.items()))
    at_one = {rate: s.standard.value / kt for rate, s in zip(speeds, stalls, strict=True)}
    # 50.0 kt indicated, and 3 kt of calibration that changes by 0.1 kt for 1 kt
    assert list(at_one.values()) == pytest.approx([53.0] * 3, abs=0.05)
    step = stalls[2].corrections[-1]
    assert step.name == "entry rate"
    assert (step.end - step.start) / kt == pytest.approx(0.9 * 0.9, abs=0.02)
    scattered = stalls_at((0.6, 51.4, 0), (1.4, 48.6, 0), (2.0, 49.1, 0))
    assert scattered[2].standard.u > 1.2 * stalls[2].standard.u


def test_an_entry_rate_that_nothing_corrects_is_said():
    by_flags = stalls_at((None, 50.0, 0), (2.0, 49.0, 0), (1.0, 44.0, 30), (1.1, 44.0, 30))
    assert any("none is noted" in flag for flag in by_flags[0].flags)
    assert any("2.0 kt a second" in flag for flag in by_flags[1].flags)
    assert not any("entry" in flag for flag in (*by_flags[2].flags, *by_flags[3].flags))
    assert all(c.name != "entry rate" for stall in by_flags for c in stall.corrections)


def test_a_static_source_that_nobody_knows_must_be_said_rightly():
    wrong = STALL.replace("airspeed_correction", 'static_source = "perhaps"\nairspeed_correction')
    with pytest.raises(Problems) as caught:
        parse_flight(wrong, "f.toml", Path())
    assert any("static_source" in p.place.field for p in caught.value.problems)


def test_the_static_sources_error_moves_altitude_as_the_law_of_pressures_says():
    """The pitot's total pressure is kept: static plus impact pressure before and after are equal."""
    shift = static_shift(100 * kt, 97 * kt, 1500.0)
    before = pressure_at_altitude(1500.0) + impact_pressure(100 * kt)
    after = pressure_at_altitude(1500.0 + shift) + impact_pressure(97 * kt)
    assert after == pytest.approx(before, rel=1e-12)
    # rho0 V dV / (rho g): about 10 ft for each knot; a static pressure read too low stands too high
    assert shift == pytest.approx(-(98.5 * 3 * kt**2) / 9.80665 * 1.225 / 1.0581, rel=0.02)


def test_altimeter_setting_and_pressure_altitude_stay_apart():
    text = STALL.replace('kind = "stall"', 'kind = "level"').replace(
        'weight = "2,200 lb"', 'indicated_altitude = "5,883 ft"\naltimeter_setting = "30.10 inHg"'
    )
    point = reduce_flight(parse_flight(text, "f", Path())).points[0]
    assert point.pressure_altitude.value / ft == pytest.approx(5718, abs=1)


def recovery_points(k, speeds=(80.0, 110.0, 140.0, 150.0)):
    points = []
    for tas in speeds:
        point = point_at(tas=tas)
        static = point.air.temperature.value
        warmed = float(probe_temperature(static, float(mach_at_true_airspeed(tas * kt, static)), k))
        points.append(Point(**{**vars(point), "probe_temperature": Estimate(warmed, 0.03)}))
    return points


@pytest.mark.parametrize("k", [0.65, 0.95])
def test_recovery_from_speeds_at_one_level(k):
    found = recovery_factor(recovery_points(k))
    assert found.value == pytest.approx(k, abs=0.01)
    assert 0.02 < found.u < 0.12


def test_recovery_is_not_determined_by_one_speed():
    assert recovery_factor(recovery_points(0.8, (110.0, 111.0))) is None
    assert recovery_factor(recovery_points(0.8, (110.0,))) is None


def test_the_handbooks_calibration_beside_and_in_place(tmp_path):
    path = tmp_path / "airspeed.csv"
    path.write_text("indicated airspeed [kt],calibrated airspeed [kt]\n60,63\n100,100\n140,138\n")
    record = TableFile(kind="airspeed", file="airspeed.csv", axes=("indicated airspeed",))
    table = read_table(path, "airspeed.csv", record, Collector())
    alone = calibrate(Instruments(), [], [], Probe(), table)
    assert alone.basis == "handbook"
    assert alone.correction(80 * kt).value / kt == pytest.approx(1.5)
    assert beside_handbook(alone, table) == ()


def test_noise_of_readings_is_not_what_the_airplane_did():
    rng = np.random.default_rng(1)
    t = np.arange(200.0)
    swaying = 100 + 2 * np.sin(t / 8) + rng.normal(0, 0.5, 200)
    assert noise_of(swaying) == pytest.approx(0.5, rel=0.2)
    assert reading_mean_of(swaying).u == pytest.approx(0.5 / math.sqrt(200), rel=0.2)
    gappy = np.where((t > 120) & (t < 170), np.nan, 10 + 0.1 * t)
    assert reading_mean_of(gappy).value == pytest.approx(10 + 0.1 * 99.5)
    assert rise_of(t**2).value == pytest.approx(199, rel=0.01)


def test_wander_is_the_priors_without_legs_and_the_legs_with_many():
    assert wind_wander([]).sd_m_s == pytest.approx(PRIOR_M_S)
    readings = point_at().readings
    many = [Readings(**{**vars(readings), "wind_change_m_s": 0.8 * (-1) ** i}) for i in range(400)]
    assert wind_wander(many).sd_m_s == pytest.approx(0.8 / math.sqrt(2), rel=0.02)
