"""IGC files built by the format's published layout (FAI, appendix A) read as they say."""

from datetime import date

import numpy as np
import pytest

from flyoff.core.problems import Problems
from flyoff.core.units import celsius, degree, km_h, kt
from flyoff.flights.igc import igc_date, read_igc_log
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, flight_of, seconds

DAY = date(2001, 7, 16)
# The fixed part's columns: B HHMMSS DDMMmmmN DDDMMmmmE V PPPPP GGGGG (A4.1).
FIX = "B{clock}5206343N00006198W{valid}{pressure:05d}{satellite:05d}{rest}"


def fix(clock="160240", valid="A", pressure=587, satellite=558, rest=""):
    return FIX.format(clock=clock, valid=valid, pressure=pressure, satellite=satellite, rest=rest)


def read(*lines, head=("AXXXABC", "HFDTE160701"), **more):
    return read_igc_log("\r\n".join([*head, *lines]).encode(), "log.igc", DAY, **more)


def test_a_fix_reads_as_the_format_lays_it_out():
    """52°06.343' N, 000°06.198' W, 587 m above 1013.25 hPa, 558 m by satellite, 16 July 2001, 16:02:40."""
    log = read(fix(), fix("160245"))
    assert log.time_s[0] == seconds("2001-07-16T16:02:40Z")
    assert log.channels["latitude"][0] / degree == pytest.approx(52 + 6.343 / 60)
    assert log.channels["longitude"][0] / degree == pytest.approx(-6.198 / 60)
    assert log.channels["pressure_altitude"][0] == 587
    assert log.channels["gps_altitude"][0] == 558
    assert log.lines.tolist() == [3, 4]
    assert not log.repairs


def test_optional_fields_stand_where_the_i_record_says():
    """Bytes count from 1 and take in both ends (A7): 36-38 fix accuracy, 39-41, 42-44 and 45-47."""
    rows = [fix(f"1602{40 + i}", rest=f"035{180 + i}{160 + i}{90 + i:03d}") for i in range(3)]
    log = read("I043638FXA3941TAS4244IAS4547TRT", *rows)
    assert log.channels["true_airspeed"] == pytest.approx(np.array([180, 181, 182]) * km_h)
    assert log.channels["indicated_airspeed"] == pytest.approx(np.array([160, 161, 162]) * km_h)
    assert log.channels["ground_track"] == pytest.approx(np.array([90, 91, 92]) * degree)


def test_the_flight_file_says_another_unit_or_it_is_said_that_there_is_none():
    from flyoff.flights.card import LogColumn

    rows = [fix(rest="100"), fix("160241", rest="101")]
    columns = {"true_airspeed": LogColumn(column="TAS", unit="kt")}
    assert read("I013638TAS", *rows, columns=columns).channels["true_airspeed"][0] == pytest.approx(100 * kt)
    with pytest.raises(Problems, match="no field 'VXA'"):
        read("I013638TAS", *rows, columns={"rpm": LogColumn(column="VXA", unit="rpm")})
    with pytest.raises(Problems, match="unknown unit"):
        read("I013638TAS", *rows, columns={"true_airspeed": LogColumn(column="TAS", unit="ft")})


def test_further_digits_of_position_time_and_speed():
    rows = [fix(rest="67" + "89" + "5" + "18025"), fix("160241", rest="00" + "00" + "0" + "18100")]
    log = read("I043637LAD3839LOD4040TDS4145TAS", *rows)
    assert log.channels["latitude"][0] / degree == pytest.approx(52 + 6.34367 / 60, abs=1e-9)
    assert log.channels["longitude"][0] / degree == pytest.approx(-6.19889 / 60, abs=1e-9)
    assert log.time_s[0] % 1 == pytest.approx(0.5)
    assert log.channels["true_airspeed"][0] == pytest.approx(180.25 * km_h)
    assert [r.kind for r in log.repairs] == ["assumed scale"]


def test_rare_readings_stand_at_their_fix():
    rows = [fix(f"1602{40 + i}") for i in range(5)]
    log = read("J010810OAT", *rows[:2], "K160241-05", *rows[2:], "K160244012")
    oat = log.channels["outside_air_temperature"]
    assert oat[1] == pytest.approx(celsius(-5))
    assert oat[4] == pytest.approx(celsius(12))
    assert np.isnan(oat[[0, 2, 3]]).all()


def test_a_void_fix_keeps_its_pressure_altitude_and_is_listed():
    log = read(fix(), fix("160241", valid="V", satellite=0), fix("160242"))
    assert np.isnan(log.channels["latitude"][1])
    assert np.isnan(log.channels["gps_altitude"][1])
    assert log.channels["pressure_altitude"][1] == 587
    assert [(r.kind, r.lines, r.count) for r in log.repairs] == [("no fix", (4, 4), 1)]


def test_below_the_datum_and_without_a_pressure_sensor():
    below = [fix(f"1602{40 + i}").replace("00587", "-0042") for i in range(2)]
    assert read(*below).channels["pressure_altitude"].tolist() == [-42, -42]
    none = [fix(f"1602{40 + i}", pressure=0) for i in range(2)]
    assert "pressure_altitude" not in read(*none).channels


def test_midnight_and_both_ways_to_write_the_date():
    log = read(fix("235959"), fix("000000"), head=["AXXX", "HFDTEDATE:160701,01"])
    assert np.diff(log.time_s).tolist() == [1.0]
    assert igc_date(b"HFDTE:310201\n") is None
    assert igc_date(b"AXXX\nHFDTE010299\n") == date(1999, 2, 1)


def test_a_cut_line_is_left_out_and_said():
    log = read(fix(), fix("160241"), fix("160242")[:20])
    assert len(log) == 2
    assert [(r.kind, r.lines) for r in log.repairs] == [("malformed row", (5, 5))]


@pytest.mark.parametrize("data", [b"", b"AXXX\n", b"B\n" * 5, bytes(range(256)), fix().encode()])
def test_what_is_no_igc_file_is_said(data):
    with pytest.raises(Problems, match=r"B records?; expected at least 2, one for each fix"):
        read_igc_log(data, "log.igc", DAY)


def _as_igc(log):
    """Write a log's positions, height and airspeed by the format, K records for the temperature."""
    lines = ["AXXXABC", "HFDTEDATE:140526,01", "I033637LAD3839LOD4042IAS", "J010811OAT"]
    fields = [log.channels[n] for n in ("latitude", "longitude", "pressure_altitude", "gps_altitude")]
    ias = log.channels["indicated_airspeed"] / km_h
    oat = log.channels["outside_air_temperature"] - celsius(0)
    for i, time_s in enumerate(log.time_s):
        lat, lon, pressure, satellite = (float(f[i]) for f in fields)
        if np.isnan([lat, lon, pressure, satellite, ias[i]]).any():
            continue
        second = round(time_s) % 86400
        clock = f"{second // 3600:02d}{second // 60 % 60:02d}{second % 60:02d}"
        north, east = (divmod(round(v / degree * 60 * 1e5), 60 * 10**5) for v in (lat, lon))
        lines.append(
            f"B{clock}{north[0]:02d}{north[1] // 100:05d}N{east[0]:03d}{east[1] // 100:05d}EA"
            f"{round(pressure):05d}{round(satellite):05d}"
            f"{north[1] % 100:02d}{east[1] % 100:02d}{round(ias[i]):03d}"
        )
        if i % 10 == 0 and not np.isnan(oat[i]):
            lines.append(f"K{clock}{round(oat[i] * 10):+04d}")
    return "\r\n".join(lines) + "\r\n"


def test_a_flight_reduces_from_its_igc_file_as_from_its_table(tmp_path):
    """The simulated flight, written by the layout: the same leg groups, true airspeed within 0.6 kt."""
    (tmp_path / "flight.igc").write_text(_as_igc(flight_of("sample.csv").logs[0]), "ascii")
    text = propose(tmp_path / "flight.igc")
    assert 'format = "igc"' in text
    assert 'date = "2026-05-14"' in text
    groups = reduce_flight(parse_flight(text, "f.toml", tmp_path)).legs
    whole = reduce_flight(parse_flight(propose(FOLDER / "sample.csv"), "f.toml", FOLDER)).legs
    pairs = [(a, b) for a in groups for b in whole if abs(a.start_s - b.start_s) < 60]
    assert len(pairs) == 2
    for a, b in pairs:
        assert abs(a.solution.true_airspeed.value - b.solution.true_airspeed.value) < 0.6 * kt
        assert abs(a.solution.wind_speed.value - b.solution.wind_speed.value) < 1.5 * kt
