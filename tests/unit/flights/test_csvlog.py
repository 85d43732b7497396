"""Separated logs: each fault of a file or a mapping is a clear word, and nothing is lost silently."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flyoff.core.problems import Problems
from flyoff.core.units import kt
from flyoff.flights.read import Flight, parse_flight
from helpers.flights import write_flight

IAS = 'indicated_airspeed = { column = "ias", unit = "kt" }'


def rows(count=20, start=0, ias=100.0):
    return [f"2026-05-14T09:{i // 60:02d}:{i % 60:02d}Z,{ias + i % 3}" for i in range(start, start + count)]


def text_of(lines, header="time,ias"):
    return "\n".join([header, *lines]) + "\n"


def read(folder, log, columns=IAS, clock="", spec="") -> Flight:
    return parse_flight(write_flight(folder, log, columns, clock, spec), "f.toml", folder)


def fault_of(folder, log, columns=IAS, clock="", spec="") -> str:
    with pytest.raises(Problems) as caught:
        read(folder, log, columns, clock, spec)
    return str(caught.value)


def test_a_plain_log_reads_in_si_with_its_lines(tmp_path):
    log = read(tmp_path, text_of(rows())).logs[0]
    assert len(log) == 20
    assert log.channels["indicated_airspeed"][:3] == pytest.approx([100 * kt, 101 * kt, 102 * kt])
    assert log.lines[0] == 2
    assert log.lines[-1] == 21
    assert not log.repairs


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "the file is empty"),
        (b"   \n", "the file is empty"),
        (b"time,ias\n\0\0\0,1\n", "NUL byte"),
        (bytes(range(256)), "NUL bytes: a binary file; expected a text log"),
        ("time,ias\n".encode("utf-16"), "UTF-16, not UTF-8 text"),
        (b"\x80" + bytes(range(1, 256)), "is not UTF-8 text"),
        ("time,ias\n2026-05-14T09:00:00Z,10°\n".encode("latin-1"), "is not UTF-8 text"),
        (b"time,ias\n2026-05-14T09:00:00Z,100\n", "one row makes no flight"),
        (b"time,ias\n", "expected at least 2"),
        (b"one column\n1\n2\n", "1 column in the header"),
        (b"time,ias,ias\n2026-05-14T09:00:00Z,1,2\n2026-05-14T09:00:01Z,1,2\n", "appears twice"),
        (
            b'time,ias\n2026-05-14T09:00:00Z,"1\n00"\n2026-05-14T09:00:01Z,101\n2026-05-14T09:00:02Z,101\n',
            "cell",
        ),
    ],
)
def test_what_is_no_log_is_said(tmp_path, data, said):
    assert said in fault_of(tmp_path, data)


def test_a_missing_file_is_said(tmp_path):
    toml = write_flight(tmp_path, "x", IAS)
    (tmp_path / "log.csv").unlink()
    with pytest.raises(Problems, match="no such file"):
        parse_flight(toml, "f.toml", tmp_path)


def test_a_file_too_large_is_said_without_reading_it(tmp_path):
    toml = write_flight(tmp_path, text_of(rows()), IAS)
    with (tmp_path / "log.csv").open("r+b") as stream:
        stream.truncate(2 * 1024**3)
    with pytest.raises(Problems, match="too large"):
        parse_flight(toml, "f.toml", tmp_path)


def test_all_faults_of_a_mapping_at_once_with_near_misses(tmp_path):
    columns = "\n".join(
        [
            'indicated_airspeed = { column = "ais", unit = "kt" }',
            'pressure_altitud = { column = "ias", unit = "ft" }',
            'rpm = { column = "ias", unit = "rpmm" }',
        ]
    )
    said = fault_of(tmp_path, text_of(rows()), columns, 'columns = ["tiem"]')
    assert "the log has no column 'ais'" in said
    assert "did you mean 'ias'?" in said
    assert "unknown channel" in said
    assert "did you mean 'pressure_altitude'?" in said
    assert "unknown unit 'rpmm'" in said
    assert "did you mean 'time'?" in said
    assert all(line.startswith("f.toml:") for line in said.splitlines())


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ('indicated_airspeed = { column = "ias", unit = "m/s" }', "cannot be"),
        ('outside_air_temperature = { column = "ias", unit = "°C" }', "cannot be"),
        ('manifold_pressure = { column = "ias", unit = "psi" }', "cannot be"),
        ("", "no columns are mapped"),
    ],
)
def test_a_unit_that_cannot_be_is_said(tmp_path, columns, said):
    assert said in fault_of(tmp_path, text_of(rows(ias=300.0)), columns)


@pytest.mark.parametrize(
    ("clock", "said"),
    [
        ('columns = ["time"]\nformat = "isoo"', "unknown clock format"),
        ('columns = ["time"]\nformat = "%H:%M:%S"', "is not a time written as"),
        ('columns = ["time"]\nzone = "Mars"', "unknown zone"),
    ],
)
def test_a_clock_that_does_not_fit_is_said(tmp_path, clock, said):
    assert said in fault_of(tmp_path, text_of(rows()), clock=clock)


def test_bad_cells_are_listed_with_line_and_text(tmp_path):
    lines = rows()
    lines[4] = lines[4].rpartition(",")[0] + ",10O.5"
    log = read(tmp_path, text_of(lines)).logs[0]
    assert np.isnan(log.channels["indicated_airspeed"][4])
    said = next(r for r in log.repairs if r.kind == "unreadable cell")
    assert said.lines == (6, 6)
    assert "line 6 '10O.5'" in said.why


def test_a_column_of_the_wrong_decimal_mark_is_said(tmp_path):
    log = text_of([line.replace(",", ";").replace(".", ",") for line in rows(ias=100.5)], "time;ias")
    assert "is not a number" in fault_of(tmp_path, log, spec='separator = ";"')
    read(tmp_path, log, spec='separator = ";"\ndecimal = ","')


def test_short_and_long_rows_are_left_out_and_listed(tmp_path):
    lines = rows(40)
    lines[3] += ",7"
    lines[-1] = lines[-1][:8]
    log = read(tmp_path, text_of(lines)[:-1]).logs[0]
    assert len(log) == 38
    assert [(r.lines[0], r.why) for r in log.repairs if r.kind == "malformed row"] == [
        (5, "left out: it has too many or too few cells"),
        (41, "left out: the last line is cut short"),
    ]


def test_too_many_malformed_rows_are_a_problem(tmp_path):
    assert "expected 2 cells" in fault_of(tmp_path, text_of([line + ",1" for line in rows()]))


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_encodings_and_line_ends(tmp_path, encoding, ending):
    data = text_of(rows()).replace("\n", ending).encode(encoding)
    spec = f'encoding = "{encoding.removesuffix("-sig")}"'
    log = read(tmp_path, data, spec=spec).logs[0]
    assert len(log) == 20
    assert log.lines[-1] == 21


def test_preamble_units_line_padding_quotes_and_blank_lines(tmp_path):
    lines = ["some recorder", "", "time, ias", "utc, kt"]
    lines += [line.replace(",", " ,  ") for line in rows()]
    lines.insert(8, "")
    lines[10] = lines[10].partition(" ")[0] + ',"104"'
    spec = "header_line = 3\nfirst_line = 5"
    log = read(tmp_path, "\n".join(lines), spec=spec).logs[0]
    assert len(log) == 20
    assert log.lines[0] == 5
    assert log.lines[4] == 10
    assert 104 * kt in log.channels["indicated_airspeed"]


def test_blank_words_are_blanks_not_faults(tmp_path):
    lines = rows()
    for i, word in enumerate(["", "NaN", "N/A", "--"]):
        lines[2 + 2 * i] = lines[2 + 2 * i].rpartition(",")[0] + "," + word
    log = read(tmp_path, text_of(lines)).logs[0]
    assert np.isnan(log.channels["indicated_airspeed"]).sum() == 4
    assert {r.kind for r in log.repairs} == {"blank"}


def test_rows_before_the_first_fix_without_a_time_are_listed(tmp_path):
    log = read(tmp_path, text_of([",", ",", *rows()])).logs[0]
    assert len(log) == 20
    assert next(r for r in log.repairs if r.kind == "row without time").lines == (2, 3)


def test_midnight_passes(tmp_path):
    lines = [
        f"{(86390 + i) // 3600 % 24:02d}:{(86390 + i) // 60 % 60:02d}:{(86390 + i) % 60:02d},100"
        for i in range(20)
    ]
    clock = 'columns = ["time"]\nformat = "%H:%M:%S"\nzone = "+00:00"'
    log = read(tmp_path, text_of(lines), clock=clock).logs[0]
    assert np.diff(log.time_s) == pytest.approx(1.0)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=400))
def test_any_bytes_read_or_are_said(tmp_path, data):
    try:
        read(tmp_path, b"time,ias\n" + data)
    except Problems:
        return


cells = st.one_of(st.text("0123456789.,-;\"'NaN \t", max_size=8), st.sampled_from(rows(5)))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(cells, max_size=4), max_size=12))
def test_any_table_reads_or_is_said(tmp_path, table):
    lines = rows(30) + [",".join(row) for row in table]
    try:
        log = read(tmp_path, text_of(lines)).logs[0]
    except Problems:
        return
    assert (np.diff(log.time_s) > 0).all()
    assert len(log) + sum(r.count for r in log.repairs) >= 30


def test_a_mapping_fault_points_at_its_own_line(tmp_path):
    columns = f'rpm = {{ column = "rpm", unit = "rpm" }}\n{IAS.replace("kt", "m")}'
    said = fault_of(tmp_path, text_of(rows()), columns, 'columns = ["time"]\nformat = "isoo"\nzone = "X"')
    assert "f.toml:7: logs.0.clock.format: unknown clock format" in said
    assert "f.toml:8: logs.0.clock.zone: unknown zone" in said
    assert "f.toml:10: logs.0.columns.rpm.column: the log has no column" in said
    assert "f.toml:11: logs.0.columns.indicated_airspeed.unit: unknown unit" in said
