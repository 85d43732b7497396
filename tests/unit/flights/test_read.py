"""Flight files: what they may say, and what is said of those that say something else."""

import json

import pytest

from flyoff.core.problems import Problems
from flyoff.flights.card import FlightFile
from flyoff.flights.read import parse_flight, read_flight
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, seconds


def fault_of(text, folder=FOLDER):
    with pytest.raises(Problems) as caught:
        parse_flight(text, "f.toml", folder)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "f.toml:1: date: missing"),
        ('date = "14.5.2026"', "is no date; expected YYYY-MM-DD"),
        ('date = "2026-05-14"', "nothing was flown"),
        ('dat = "2026-05-14"', "did you mean 'date'?"),
        ('date = "2026-05-14"\n[loading]\nramp_weight = 2250', "bare number 2250"),
        ('date = "2026-05-14"\n[loading]\nramp_weight = "2,250"', "has no unit"),
        ('date = "2026-05-14"\n[[points]]\nstart = "late"\nend = "9:10"', "'late' is no time"),
        ('date = "2026-05-14"\n[[points]]\nstart = "09:10"\nend = "09:10"', "start and end are the same"),
        ('date = "2026-05-14"\n[[logs]]\nfile = "gone.csv"', "gone.csv: no such file"),
        ('date = "2026-05-14"\n[[logs]]\nfile = "sample.csv"\nformat = "xls"', "'csv', 'gpx' or 'igc'"),
        ('date = "2026-05-14"\n[[logs]]\nfile = "sample.csv"\n[logs.columns]\n'
         'rpm = { column = "rpm", unit = "rpm" }',
         "no clock"),
    ],
)  # fmt: skip
def test_faults_have_their_place(text, said):
    assert said in fault_of(text)


def test_all_faults_of_several_logs_at_once():
    text = 'date = "2026-05-14"\n[[logs]]\nfile = "a.csv"\n[[logs]]\nfile = "b.csv"'
    assert len(fault_of(text).splitlines()) == 2


def test_hand_noted_points_reduce_without_any_log():
    legs = [
        (128.2252, 31.0, "09:00", "09:02"),
        (133.7362, 167.5, "09:05", "09:07"),
        (100.3640, 288.0, "09:10", "09:12"),
    ]
    text = 'date = "2026-05-14"\n' + "".join(
        f'[[points]]\nstart = "{a}"\nend = "{b}"\nindicated_airspeed = "112 kt"\n'
        'pressure_altitude = "4,000 ft"\n'
        f'outside_air_temperature = "9 °C"\nground_speed = "{gs} kt"\nground_track = "{track} °"\n'
        for gs, track, a, b in legs
    )
    reduction = reduce_flight(parse_flight(text, "f.toml", FOLDER))
    assert len(reduction.points) == 3
    assert all(p.condition.origin == "noted by hand" for p in reduction.points)
    assert reduction.points[0].readings.lines[0] > 1
    assert len(reduction.legs) == 1


def test_a_time_after_midnight_is_the_next_day(tmp_path):
    rows = "".join(
        f"{23 if i < 60 else 0:02d}:{59 if i < 60 else 0:02d}:{i % 60:02d},100\n" for i in range(120)
    )
    (tmp_path / "log.csv").write_text("time,ias\n" + rows, "utf-8")
    text = (
        'date = "2026-05-14"\n[[logs]]\nfile = "log.csv"\n[logs.clock]\ncolumns = ["time"]\n'
        'format = "%H:%M:%S"\n'
        '[logs.columns]\nindicated_airspeed = { column = "ias", unit = "kt" }\n'
    )
    (tmp_path / "f.toml").write_text(text, "utf-8")
    flight = read_flight(tmp_path / "f.toml")
    assert flight.time_s("00:00:30") == seconds("2026-05-15T00:00:30Z")
    assert flight.time_s("23:59:30") == seconds("2026-05-14T23:59:30Z")


def test_the_schema_is_json():
    schema = FlightFile.model_json_schema()
    assert json.loads(json.dumps(schema))["properties"]["logs"]
