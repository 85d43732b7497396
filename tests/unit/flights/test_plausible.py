"""Wrong units in a mapping: channels are held against each other, and what cannot be stops the flight."""

import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from flyoff.core.problems import Problems
from flyoff.core.sources import Place
from flyoff.core.units import celsius, fahrenheit, find_unit, ft, inhg, kt, litre, mph, psi, us_gal
from flyoff.flights.plausible import reviewed
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from helpers.flights import FOLDER, NAMES, flight_of, made_log

COUNT = 1200
COURSE = np.radians(np.where(np.arange(COUNT) % 600 < 300, 40.0, 220.0))


def doubts_of(log):
    return {r.channel: r.why for r in log.repairs if r.kind == "unlikely reading"}


def mapped(name, channel, unit, column=""):
    text = propose(FOLDER / name)
    text = re.sub(rf'^({channel} = .*unit = ")[^"]*"', rf'\g<1>{unit}"', text, flags=re.MULTILINE)
    if column:
        text = re.sub(rf'^({channel} = .*column = ")[^"]*"', rf'\g<1>{column}"', text, flags=re.MULTILINE)
    return text


def fault_of(text):
    with pytest.raises(Problems) as caught:
        parse_flight(text, "f.toml", FOLDER)
    return str(caught.value)


def check(units=None, **channels):
    log = made_log(COUNT, **channels)
    units = {name: find_unit(label) for name, label in (units or {}).items()}
    return reviewed(log, lambda channel: Place("f.toml", 1, channel), units)


def refused(units=None, **channels):
    with pytest.raises(Problems) as caught:
        check(units, **channels)
    return str(caught.value)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_said_of_flights_mapped_right(name):
    assert not doubts_of(flight_of(name).logs[0])


@pytest.mark.parametrize(
    ("channel", "unit", "said"),
    [
        ("indicated_airspeed", "km/h", "0.54 of what ground speeds on opposite courses show; kt would fit"),
        ("indicated_airspeed", "m/s", "1.94 of what ground speeds on opposite courses show; kt would fit"),
        ("ground_speed", "km/h", "0.54 of the speed of the positions; kt would fit better than km/h"),
        ("ground_speed", "mph", "0.87 of the speed of the positions; kt would fit better than mph"),
        ("pressure_altitude", "m", "pressure altitude changes by"),
        ("gps_altitude", "m", "where GPS altitude changes by"),
        ("manifold_pressure", "kPa", "expected 30 to 271 kPa"),
    ],
)
def test_a_wrong_unit_stops_the_flight_at_its_own_line(channel, unit, said):
    text = mapped("sample.csv", channel, unit)
    fault = fault_of(text)
    assert said in fault
    line = int(re.match(r"f\.toml:(\d+): logs\.0\.columns\.", fault)[1])
    pointed = "pressure_altitude" if channel == "gps_altitude" else channel
    assert text.splitlines()[line - 1].startswith(pointed)
    assert len(fault.splitlines()) == 1


@pytest.mark.parametrize(
    ("channel", "unit", "said"),
    [
        ("indicated_airspeed", "mph", "0.87 of what ground speeds on opposite courses show; kt would fit"),
        ("outside_air_temperature", "°F", "-16 °C from the standard atmosphere, and +7 °C read as °C"),
        ("vertical_speed", "m/s", "readings of it cannot be"),
    ],
)
def test_an_unlikely_unit_is_said_among_the_repairs(channel, unit, said):
    log = parse_flight(mapped("sample.csv", channel, unit), "f.toml", FOLDER).logs[0]
    assert said in doubts_of(log)[channel]
    assert "f.toml:" in doubts_of(log)[channel]


def test_airspeed_and_ground_speed_swapped():
    text = propose(FOLDER / "sample.csv")
    columns = [re.search(rf'^{c} = .*column = "([^"]*)"', text, re.MULTILINE)[1]
               for c in ("indicated_airspeed", "ground_speed")]  # fmt: skip
    text = mapped("sample.csv", "indicated_airspeed", "kt", columns[1])
    text = re.sub(r'^(ground_speed = .*column = ")[^"]*"', rf'\g<1>{columns[0]}"', text, flags=re.MULTILINE)
    assert "are the columns of airspeed and ground speed swapped?" in fault_of(text)


def test_a_strong_wind_both_ways_is_no_fault_and_one_way_is_only_doubted():
    wind = 35 * kt
    ground = np.where(np.cos(COURSE) > 0, 100 * kt + wind, 100 * kt - wind)
    speeds = {"indicated_airspeed": 100 * kt, "ground_track": COURSE}
    assert not doubts_of(check(ground_speed=ground, **speeds))
    one_way = check(ground_speed=100 * kt - wind, indicated_airspeed=100 * kt)
    assert "wind" not in doubts_of(one_way) and "35 kt apart" in doubts_of(one_way)["indicated_airspeed"]
    assert not doubts_of(check(ground_speed=80 * kt, indicated_airspeed=100 * kt))
    fault = refused({"indicated_airspeed": "kt"}, ground_speed=100 * kt, indicated_airspeed=185.2 * kt)
    assert "km/h would fit better than kt" in fault and "wind of at most 60 kt" in fault


def test_thin_air_is_allowed_for():
    """At 10,000 ft the square root of the density ratio is 0.8593 (standard atmosphere tables)."""
    cruise = {"ground_speed": 120 * kt, "ground_track": COURSE, "pressure_altitude": 10000 * ft}
    assert not doubts_of(check(indicated_airspeed=120 * 0.8593 * kt, **cruise))


@pytest.mark.parametrize(("apart_ft", "stops"), [(1700, False), (-1700, False), (4000, True), (-4000, True)])
def test_altitudes_may_differ_by_an_altimeter_setting_only(apart_ft, stops):
    level = {"ground_speed": 100 * kt, "gps_altitude": 3000 * ft, "pressure_altitude": (3000 + apart_ft) * ft}
    if stops:
        assert f"lies {apart_ft:+,} ft from GPS altitude" in refused(**level)
    else:
        assert not doubts_of(check(**level))


@pytest.mark.parametrize(
    ("above_k", "said"), [(0, ""), (20, ""), (30, "+30 °C"), (-30, "-30 °C"), (50, "stop"), (-50, "stop")]
)
def test_temperature_against_the_standard_atmosphere(above_k, said):
    level = {"ground_speed": 100 * kt, "pressure_altitude": 2000.0}
    level["outside_air_temperature"] = celsius(2.0 + above_k)
    if said == "stop":
        assert f"{above_k:+d} °C from the standard atmosphere" in refused(**level)
    else:
        assert said in doubts_of(check(**level)).get("outside_air_temperature", "")
        assert bool(said) == bool(doubts_of(check(**level)))


def test_fahrenheit_read_as_celsius_falls_faster_than_air_can():
    height = np.linspace(0, 3000, COUNT)
    degrees_f = 59 - 0.0065 * 1.8 * height
    climb = {"ground_speed": 100 * kt, "pressure_altitude": height}
    fault = refused(outside_air_temperature=celsius(degrees_f), **climb)
    assert "falls by 11.7 °C in 1,000 m" in fault and "are these °F?" in fault
    warm_day = celsius(45 - 0.0095 * height)
    assert (
        "falls" not in doubts_of(check(outside_air_temperature=warm_day, **climb))["outside_air_temperature"]
    )


def test_celsius_read_as_fahrenheit_falls_less_than_air_does():
    height = np.linspace(0, 3000, COUNT)
    climb = {"ground_speed": 100 * kt, "pressure_altitude": height}
    read = fahrenheit(15 + 10 - 0.0065 * height)  # a day 10 °C warmer than standard, in °C
    said = doubts_of(check({"outside_air_temperature": "°F"}, outside_air_temperature=read, **climb))
    assert "+10 °C read as °C" in said["outside_air_temperature"]
    cold = celsius(15 - 20 - 0.0065 * height)
    assert not doubts_of(check({"outside_air_temperature": "°F"}, outside_air_temperature=cold, **climb))


def test_a_fuel_flow_of_no_light_airplane_is_doubted():
    flow = {"ground_speed": 100 * kt, "fuel_flow": 270 * litre / 3600}
    assert "71 US gal/h" in doubts_of(check(**flow))["fuel_flow"]
    assert not doubts_of(check(ground_speed=100 * kt, fuel_flow=100 * litre / 3600))


def test_litres_read_as_gallons_are_doubted_by_how_far_they_last():
    cruise = {"units": {"fuel_flow": "US gal/h"}, "ground_speed": 105 * kt}
    assert not doubts_of(check(**cruise, fuel_flow=8.5 * us_gal / 3600))
    said = doubts_of(check(**cruise, fuel_flow=8.5 * 3.785 * us_gal / 3600))["fuel_flow"]
    assert "3.3 nmi to the US gal" in said and "L/h would fit better than US gal/h" in said
    litres = {**cruise, "units": {"fuel_flow": "L/h"}}
    said = doubts_of(check(**litres, fuel_flow=8.5 * litre / 3600))["fuel_flow"]
    assert "US gal/h would fit better than L/h" in said


def test_fuel_flow_against_the_fuel_recorded():
    flow = 10 * us_gal / 3600
    left = 12 * us_gal - flow * np.arange(COUNT)
    cruise = {"ground_speed": 105 * kt, "fuel_remaining": left}
    assert not doubts_of(check(fuel_flow=flow, **cruise))
    assert "were used, by the fuel recorded" in doubts_of(check(fuel_flow=2 * flow, **cruise))["fuel_flow"]
    assert "expected the two to agree" in refused(fuel_flow=3.785 * flow, **cruise)
    assert "expected the two to agree" in refused(fuel_flow=flow / 3.785, **cruise)


def test_indicated_against_the_true_airspeed_recorded():
    """At 10,000 ft the square root of the density ratio is 0.8593 (standard atmosphere tables)."""
    cruise = {"pressure_altitude": 10000 * ft, "true_airspeed": 120 * kt, "ground_speed": 110 * kt}
    units = {"indicated_airspeed": "mph"}
    assert not doubts_of(check(units, indicated_airspeed=120 * 0.8593 * kt, **cruise))
    slow = check(units, indicated_airspeed=120 * 0.8593 * mph, **cruise)
    said = doubts_of(slow)["indicated_airspeed"]
    assert "0.87 of the true airspeed recorded; kt would fit better than mph" in said
    units = {"indicated_airspeed": "kt"}
    cruise = {name: value for name, value in cruise.items() if name != "ground_speed"}
    said = refused(units, indicated_airspeed=120 * 0.8593 * 1.852 * kt, **cruise)
    assert "1.85 of the true airspeed recorded; km/h would fit better than kt" in said


def test_manifold_pressure_in_the_wrong_unit():
    cruise = {"ground_speed": 110 * kt, "pressure_altitude": 5000 * ft}
    right, wrong = {"manifold_pressure": "inHg"}, {"manifold_pressure": "psi"}
    assert not doubts_of(check(right, manifold_pressure=23 * inhg, **cruise))
    assert not doubts_of(check(right, manifold_pressure=38 * inhg, **cruise))  # turbocharged
    said = doubts_of(check(wrong, manifold_pressure=23 * psi, **cruise))["manifold_pressure"]
    assert "inHg would fit better than psi" in said
    said = doubts_of(check(right, manifold_pressure=11.3 * inhg, **cruise))["manifold_pressure"]
    assert "psi would fit better than inHg" in said


def test_vertical_speed_against_altitude():
    height = 1500 + 300 * np.sin(np.arange(COUNT) / 60)
    rate = 5 * np.cos(np.arange(COUNT) / 60)
    flight = {"ground_speed": 100 * kt, "pressure_altitude": height}
    assert not doubts_of(check(vertical_speed=rate, **flight))
    assert "where altitude says" in refused(vertical_speed=rate / 196.85, **flight)


def test_nothing_is_said_on_the_ground():
    assert not doubts_of(check(ground_speed=5.0, gps_altitude=0.0, pressure_altitude=5000.0))


def test_the_demo_s_log_is_mapped_right():
    folder = Path(__file__).parents[3] / "src" / "flyoff" / "demo" / "files" / "flights"
    flight = parse_flight((folder / "2026-06-02.toml").read_text("utf-8"), "f", folder)
    assert not doubts_of(flight.logs[0])


def test_a_channel_merged_from_another_log_is_pointed_at_in_its_own_entry():
    def flight(unit):
        text = propose(FOLDER / "sample.csv")
        clock = text[text.index("[logs.clock]") : text.index("[logs.columns]")]
        kept = [line for line in mapped("sample.csv", "indicated_airspeed", unit).splitlines()
                if line.startswith(("indicated_airspeed", "pressure_altitude"))]  # fmt: skip
        entry = f'[[logs]]\nfile = "sample.csv"\n{clock}[logs.columns]\n' + "\n".join(kept)
        return f'date = "2026-05-14"\n[[logs]]\nfile = "sample.gpx"\nformat = "gpx"\n{entry}\n'

    day = parse_flight(propose(FOLDER / "sample.csv"), "f", FOLDER).date.isoformat()
    right = parse_flight(flight("kt").replace("2026-05-14", day), "f.toml", FOLDER)
    assert len(right.logs) == 1 and right.merges[0].channels
    assert not doubts_of(right.logs[0])
    text = flight("km/h").replace("2026-05-14", day)
    fault = fault_of(text)
    line = int(re.match(r"f\.toml:(\d+): logs\.1\.columns\.indicated_airspeed\.unit: ", fault)[1])
    assert text.splitlines()[line - 1].startswith("indicated_airspeed")


SERIES = arrays(float, COUNT // 4, elements=st.floats(0, 300) | st.just(np.nan))
NOTED = ("indicated_airspeed", "ground_speed", "ground_track", "pressure_altitude", "gps_altitude",
         "latitude", "longitude", "outside_air_temperature", "fuel_flow", "vertical_speed")  # fmt: skip

UNITS = {name: find_unit("kt") for name in ("indicated_airspeed", "ground_speed")}


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(st.sampled_from(NOTED), SERIES, min_size=1))
def test_whatever_the_readings_it_says_a_problem_or_nothing(channels):
    log = made_log(COUNT // 4, **channels)
    try:
        told = reviewed(log, lambda channel: Place("f.toml", 1, channel), UNITS)
    except Problems:
        return
    assert told.channels is log.channels
