"""A log against its airplane and its day: the wrong unit, the wrong clock and the wrong flight are told."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from flyoff.core.problems import Collector, Problems
from flyoff.core.sources import Place
from flyoff.core.units import ft, hour, hp, inhg, kt, lb, litre, psi, rpm, us_gal
from flyoff.dossier.read import read_dossier, read_sources
from flyoff.flights.merge import Merge
from flyoff.flights.propose import propose
from flyoff.flights.read import Flight, parse_flight
from flyoff.physics.atmosphere import pressure_at_altitude
from flyoff.reduction.airplane import Airplane
from flyoff.reduction.crosscheck import cross_checked
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, NAMES, flight_of, made_log, reduction_of

DEMO = Path(str(files("flyoff.demo") / "files"))
POWER = Airplane(rated_power_w=180 * hp, rated_speed_hz=2700 * rpm)
GALLON_H = us_gal / hour
CRUISE = {"ground_speed": 110 * kt}


@pytest.fixture(scope="module")
def dossier():
    collector = Collector()
    sources = read_sources(DEMO / "sources.toml", "sources.toml", collector)
    found = read_dossier(DEMO / "aircraft/kattun.toml", "aircraft/kattun.toml", sources, collector)
    collector.raise_any()
    assert found is not None
    return found


def flight(text: str = "", **channels) -> Flight:
    """Return a flight of a made log; the flight file says the unit of every channel on line 7."""
    card = parse_flight(
        'date = "2001-09-09"\n[[points]]\nstart = "01:47"\nend = "01:48"\n' + text, "f.toml", Path()
    ).card
    log = made_log(900, **{**CRUISE, **channels})
    places = {(log.name, channel): Place("f.toml", 7, channel) for channel in log.channels}
    return Flight("f.toml", np.datetime64("2001-09-09").item(), card, (log,), (), True, places)


def refusal(*args) -> str:
    with pytest.raises(Problems) as caught:
        cross_checked(*args)
    return str(caught.value)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_said_of_the_sample_flights(name):
    assert cross_checked(flight_of(name), POWER, None) == []


@pytest.mark.parametrize("channel", ["fuel_flow", "fuel_mass_flow"])
def test_litres_read_as_gallons_cannot_be_of_180_hp(channel):
    """Brake specific consumption of spark engines is 0.4 to 0.6 lb/hp/h (Yechout, Introduction, ch. 2)."""
    per = GALLON_H if channel == "fuel_flow" else 6 * lb / hour
    assert cross_checked(flight(**{channel: 8.5 * per}), POWER, None) == []
    assert cross_checked(flight(**{channel: 16 * per}), POWER, None) == []
    said = refusal(flight(**{channel: 8.5 * 3.785 * per}), POWER, None)
    assert said.startswith(f"f.toml:7: {channel}: the fuel flow cannot be: a median of")
    assert "of 180 hp; expected at most 0.80; is the unit right?" in said
    (doubt,) = cross_checked(flight(**{channel: 22 * per}), POWER, None)
    assert "more than full power takes" in doubt
    (doubt,) = cross_checked(flight(**{channel: 8.5 / 3.785 * per}), POWER, None)
    assert "less than half power takes" in doubt


def test_no_more_is_burned_than_was_aboard():
    loading = '[loading]\nfuel_at_start = "2 US gal"\n'
    assert cross_checked(flight(loading, fuel_flow=7.5 * GALLON_H), Airplane(), None) == []
    said = refusal(flight(loading, fuel_flow=12 * GALLON_H), Airplane(), None)
    assert "burned 3.0 US gal; expected at most the 2 US gal at its start" in said


def test_other_fuel_in_the_tanks_than_written_is_doubted():
    loading = '[loading]\nfuel_at_start = "40 US gal"\n'
    assert cross_checked(flight(loading, fuel_remaining=40 * us_gal), Airplane(), None) == []
    (doubt,) = cross_checked(flight(loading, fuel_remaining=40 * litre), Airplane(), None)
    assert "begins with 10.6 US gal in the tanks, the flight file says 40 US gal" in doubt


def test_an_engine_without_turbocharger_has_no_more_pressure_than_the_air(dossier):
    height = 5000 * ft
    air = float(pressure_at_altitude(height))
    cruise = {"pressure_altitude": height, "rpm": 2400 * rpm}
    assert cross_checked(flight(manifold_pressure=0.95 * air, **cruise), POWER, dossier) == []
    said = refusal(flight(manifold_pressure=23 * psi, **cruise), POWER, dossier)
    assert "manifold_pressure: the manifold pressure cannot be: 1.8" in said
    (doubt,) = cross_checked(flight(manifold_pressure=1.2 * air, **cruise), POWER, dossier)
    assert "1.20 times the air's pressure" in doubt
    assert cross_checked(flight(manifold_pressure=23 * inhg, **cruise), POWER, dossier) == []


def test_a_log_of_another_airplane_shows_by_its_engine_s_speed(dossier):
    (doubt,) = cross_checked(flight(rpm=5200 * rpm), POWER, dossier)
    assert "1.93 of the engine's rated speed" in doubt


def test_nobody_cruises_faster_than_never_to_be_exceeded(dossier):
    limit = dossier.airplane.speeds.never_exceed
    assert limit is not None
    assert cross_checked(flight(indicated_airspeed=0.9 * limit.si), Airplane(), dossier) == []
    said = refusal(flight(indicated_airspeed=1.1 * limit.si), Airplane(), dossier)
    assert said.startswith("f.toml:7: indicated_airspeed: the airspeed cannot be: its median in flight is")
    assert f"expected less than the {limit} never to be exceeded" in said


def test_a_clock_of_another_zone_is_seen_by_the_times_noted():
    """The log runs from 01:46:40 for 15 minutes."""
    assert cross_checked(flight(), Airplane(), None) == []
    notes = '[[notes]]\nat = "03:55"\ntext = "landed"\n[[notes]]\nat = "03:50"\ntext = "idle"\n'
    card = parse_flight(
        f'date = "2001-09-09"\n[[points]]\nstart = "03:48"\nend = "03:49"\n{notes}', "f", Path()
    )
    (said,) = cross_checked(replace(flight(), card=card.card), Airplane(), None)
    assert said == (
        "4 of 4 times noted lie outside the log, all inside were its clock 2 h later: "
        "is the clock's zone right?"
    )


def test_a_log_laid_on_another_s_clock_from_far_is_told():
    merge = Merge("b.csv", "a.csv", 7200.0, 0.3, 0.99, ("velocity",))
    (said,) = cross_checked(replace(flight(), merges=(merge,)), Airplane(), None)
    assert said == "the clock of b.csv stands 7,200 s behind that of a.csv: is its zone right?"


def test_a_log_from_another_airfield_than_planned_is_doubted():
    speed = np.where(np.arange(900) < 120, 0.0, 110 * kt)
    plan = '[plan]\ntime = "1 h"\nairfield_elevation = "500 ft"\n'
    assert cross_checked(flight(plan, ground_speed=speed, gps_altitude=900 * ft), Airplane(), None) == []
    (said,) = cross_checked(flight(plan, ground_speed=speed, gps_altitude=5300 * ft), Airplane(), None)
    assert "stands at 5,300 ft, the airfield planned at 500 ft" in said


def test_what_is_unlikely_among_the_repairs_is_warned_of():
    lines = [
        line.replace('unit = "kt"', 'unit = "mph"') if line.startswith("indicated_airspeed") else line
        for line in propose(FOLDER / "sample.csv").splitlines()
    ]
    found = reduce_flight(parse_flight("\n".join(lines), "f.toml", FOLDER))
    assert any("indicated airspeed: kept, but it is 0.87 of what" in warning for warning in found.warnings)
    assert not any("kept, but" in warning for warning in reduction_of("sample.csv").warnings)


def test_a_flight_that_cannot_be_is_not_reduced():
    card = flight_of("sample.csv").card
    tight = parse_flight('date = "2001-09-09"\n[[points]]\nstart = "1:00"\nend = "1:01"\n'
                         '[loading]\nfuel_at_start = "1 US gal"\n', "f", Path()).card  # fmt: skip
    with pytest.raises(Problems, match="burned"):
        reduce_flight(
            replace(flight_of("sample.csv"), card=card.model_copy(update={"loading": tight.loading}))
        )
