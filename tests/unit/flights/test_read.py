"""Flight files: what they may say, and what is said of those that say something else."""

import json

import pytest

from flyoff.core.problems import Problems
from flyoff.core.units import hp
from flyoff.flights.card import FlightFile
from flyoff.flights.read import parse_flight, read_flight
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, seconds, write_flight


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


def test_a_hand_noted_point_has_its_fuel_flow_and_power():
    text = (
        'date = "2026-05-14"\n[[points]]\nstart = "09:00"\nend = "09:02"\nindicated_airspeed = "112 kt"\n'
        'pressure_altitude = "4,000 ft"\noutside_air_temperature = "9 °C"\nfuel_flow = "34.0 L/h"\n'
        'power_percent = "65 %"\n[airplane]\nrated_power = "160 hp"\n'
    )
    reduction = reduce_flight(parse_flight(text, "f.toml", FOLDER))
    [point] = reduction.points
    assert point.fuel_flow.value == pytest.approx(34.0e-3 / 3600)
    assert point.readings.mean("power_percent").value == pytest.approx(0.65)
    [engine] = reduction.standard.engine
    assert engine.powers.best.power_w.value == pytest.approx(0.65 * 160 * hp)


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


def logged(folder, rows, head="", clock='columns = ["time"]', file="log.csv", tail=""):
    (folder / "log.csv").write_text("time,ias\n" + "".join(f"{row},100\n" for row in rows), "utf-8")
    return (
        f'date = "2026-06-02"\n{head}\n[[logs]]\nfile = "{file}"\n[logs.clock]\n{clock}\n[logs.columns]\n'
        f'indicated_airspeed = {{ column = "ias", unit = "kt" }}\n{tail}'
    )


MINUTE = [f"2026-06-02T10:00:{i:02d}Z" for i in range(60)]


def test_a_log_of_another_year_is_said(tmp_path):
    text = logged(tmp_path, MINUTE).replace("2026-06-02", "2025-06-02")
    assert "f.toml:1: date: 2025-06-02, but 'log.csv' was recorded from 2026-06-02" in fault_of(
        text, tmp_path
    )


@pytest.mark.parametrize(
    ("day", "is_said"), [("2026-05-31", True), ("2026-06-01", False), ("2026-06-03", True)]
)
def test_a_log_of_another_day_is_said_where_no_local_date_is_that(tmp_path, day, is_said):
    """10:00 UTC is the evening before 11 hours behind, and not yet the day after 13 hours ahead."""
    text = logged(tmp_path, MINUTE).replace("2026-06-02", day)
    if is_said:
        assert f"date: {day}, but" in fault_of(text, tmp_path)
    else:
        parse_flight(text, "f.toml", tmp_path)


def test_day_and_month_swapped_in_the_clock_are_said_there(tmp_path):
    rows = [f"02-06-2026 10:00:{i:02d}" for i in range(60)]
    text = logged(tmp_path, rows, clock='columns = ["time"]\nformat = "%m-%d-%Y %H:%M:%S"')
    said = fault_of(text, tmp_path)
    assert said.startswith(
        "f.toml:7: logs.0.clock.format: date = 2026-06-02, but 'log.csv' was recorded from 2026-02-06"
    )
    assert "day and month the other way round" in said
    assert len(parse_flight(text.replace("%m-%d", "%d-%m"), "f.toml", tmp_path).logs[0]) == 60


def test_a_log_of_two_dates_is_said(tmp_path):
    rows = MINUTE + [row.replace("06-02T10", "06-05T14") for row in MINUTE]
    said = fault_of(logged(tmp_path, rows), tmp_path)
    assert (
        "log.csv:62: no rows from 2026-06-02T10:00:59Z to 2026-06-05T14:00:00Z; expected one flight" in said
    )


def test_a_log_in_reverse_is_said(tmp_path):
    said = fault_of(logged(tmp_path, MINUTE[::-1]), tmp_path)
    assert "the clock runs backwards in 59 of 60 rows; expected rows in order of time" in said


@pytest.mark.parametrize(
    ("tail", "said"),
    [
        ('[[notes]]\nat = "27:99"\ntext = "x"', "notes.0.at: '27:99' is no time; expected HH:MM:SS"),
        ('[instruments]\noat_recovery = "130 %"', "instruments.oat_recovery: 130 %; expected 0 % to 120 %"),
        ('[instruments]\noat_recovery = "-10 %"', "expected 0 % to 120 %"),
        ('[[conditions]]\nstart = "10:00:40"\nend = "10:00:10"\ndecision = "reject"',
         "conditions.0.end: '10:00:10' is before the start, '10:00:40'"),
        ('[[points]]\nstart = "10:00:40"\nend = "10:00:10"\nrpm = "2400 rpm"',
         "points.0.end: '10:00:10' is before the start"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_at_its_line(tmp_path, tail, said):
    fault = fault_of(logged(tmp_path, MINUTE, tail=tail), tmp_path)
    assert said in fault
    line = int(fault.split(":")[1])
    key = said.split(":")[0].split(".")[-1]
    assert line > 8 and (key not in {"at", "end"} or line >= 10)


def test_a_note_with_its_time_reads(tmp_path):
    tail = '[[notes]]\nat = "10:00"\ntext = "x"\n[[notes]]\ntext = "y"'
    assert len(parse_flight(logged(tmp_path, MINUTE, tail=tail), "f.toml", tmp_path).card.notes) == 2


@pytest.mark.parametrize("file", ["/etc/passwd", "../log.csv", "sub/../../log.csv"])
def test_a_log_outside_the_flight_s_folder_is_refused(tmp_path, file):
    inner = tmp_path / "flights"
    inner.mkdir()
    logged(tmp_path, MINUTE)
    said = fault_of(logged(inner, MINUTE, file=file), inner)
    assert f"f.toml:4: logs.0.file: '{file}' is outside the flight's folder; expected a file beside" in said


def test_links_are_followed_and_judged(tmp_path):
    inner = tmp_path / "flights"
    inner.mkdir()
    (inner / "out.csv").symlink_to("/etc/passwd")
    (inner / "loop.csv").symlink_to("loop.csv")
    (inner / "in.csv").symlink_to("log.csv")
    assert "is outside the flight's folder" in fault_of(logged(inner, MINUTE, file="out.csv"), inner)
    assert "f.toml:4: logs.0.file: 'loop.csv' leads nowhere" in fault_of(
        logged(inner, MINUTE, file="loop.csv"), inner
    )
    assert parse_flight(logged(inner, MINUTE, file="in.csv"), "f.toml", inner).logs


@pytest.mark.parametrize(
    ("log", "said"),
    [
        ("time,ias\n2026-06-02T10:00:00Z,100\n", "log.csv: 1 row with a time; expected at least 2"),
        ("time,ias\n", "log.csv: 0 rows with a time"),
        ("time\n1\n2\n", "log.csv:1: 1 column in the header; expected several"),
    ],
)
def test_one_is_not_many(tmp_path, log, said):
    text = logged(tmp_path, MINUTE)
    (tmp_path / "log.csv").write_text(log, "utf-8")
    assert said in fault_of(text, tmp_path)


def test_an_unknown_kind_of_point_is_said_once(tmp_path):
    tail = '[[points]]\nstart = "10:00:10"\nend = "10:00:40"\nkind = "turn"'
    said = fault_of(logged(tmp_path, MINUTE, tail=tail), tmp_path)
    assert said == "f.toml:12: points.0.kind: found 'turn'; expected 'level', 'climb', 'descent' or 'stall'"


def test_a_log_s_problem_is_named_with_the_folder_of_its_flight_file(tmp_path):
    text = write_flight(
        tmp_path,
        "time,ias\n2026-05-14T09:00:00Z,100\n",
        'indicated_airspeed = { column = "ias", unit = "kt" }',
    )
    with pytest.raises(Problems) as caught:
        parse_flight(text, "flights/f.toml", tmp_path)
    assert str(caught.value).startswith("flights/log.csv")
