"""What leg groups and turns make of the calibration, and what their pressure altitudes are worth."""

import numpy as np
import pytest

from flyoff.core.units import degree, ft, kt
from flyoff.flights.card import Instruments
from flyoff.flights.manoeuvres import Manoeuvre
from flyoff.physics.airspeed import true_airspeed
from flyoff.reduction.airdata import Probe, altimeter_u_m, altimeter_u_of
from flyoff.reduction.calibration import calibrate, with_instruments
from flyoff.reduction.legs import WindSolution
from flyoff.reduction.statistics import Estimate
from flyoff.reduction.turns import TurnWind

STILL = Probe(0.0, 0.0, 0.0, 0.0)
ALTITUDE_M, TEMPERATURE_K = 1200.0, 284.0


def turn_at(ias_kt, correction_kt, u_kt=0.3, rate_deg_s=4.0, refused=""):
    """Return a turn whose true airspeed stands for a correction."""
    cas = (ias_kt + correction_kt) * kt
    tas = float(
        true_airspeed(
            calibrated_airspeed_m_s=cas, pressure_altitude_m=ALTITUDE_M, temperature_k=TEMPERATURE_K
        )
    )
    covariance = np.eye(3) * (u_kt * kt) ** 2
    solution = WindSolution(
        Estimate(tas, u_kt * kt), (3.0, 4.0), covariance, np.zeros(60), 50.0, 1.0, 0.6, refused=refused
    )
    return TurnWind(
        Manoeuvre("turn", 0.0, 60.0, rate_deg_s * degree, 300 * degree), "log.csv", (2, 61), solution,
        60, 0.2,
        Estimate(ALTITUDE_M, 1.0), Estimate(ias_kt * kt, 0.05 * kt), Estimate(TEMPERATURE_K, 0.1),
    )  # fmt: skip


def calibrated(turns, probe=STILL):
    return calibrate(Instruments(), [], [], probe, turns=turns)


def test_turns_alone_give_a_calibration():
    calibration = calibrated([turn_at(90, -1.5), turn_at(120, 1.0)])
    assert calibration.basis == "legs"
    assert (len(calibration.observations), len(calibration.turns)) == (0, 2)
    for ias, expected in ((90, -1.5), (105, -0.25), (120, 1.0)):
        assert calibration.correction(ias * kt).value / kt == pytest.approx(expected, abs=0.4)
        assert not calibration.is_extrapolated(ias * kt)
    assert calibration.is_extrapolated(140 * kt)


def test_more_turns_and_gentler_ones_make_it_surer():
    one = calibrated([turn_at(100, 1.0)]).correction(100 * kt).u
    assert calibrated([turn_at(100, 1.0)] * 3).correction(100 * kt).u < one
    assert calibrated([turn_at(100, 1.0, rate_deg_s=10.0)]).correction(100 * kt).u > one
    # 100 kt at 10 degrees a second: bank 43 degrees, 1.37 g, a speed lower by 15 %: 0.05 of 16 kt
    steep = calibrated([turn_at(100, 1.0, rate_deg_s=10.0)]).turns[0].correction
    gentle = calibrated([turn_at(100, 1.0, rate_deg_s=0.01)]).turns[0].correction
    assert np.sqrt(steep.u**2 - gentle.u**2) / kt == pytest.approx(0.8, abs=0.1)


def test_a_turn_refused_or_without_a_thermometer_says_nothing():
    assert calibrated([turn_at(100, 1.0, refused="no circle")]).basis == "assumed"
    blind = turn_at(100, 1.0)
    assert calibrated([TurnWind(**{**vars(blind), "probe_temperature": None})]).basis == "assumed"


def test_intervals_of_a_calibration_by_turns_hold_the_truth():
    rng = np.random.default_rng(4)
    held = []
    for _ in range(200):
        slope, at = rng.normal(0, 0.05), rng.normal(0, 2.5)
        truth = {ias: at + slope * (ias - 105) for ias in (90, 105, 120)}
        calibration = calibrated([turn_at(ias, truth[ias] + rng.normal(0, 0.4), 0.4) for ias in truth])
        for ias, expected in truth.items():
            correction = calibration.correction(ias * kt)
            held.append(abs(correction.value / kt - expected) <= correction.u95 / kt)
    assert 0.92 <= np.mean(held) <= 0.99


def test_pressure_altitudes_have_the_error_of_the_altimeter_and_of_the_static_source():
    turns = [turn_at(100, 2.0)]
    calibration = calibrated(turns)
    for source, least_ft in ((False, 20), ("unknown", 25), (True, 21)):
        [stated] = with_instruments(turns, calibration, Instruments(static_source=source))
        assert stated.pressure_altitude.u >= altimeter_u_m(ALTITUDE_M)
        assert stated.pressure_altitude.u95 / ft > least_ft
        # 2 kt at 100 kt and 4000 ft: about 17 ft of static pressure (by hand: rho V dV over rho g)
        moved = (stated.pressure_altitude.value - ALTITUDE_M) / ft
        assert moved == pytest.approx(19 if source is True else 0, abs=2)
    given = Instruments(pressure_altitude_u95="10 ft", static_source=False)
    [stated] = with_instruments(turns, calibration, given)
    assert stated.pressure_altitude.u == pytest.approx(np.hypot(altimeter_u_of(given, ALTITUDE_M), 1.0))
