"""Logs of one flight come onto one clock, or are refused with the reason."""

from dataclasses import replace

import numpy as np
import pytest

from flyoff.core.units import degree, ft, kt, rpm
from flyoff.flights.merge import align, merge_logs
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, REAL, flight_of, made_log

CARDED = REAL.parent / "carded"


def only(log, *names):
    return replace(log, channels={name: log.channels[name] for name in names})


def moved(log, seconds_):
    return replace(log, time_s=log.time_s + seconds_)


@pytest.fixture(scope="module")
def sample():
    return flight_of("sample.csv").logs[0]


@pytest.fixture(scope="module")
def track():
    return flight_of("sample.gpx").logs[0]


@pytest.mark.parametrize("shift_s", [0.0, -37.4, 12.7, 5400.25, -1e8])
def test_the_offset_comes_back(sample, track, shift_s):
    merge = align(sample, moved(track, shift_s))
    assert not merge.refused
    assert merge.offset_s == pytest.approx(-shift_s, abs=0.1)
    assert abs(merge.offset_s + shift_s) < 1.96 * merge.u_s
    assert "velocity" in merge.shared


def test_intervals_of_the_offset_hold_the_truth(sample, track):
    shifts = np.random.default_rng(5).uniform(-600, 600, 25)
    merges = [align(sample, moved(track, shift)) for shift in shifts]
    held = [abs(m.offset_s + s) < 1.96 * m.u_s for m, s in zip(merges, shifts, strict=True)]
    assert np.mean(held) >= 0.92


@pytest.mark.parametrize(
    ("ours", "theirs", "within_s"),
    [
        (("pressure_altitude", "rpm"), ("gps_altitude",), 0.5),
        (("magnetic_heading", "rpm"), ("ground_track",), 2.0),
        (("pressure_altitude", "magnetic_heading"), ("gps_altitude", "ground_track"), 0.5),
    ],
)
def test_unlike_channels_of_one_motion_serve_too(sample, track, ours, theirs, within_s):
    merge = align(only(sample, *ours), only(moved(track, -37.4), *theirs))
    assert not merge.refused
    assert abs(merge.offset_s - 37.4) < min(within_s, 1.96 * merge.u_s)


def test_what_shares_nothing_is_refused(sample, track):
    assert "share nothing" in align(only(sample, "rpm"), only(track, "gps_altitude")).refused
    still = made_log(600, gps_altitude=1000.0)
    assert "share nothing" in align(sample, still).refused
    assert "overlap" in align(sample, track.where(np.arange(len(track)) < 100)).refused


def test_another_flight_is_refused(sample):
    other = flight_of("carded.csv").logs[0]
    assert "do not agree at any offset" in align(sample, other).refused
    elsewhere = {**sample.channels, "latitude": sample.channels["latitude"] + 1 * degree}
    assert "km apart: another flight" in align(sample, replace(sample, channels=elsewhere)).refused


def test_a_motion_that_repeats_leaves_the_offset_open():
    swing = 500 * ft * np.sin(2 * np.pi * np.arange(1800) / 120)
    log = made_log(1800, pressure_altitude=1000 + swing)
    assert "two offsets fit as well" in align(log, log.where(np.arange(1800) < 900)).refused


def test_channels_come_from_the_log_that_has_them(sample, track):
    engine = only(sample, "indicated_airspeed", "pressure_altitude", "magnetic_heading", "rpm")
    (whole,), (merge,) = merge_logs((moved(track, -37.4), engine))
    assert merge.onto == "sample.csv"
    assert set(merge.channels) == {"latitude", "longitude", "gps_altitude", "ground_speed", "ground_track"}
    apart = np.abs(whole.channels["ground_speed"] - sample.channels["ground_speed"])
    assert np.nanmedian(apart) < 0.5 * kt
    [said] = [r for r in whole.repairs if r.kind == "merged"]
    assert "clock is moved by +37.4" in said.why


def test_nothing_is_bridged_where_the_other_log_has_a_gap(sample, track):
    t = np.arange(len(track))
    (whole,), _ = merge_logs((only(sample, "indicated_airspeed", "pressure_altitude", "rpm"),
                              track.where((t < 1000) | (t > 1100))))  # fmt: skip
    assert np.isnan(whole.channels["latitude"][1010:1090]).all()


def test_the_coarser_log_gives_way():
    t = np.arange(900)
    speed = 100 + 15 * np.sin(t / 97) + 5 * np.sin(t**2 / 9000)
    fine = made_log(900, indicated_airspeed=np.round(speed, 1) * kt)
    coarse = made_log(900, indicated_airspeed=np.round(speed / 5) * 5 * kt, rpm=2300 * rpm)
    coarse, fine = replace(coarse, resolution={"indicated_airspeed": 5 * kt}), replace(
        fine, name="fine.csv", resolution={"indicated_airspeed": 0.1 * kt}
    )  # fmt: skip
    (whole,), (merge,) = merge_logs((coarse, fine))
    assert merge.channels == ("indicated_airspeed",)
    assert whole.resolution["indicated_airspeed"] == 0.1 * kt


def test_a_flight_with_two_logs_is_one_flight(tmp_path):
    """Through the files: a table without its satellite columns, and the track with a clock 37.4 s behind."""
    table = propose(FOLDER / "sample.csv")
    wanted = [line for line in table.splitlines()
              if not line.startswith(("latitude", "longitude", "ground_", "gps_"))]  # fmt: skip
    gpx = (FOLDER / "sample.gpx").read_text("utf-8")
    (tmp_path / "sample.gpx").write_text(_shifted(gpx, -37.4), "utf-8")
    (tmp_path / "sample.csv").write_bytes((FOLDER / "sample.csv").read_bytes())
    text = "\n".join([*wanted, '[[logs]]\nfile = "sample.gpx"\nformat = "gpx"\n'])
    reduction = reduce_flight(parse_flight(text, "f.toml", tmp_path))
    data = reduction_data(reduction)
    [merge] = data["merges"]
    assert abs(merge["offset_s"] - 37.4) < merge["offset_s_u95"]
    assert merge["refused"] is None
    assert len(data["points"]) == len(reduction_data(reduce_flight(flight_of("sample.csv")))["points"])
    assert sorted(round(g["tas_kt"]) for g in data["legs"] if g["tas_kt"]) == [137, 139]


def _shifted(gpx, seconds_):
    import re
    from datetime import datetime, timedelta

    def move(match):
        moment = datetime.fromisoformat(match[1]) + timedelta(seconds=seconds_)
        return f"<time>{moment.isoformat(timespec='milliseconds')}Z</time>"

    return re.sub(r"<time>([^<]*)Z</time>", move, gpx)


@pytest.mark.skipif(not CARDED.is_dir(), reason="the second flight's track is not here")
def test_the_second_flight_with_its_track():
    text = propose(CARDED / "log.csv") + '\n[[logs]]\nfile = "track.gpx"\nformat = "gpx"\n'
    [merge] = parse_flight(text, "f.toml", CARDED).merges
    assert not merge.refused
    assert abs(merge.offset_s) < 0.1
