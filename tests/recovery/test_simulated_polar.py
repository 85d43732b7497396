"""The polar of an independent simulator's airplane, from its forces, against the one fitted to its flight."""

import json

import numpy as np
import pytest

from flyoff.core.units import ft, hp, inch, lb, rpm
from flyoff.flights.propose import propose
from flyoff.flights.read import parse_flight
from flyoff.model import performance
from flyoff.model.evidence import flight_observations
from flyoff.model.fit import fit_observations
from flyoff.model.parameters import Known
from flyoff.reduction.run import reduce_flight
from helpers.flights import FOLDER

BRIEFED = """
[loading]
ramp_weight = "2,249 lb"
fuel_density = "6.0 lb/gal"
[instruments]
oat_recovery = "80 %"
static_source = false
airspeed_correction_u95 = "0.5 kt"
airspeed_correction = [
  { indicated = "63 kt", add = "-3 kt" },
  { indicated = "91 kt", add = "-1 kt" },
  { indicated = "129 kt", add = "1 kt" },
]

"""
MASS_KG = 2230 * lb


@pytest.fixture(scope="module")
def fit():
    """The flight with what its crew knew: weights, calibration, engine and propeller data."""
    before, rest = propose(FOLDER / "carded.csv").split("[[logs]]", 1)
    flight = parse_flight(before + BRIEFED + "[[logs]]" + rest, "carded.csv", FOLDER)
    known = Known(
        "carded", 1, 180 * hp, 2700 * rpm, "spark", False, None, "fixed pitch", 2, 75 * inch, 174 * ft**2,
        36.1 * ft, False, MASS_KG,
    )  # fmt: skip
    observations, _ = flight_observations(reduce_flight(flight), known, 719.0)
    return fit_observations(known, observations)


@pytest.fixture(scope="module")
def polar():
    """Lift coefficients and the simulator's drag coefficients, power off and power on."""
    truth = json.loads((FOLDER / "carded.truth.json").read_text("utf-8"))
    curve = truth["aircraft_truth"]["polar_still_air"]["cd_at_cl"]
    return tuple(np.array(curve[name]) for name in ("cl", "power_off", "level_power_on"))


def _speed(lift):
    return np.sqrt(2 * MASS_KG * 9.80665 / (1.225 * 174 * ft**2 * lift))[:, None]


def _coefficient(force, lift):
    return force * lift[:, None] / (MASS_KG * 9.80665)


def test_drag_coefficient_of_the_glide_within_five_per_cent(fit, polar):
    lift, truth, _ = polar
    speed = _speed(lift)
    sink = performance.sink_rate(fit.model, speed, performance.Air(0.0, 288.15, MASS_KG))
    found = _coefficient(sink * MASS_KG * 9.80665 / speed, lift)
    assert np.sqrt(np.mean(np.square(found[:, 0] / truth - 1))) < 0.05


def test_drag_coefficient_under_power_is_within_its_band(fit, polar):
    """Without an engine chart the power is known by the fuel flow alone: the band is wide and says so."""
    lift, _, truth = polar
    found = _coefficient(performance.drag_force(fit.model, _speed(lift), 1.225, MASS_KG), lift)
    low, high = np.quantile(found[:, 1:], [0.025, 0.975], axis=1)
    # the simulator's own polar departs from its best parabola by 0.00124, root mean square
    allowed = 2 * 0.00124
    assert np.all((low - allowed <= truth) & (truth <= high + allowed))
    assert 0.1 < np.mean((high - low) / truth) < 0.6


def test_no_point_of_the_flight_is_called_bad(fit):
    assert fit.bad_points == ()
    assert len(fit.observations) == 13
