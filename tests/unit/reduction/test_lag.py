"""A temperature probe's time constant from climbs and descents, where they show it."""

import numpy as np
import pytest

from flyoff.core.units import kt
from flyoff.flights.grid import make_grid
from flyoff.flights.read import read_flight
from flyoff.reduction.lag import lag_remarks, probe_lag, with_lag
from flyoff.reduction.run import probe_of
from flyoff.reduction.statistics import Estimate
from helpers.flights import made_log, write_flight

SAWTOOTH = np.concatenate([np.linspace(900, 1500, 250), np.full(100, 1500.0), np.linspace(1500, 900, 200)])


def flown(height_m, lag_s, rng, step_k=0.1, air_k=0.05):
    """Return a grid of a flight in which a probe follows the air by a first-order law in steps of 1/20 s."""
    fine = np.interp(np.arange(20 * len(height_m)) / 20, np.arange(len(height_m)), height_m)
    air = 288.15 - 0.0065 * fine + 1.5 * np.tanh((fine - 1200) / 80)  # an inversion in the middle
    probe, last = np.empty(len(fine)), air[0]
    for i, now in enumerate(air):
        last += (now - last) / 20 / lag_s
        probe[i] = last
    patches = np.zeros(len(height_m))  # of warmer and colder air, a minute across
    for i in range(1, len(patches)):
        patches[i] = patches[i - 1] * np.exp(-1 / 60) + rng.normal(0, air_k * np.sqrt(1 / 30))
    shown = np.round((probe[::20] + patches + rng.normal(0, 0.1, len(height_m))) / step_k) * step_k
    level = {"pressure_altitude": height_m, "indicated_airspeed": np.full(len(height_m), 90 * kt)}
    return make_grid(made_log(len(height_m), outside_air_temperature=shown, **level))


@pytest.mark.parametrize("lag_s", [4.0, 18.0, 45.0])
@pytest.mark.parametrize("step_k", [0.1, 1.0])
def test_climbs_and_descents_through_an_inversion_show_it(lag_s, step_k):
    found = probe_lag([flown(np.tile(SAWTOOTH, 4), lag_s, np.random.default_rng(2), step_k)])
    assert abs(found.value - lag_s) < found.u95
    assert found.u95 < 4 + lag_s / 8


def test_its_intervals_hold_the_truth():
    rng = np.random.default_rng(8)
    held = []
    for _ in range(60):
        lag_s = rng.uniform(3, 40)
        found = probe_lag([flown(np.tile(SAWTOOTH, 4), lag_s, rng, air_k=0.1)])
        if found is not None:
            held.append(abs(found.value - lag_s) < found.u95)
    assert len(held) > 50
    assert np.mean(held) >= 0.92


@pytest.mark.parametrize("height_m", [np.linspace(500, 2500, 1500), np.full(1500, 900.0), SAWTOOTH[:500]])
def test_what_cannot_show_it_shows_nothing(height_m):
    assert probe_lag([flown(height_m, 15.0, np.random.default_rng(3))]) is None


def test_a_log_without_a_thermometer_shows_nothing():
    assert probe_lag([make_grid(made_log(900, pressure_altitude=np.linspace(0, 900, 900)))]) is None


@pytest.mark.parametrize(("given", "taken", "said"), [
    ("", 30.0, "is not given: climbs and descents show"),
    ('oat_lag = "10 s"', 10.0, "the flight file gives 10 s"),
    ('oat_lag = "29 s"', 29.0, ""),
])  # fmt: skip
def test_a_time_constant_given_stays_and_a_contradiction_is_said(given, taken, said, tmp_path):
    document = write_flight(
        tmp_path, "time,alt\n2026-05-14T10:00:00Z,1000\n2026-05-14T10:00:01Z,1000\n",
        'pressure_altitude = { column = "alt", unit = "ft" }',
    )  # fmt: skip
    (tmp_path / "flight.toml").write_text(f"{document}\n[instruments]\n{given}\n")
    flight = read_flight(tmp_path / "flight.toml")
    before, found = probe_of(flight.card.instruments), Estimate(30.0, 1.0)
    assert with_lag(before, flight, found).lag_s == pytest.approx(taken)
    assert with_lag(before, flight, None) == before
    remarks = lag_remarks(flight, found)
    assert said in remarks[0] if said else remarks == []
    assert lag_remarks(flight, None) == []
