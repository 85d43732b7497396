"""Large logs read in parts give what they give whole, and what is too large or another day's is said."""

from datetime import datetime, timedelta

import numpy as np
import pytest

from flyoff.core.problems import Problems
from flyoff.flights import load
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, reduction_of, write_flight

IAS = 'indicated_airspeed = { column = "ias", unit = "kt" }'


@pytest.fixture
def in_parts(monkeypatch):
    monkeypatch.setattr(load, "LARGEST_WHOLE", 50_000)
    monkeypatch.setattr(load, "PART", 60_000)


@pytest.mark.parametrize("name", ["sample.csv", "sample.metric.csv"])
def test_in_parts_as_whole(in_parts, name):
    parts = reduce_flight(parse_flight(propose(FOLDER / name), name, FOLDER))
    assert any(r.kind == "averaged" for _, r in parts.repairs)
    whole = reduction_of(name)
    data, expected = reduction_data(parts), reduction_data(whole)
    assert [p["kind"] for p in data["points"]] == [p["kind"] for p in expected["points"]]
    for a, b in zip(data["legs"], expected["legs"], strict=True):
        assert a["tas_kt"] == pytest.approx(b["tas_kt"], abs=0.1)
    kinds = {(r.kind, r.channel) for _, r in whole.repairs} - {("stuck sensor", "pressure_altitude")}
    assert kinds <= {(r.kind, r.channel) for _, r in parts.repairs}


def test_lines_are_those_of_the_file(in_parts):
    log = parse_flight(propose(FOLDER / "sample.csv"), "f", FOLDER).logs[0]
    rows = (FOLDER / "sample.csv").read_text("utf-8").splitlines()
    for i in range(0, len(log), 397):
        stamp = datetime.fromtimestamp(log.time_s[i], tz=None).astimezone().isoformat()
        told = rows[log.lines[i] - 1].split(",")[0]
        assert datetime.fromisoformat(told.replace("Z", "+00:00")).timestamp() == pytest.approx(
            log.time_s[i], abs=1.0
        ), stamp


def _fast(rows, hertz, start="2026-05-14T23:59:00"):
    begin = datetime.fromisoformat(start)
    lines = []
    for i in range(rows):
        t = begin + timedelta(seconds=i / hertz)
        lines.append(f"{t.isoformat(timespec='milliseconds')}Z,{100 + i % 5}")
    return "time,ias\n" + "\n".join(lines) + "\n"


def test_fast_rows_are_averaged_to_seconds(in_parts, tmp_path):
    toml = write_flight(tmp_path, _fast(20_000, 50), IAS)
    log = parse_flight(toml, "f.toml", tmp_path).logs[0]
    assert len(log) == pytest.approx(400, abs=3)
    assert np.diff(log.time_s) == pytest.approx(1.0, abs=0.05)
    assert log.channels["indicated_airspeed"][5] == pytest.approx(102 * 1852 / 3600, abs=0.01)
    [said] = [r for r in log.repairs if r.kind == "averaged"]
    assert said.count == 20_000


def test_a_time_of_day_runs_on_over_midnight_between_parts(in_parts, tmp_path):
    text = _fast(20_000, 50).replace("2026-05-14T", "").replace("2026-05-15T", "").replace("Z,", ",")
    toml = write_flight(tmp_path, text, IAS, 'columns = ["time"]\nformat = "%H:%M:%S"')
    log = parse_flight(toml, "f.toml", tmp_path).logs[0]
    assert log.time_s[-1] - log.time_s[0] == pytest.approx(399, abs=1.5)


def test_too_long_a_log_and_a_large_file_in_another_encoding_are_said(in_parts, tmp_path, monkeypatch):
    monkeypatch.setattr(load, "MOST_ROWS", 200)
    toml = write_flight(tmp_path, _fast(20_000, 50), IAS)
    with pytest.raises(Problems, match="more than 200 seconds of readings up to line"):
        parse_flight(toml, "f.toml", tmp_path)
    toml = write_flight(tmp_path, _fast(20_000, 50).encode("utf-16"), IAS, spec='encoding = "utf-16"')
    with pytest.raises(Problems, match="a large file in UTF-16"):
        parse_flight(toml, "f.toml", tmp_path)


def test_a_large_file_that_is_no_text_is_said(in_parts, tmp_path):
    toml = write_flight(tmp_path, b"time,ias\n" + bytes(200_000), IAS)
    with pytest.raises(Problems, match="NUL byte"):
        parse_flight(toml, "f.toml", tmp_path)


def test_a_log_of_another_day_is_said(tmp_path):
    toml = write_flight(tmp_path, _fast(100, 1, "2019-02-03T10:00:00"), IAS)
    with pytest.raises(Problems, match=r"2026-05-14, but .* was recorded from 2019-02-03 to 2019"):
        parse_flight(toml, "f.toml", tmp_path)
    flight = parse_flight(toml.replace("2026-05-14", "unknown"), "f.toml", tmp_path)
    assert flight.date_known
    assert flight.date.isoformat() == "2019-02-03"


def test_the_evening_before_by_universal_time_is_the_same_flight(tmp_path):
    toml = write_flight(tmp_path, _fast(100, 1, "2026-05-13T23:30:00"), IAS)
    assert parse_flight(toml, "f.toml", tmp_path).logs
