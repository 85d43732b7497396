"""Whole logs with a known wind, gusts and errors: the truth comes back as often as stated."""

import math
from dataclasses import dataclass

import numpy as np
import pytest

from flyoff.core.units import celsius, degree, ft, kt, rpm
from flyoff.flights.log import Log
from flyoff.flights.read import Flight, parse_flight
from flyoff.physics.airspeed import calibrated_airspeed
from flyoff.reduction.run import reduce_flight
from helpers.flights import write_flight

FLIGHTS = 120


@dataclass(frozen=True)
class Made:
    """A log and what really happened in it: the means over its legs, of which a gust is part."""

    log: Log
    tas_kt: float
    wind_kt: tuple[float, float]
    correction_kt: float


def _gusts(rng, count, sd, memory_s):
    keep = math.exp(-1 / memory_s)
    gust = np.empty(count)
    gust[0] = rng.normal(0, sd)
    for i in range(1, count):
        gust[i] = keep * gust[i - 1] + rng.normal(0, sd * math.sqrt(1 - keep**2))
    return gust


def make(seed, changed_wind=(0.0, 0.0)):
    """Return a flight of three or four legs with turns between."""
    rng = np.random.default_rng(seed)
    legs = int(rng.integers(3, 5))
    tas = rng.uniform(95, 165)
    altitude = rng.uniform(2000, 9000)
    wind = rng.normal(0, 14, 2)
    step = 360 / legs
    first = rng.uniform(0, 360)
    heading = np.concatenate(
        [
            np.r_[np.full(80, first + i * step), first + i * step + np.linspace(0, step, 45)]
            for i in range(legs)
        ]
    )
    count = len(heading)
    gust = [_gusts(rng, count, 0.6, 8) + _gusts(rng, count, 0.3, 200) for _ in range(2)]
    late = np.arange(count) > count * 0.6
    blow = [wind[i] + changed_wind[i] * late + gust[i] for i in range(2)]
    along = np.cos(np.radians(heading)), np.sin(np.radians(heading))
    # an airplane's inertia keeps its ground speed in a gust, and its airspeed shows most of it
    felt = tas - 0.7 * sum(a * g for a, g in zip(along, gust, strict=True))
    north, east = (felt * a + b for a, b in zip(along, blow, strict=True))
    cas = calibrated_airspeed(
        true_airspeed_m_s=felt * kt,
        pressure_altitude_m=np.full(count, altitude * ft),
        temperature_k=celsius(8.0),
    )
    correction = rng.uniform(-3, 3)
    channels = {
        "ground_speed": np.round(np.hypot(north, east) + rng.normal(0, 0.1, count), 1) * kt,
        "ground_track": np.round(np.degrees(np.arctan2(east, north)) % 360, 1) * degree,
        "indicated_airspeed": np.round(cas / kt - correction + rng.normal(0, 0.4, count)) * kt,
        "pressure_altitude": np.round(altitude + rng.normal(0, 4, count)) * ft,
        "outside_air_temperature": np.round(celsius(8.0) + rng.normal(0, 0.1, count), 1),
        "magnetic_heading": np.radians(
            (heading + rng.normal(0, 1.0, count) + 1.5 * np.cos(np.radians(heading))) % 360
        ),
        "rpm": (2300 + rng.normal(0, 4, count)) * rpm,
    }
    resolution = {"ground_speed": 0.1 * kt, "ground_track": 0.1 * degree, "indicated_airspeed": 1 * kt}
    log = Log("made.csv", 1e9 + np.arange(float(count)), np.arange(2, count + 2), channels, resolution)
    in_legs = np.tile(np.r_[np.ones(80, bool), np.zeros(45, bool)], legs)
    blown = float(blow[0][in_legs].mean()), float(blow[1][in_legs].mean())
    return Made(log, float(felt[in_legs].mean()), blown, float(correction))


def flight_with(tmp_path, log) -> Flight:
    """Return a flight that has this log, and whose probe is not warmed."""
    text = "time,ias\n2026-05-14T09:00:00Z,100\n2026-05-14T09:00:01Z,100\n"
    toml = write_flight(tmp_path, text, 'indicated_airspeed = { column = "ias", unit = "kt" }')
    known = '[instruments]\noat_recovery = "0 %"\noat_u95 = "0.1 °C"\n[[logs]]'
    flight = parse_flight(toml.replace("[[logs]]", known), "f.toml", tmp_path)
    return Flight(flight.name, flight.date, flight.card, (log,))


@pytest.fixture(scope="module")
def reductions(tmp_path_factory):
    folder = tmp_path_factory.mktemp("flights")
    made = [make(seed) for seed in range(FLIGHTS)]
    return [(m, reduce_flight(flight_with(folder, m.log))) for m in made]


def test_every_leg_is_found_and_no_turn(reductions):
    for _, reduction in reductions:
        assert 3 <= len(reduction.points) <= 4
        assert all(p.condition.kind == "level" for p in reduction.points)


def test_most_groups_are_answered_and_all_answers_are_close(reductions):
    answered = [(m, g) for m, r in reductions for g in r.legs if not g.refused]
    assert len(answered) >= 0.97 * len(reductions)
    tas = np.array([g.solution.true_airspeed.value / kt - m.tas_kt for m, g in answered])
    wind = np.array([np.array(g.solution.wind_m_s) / kt - m.wind_kt for m, g in answered])
    assert np.abs(tas).max() < 0.8
    assert np.hypot(*wind.T).max() < 1.5


def test_intervals_hold_the_truth(reductions):
    tas, north, calibration = [], [], []
    for made, reduction in reductions:
        for group in reduction.legs:
            solution = group.solution
            tas.append(
                abs(solution.true_airspeed.value / kt - made.tas_kt) <= solution.true_airspeed.u95 / kt
            )
            north.append(
                abs(solution.wind_m_s[0] / kt - made.wind_kt[0])
                <= 2 * math.sqrt(solution.covariance[1, 1]) / kt
            )
            correction = reduction.calibration.correction(group.indicated_airspeed.value)
            calibration.append(abs(correction.value / kt - made.correction_kt) <= correction.u95 / kt)
    for held in (tas, north, calibration):
        assert np.mean(held) >= 0.92


def test_a_wind_that_changes_does_not_pass_as_an_answer(tmp_path):
    """Refused with three legs as with four, whether it changes in a leg or in a turn."""
    wrong = groups = 0
    for seed in range(40):
        made = make(seed, changed_wind=(9.0, -6.0))
        for group in reduce_flight(flight_with(tmp_path, made.log)).legs:
            groups += 1
            error = abs(group.solution.true_airspeed.value / kt - made.tas_kt)
            wrong += not group.refused and error > group.solution.true_airspeed.u95 / kt
    assert groups >= 35
    assert wrong <= 1
