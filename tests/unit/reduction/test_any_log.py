"""Whatever a log says, the reduction ends: with points or without, never with a fault of its own."""

import json

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flyoff.flights.channels import CHANNELS
from flyoff.flights.log import Log
from flyoff.flights.read import Flight, parse_flight
from flyoff.flights.repairs import repair
from flyoff.reduction.output import reduction_data, reduction_text
from flyoff.reduction.run import reduce_flight
from helpers.flights import write_flight

COUNT = 240


@pytest.fixture(scope="module")
def flight(tmp_path_factory) -> Flight:
    folder = tmp_path_factory.mktemp("flight")
    rows = "time,ias\n2026-05-14T09:00:00Z,100\n2026-05-14T09:00:01Z,100\n"
    return parse_flight(
        write_flight(folder, rows, 'indicated_airspeed = { column = "ias", unit = "kt" }'), "f.toml", folder
    )


@st.composite
def logs(draw):
    """Return logs of stretches that each keep or ramp a value anywhere in, or a little outside, its range."""
    rng = np.random.default_rng(draw(st.integers(0, 2**31)))
    names = draw(st.sets(st.sampled_from(sorted(CHANNELS)), min_size=1))
    channels = {}
    for name in names:
        channel = CHANNELS[name]
        low, high = channel.low, channel.high
        knots = rng.uniform(low - 0.01 * (high - low), high, draw(st.integers(1, 5)))
        values = np.repeat(knots, -(-COUNT // len(knots)))[:COUNT]
        values = values + rng.normal(0, draw(st.sampled_from([0.0, 1e-4, 1e-3])) * (high - low), COUNT)
        values[rng.random(COUNT) < draw(st.sampled_from([0.0, 0.1, 0.9, 1.0]))] = np.nan
        channels[name] = values
    steps = rng.choice(
        draw(st.sampled_from([[1.0], [0.02], [1.0, 0.0, 2.0], [1.0, 500.0], [1.0, -30.0]])), COUNT
    )
    return Log(
        "made.csv", 1e9 + np.cumsum(steps), np.arange(2, COUNT + 2), channels, dict.fromkeys(channels, 0.0)
    )


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(log=logs())
def test_any_log_reduces(flight, log):
    fixed = repair(log)
    reduction = reduce_flight(Flight(flight.name, flight.date, flight.card, (fixed,)))
    json.dumps(reduction_data(reduction), allow_nan=False)
    assert reduction_text(reduction)
