"""Glides, climbs and draws of simulated flights against their truth."""

import itertools
import math
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from flyoff.core.draws import Draws
from flyoff.flights.read import read_flight
from flyoff.reduction.output import reduction_data
from flyoff.reduction.run import reduce_flight
from flyoff.reduction.uncertainty import draw_points
from helpers.simulator.flight import fly
from helpers.simulator.measure import seconds
from helpers.simulator.scenarios import SCENARIOS

pytestmark = pytest.mark.slow

CALM = [s for s in SCENARIOS if s.name in {"smooth", "breeze", "cold", "high", "exact", "strong"}]
CD_WITHIN = 0.004


@cache
def reduced(name):
    """Return a scenario's flight, its reduction and that as data."""
    scenario = next(s for s in CALM if s.name == name)
    flight = fly(scenario)
    with tempfile.TemporaryDirectory() as folder:
        reduction = reduce_flight(read_flight(flight.write(Path(folder))))
    return flight, reduction, reduction_data(reduction)


def truth_of(flight, point):
    return flight.truth(seconds(point["start_utc"]), seconds(point["end_utc"]))


@pytest.mark.parametrize("name", [s.name for s in CALM])
def test_drag_coefficients_of_glides(name):
    flight, _, data = reduced(name)
    assert len(data["glides"]["points"]) >= 2
    for glide in data["glides"]["points"]:
        truth = truth_of(flight, data["points"][glide["point"]])
        # the windmilling propeller's drag is the glide's too
        drag = truth["cd"] * (1 - truth["thrust_lb"] / truth["drag_lb"])
        assert abs(glide["cd"] - drag) < CD_WITHIN, (name, glide, drag)


def test_most_drag_coefficients_are_within_their_intervals():
    held = []
    for scenario in CALM:
        flight, _, data = reduced(scenario.name)
        for glide in data["glides"]["points"]:
            truth = truth_of(flight, data["points"][glide["point"]])
            error = glide["cd"] - truth["cd"] * (1 - truth["thrust_lb"] / truth["drag_lb"])
            held.append(abs(error) <= glide["cd_u95"])
    assert np.mean(held) >= 0.9


@pytest.mark.parametrize("name", [s.name for s in CALM])
def test_climbs_on_reciprocal_headings_are_paired(name):
    _, _, data = reduced(name)
    climbs = data["climbs"]
    assert sum(s["paired"] for s in climbs["speeds"]) >= 1
    for climb in climbs["points"]:
        steps = climb["corrections"]
        assert [s["name"] for s in steps[:2]] == ["tapeline", "acceleration"]
        for one, other in itertools.pairwise(steps):
            assert one["to"] == pytest.approx(other["from"], abs=0.02)
        assert steps[-1]["to"] == pytest.approx(climb["standard_fpm"], abs=0.1)


@pytest.mark.parametrize("name", ["breeze", "strong"])
def test_drawing_agrees_with_the_analytic_uncertainty(name):
    """JCGM 101:2008, 8: means and ends of the intervals agree to what matters, a tenth."""
    _, reduction, _ = reduced(name)
    for point, drawn in zip(reduction.points, draw_points(reduction, Draws(6000)), strict=True):
        for own, samples in (
            (point.air.calibrated_airspeed, drawn.calibrated_airspeed_m_s),
            (point.air.true_airspeed, drawn.true_airspeed_m_s),
            (point.air.temperature, drawn.temperature_k),
        ):
            assert abs(samples.mean() - own.value) < 0.15 * own.u
            assert 1.96 * samples.std() == pytest.approx(own.u95, rel=0.1)
        altitude = point.pressure_altitude
        assert 1.96 * drawn.pressure_altitude_m.std() == pytest.approx(altitude.u95, rel=0.1)


def test_points_that_share_a_calibration_are_correlated():
    _, reduction, _ = reduced("breeze")
    level = [i for i, p in enumerate(reduction.points) if p.condition.kind == "level"][:2]
    drawn = draw_points(reduction, Draws(6000))
    one, other = (drawn[i].true_airspeed_m_s for i in level)
    assert np.corrcoef(one, other)[0, 1] > 0.5
    assert np.std(one - other) < math.hypot(one.std(), other.std())
    again = draw_points(reduction, Draws(6000))
    assert np.array_equal(again[level[0]].true_airspeed_m_s, one)
