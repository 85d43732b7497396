"""Faults put into the simulated flight: answers stay within what is asked, or are refused, and it is said."""

from dataclasses import replace

import numpy as np
import pytest

from flyoff.core.units import kt
from flyoff.flights.log import utc
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.flights.repairs import repair
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER, flight_of, reduction_of


def reduced(change):
    flight = flight_of("sample.csv")
    log = flight.logs[0]
    channels = {name: values.copy() for name, values in log.channels.items()}
    spans = [(p.condition.start_s, p.condition.end_s) for p in reduction_of("sample.csv").points]
    change(log.time_s, channels, spans)
    return reduce_flight(replace(flight, logs=(repair(replace(log, channels=channels)),)))


def held(reduction):
    """Return the groups; each is within 0.6 kt of the undisturbed answer, or refused."""
    sound = reduction_of("sample.csv").legs
    for group in reduction.legs:
        near = min(sound, key=lambda g: abs(g.start_s - group.start_s))
        if not group.refused:
            apart = group.solution.true_airspeed.value - near.solution.true_airspeed.value
            assert abs(apart) < 0.6 * kt
    return [group for group in reduction.legs if not group.refused]


def _first_leg():
    reduction = reduction_of("sample.csv")
    condition = reduction.points[reduction.legs[1].members[0]].condition
    return condition.start_s, condition.end_s


def test_a_position_frozen_into_a_leg():
    start, end = _first_leg()

    def freeze(time_s, channels, spans):
        inside = (time_s >= start - 20) & (time_s <= start + 0.4 * (end - start))
        for name in ("latitude", "longitude", "ground_speed", "ground_track", "gps_altitude"):
            channels[name][inside] = channels[name][inside][0]

    reduction = reduced(freeze)
    assert any(r.kind == "frozen position" for _, r in reduction.repairs)
    assert len(held(reduction)) >= 1


@pytest.mark.parametrize(("step_kt", "step_deg", "step_k"), [(1.0, 1.0, 1.0)])
def test_coarse_readings(step_kt, step_deg, step_k):
    def round_off(time_s, channels, spans):
        for name in ("ground_speed", "indicated_airspeed"):
            channels[name][:] = np.round(channels[name] / (step_kt * kt)) * step_kt * kt
        channels["ground_track"][:] = np.radians(
            np.round(np.degrees(channels["ground_track"]) / step_deg) * step_deg
        )
        channels["outside_air_temperature"][:] = (
            np.round(channels["outside_air_temperature"] / step_k) * step_k
        )

    assert len(held(reduced(round_off))) >= 1


def test_stale_spikes_blanks_and_a_stuck_sensor_together():
    rng = np.random.default_rng(9)

    def spoil(time_s, channels, spans):
        for name in ("ground_speed", "indicated_airspeed", "pressure_altitude"):
            at = rng.choice(len(time_s), 40, replace=False)
            channels[name][at] *= 1.8
            channels[name][rng.choice(len(time_s), 60, replace=False)] = np.nan
        channels["ground_track"][rng.choice(len(time_s), 30, replace=False)] = np.radians(-1.0)

    reduction = reduced(spoil)
    kinds = {r.kind for _, r in reduction.repairs}
    assert {"spike", "blank", "no course"} <= kinds
    assert len(held(reduction)) == 2


def test_positions_that_run_fast_are_said():
    """The simulated recorder's east-west positions run 0.3 % fast for its ground speed."""
    [said] = [w for w in reduction_of("sample.csv").warnings if "positions run" in w]
    assert "east-west positions run +0.3" in said


def test_the_hand_s_edits_are_told_with_what_was_there():
    condition = reduction_of("sample.csv").points[0].condition
    start, end = utc(condition.start_s + 20), utc(condition.end_s - 10)
    other = reduction_of("sample.csv").points[4].condition
    edits = (
        f'\n[[conditions]]\nstart = "{start}"\nend = "{end}"\ndecision = "accept"\nwhy = "traffic before"\n'
        f'[[conditions]]\nstart = "{utc(other.start_s)}"\nend = "{utc(other.end_s)}"\ndecision = "reject"\n'
        '[[conditions]]\nstart = "03:00:00"\nend = "03:05:00"\ndecision = "accept"\n'
    )
    data = reduction_data(reduce_flight(parse_flight(propose(FOLDER / "sample.csv") + edits, "f", FOLDER)))
    [moved] = [p for p in data["points"] if p["start_utc"] == start]
    assert moved["origin"] == "accepted by hand"
    assert "ends moved from" in moved["origin_note"] and "traffic before" in moved["origin_note"]
    assert [len(e["found_there"]) for e in data["edits"]] == [1, 1, 0]
    assert not [p for p in data["points"] if p["start_utc"] == utc(other.start_s)]
    assert any("03:00:00 to 03:05:00 lies outside every log" in w for w in data["warnings"])


def test_idle_descents_are_glides():
    phases = {
        p["phase"] for p in reduction_data(reduction_of("sample.csv"))["points"] if p["kind"] == "descent"
    }
    assert phases == {"glide"}
    stopped = [p for p in reduction_data(reduction_of("carded.csv"))["points"] if p["kind"] == "descent"]
    assert {p["phase"] for p in stopped} == {"glide"}
