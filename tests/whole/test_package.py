"""What a reader of the documentation may write in Python."""

import pytest

import flyoff
from flyoff.core.units import celsius, ft, kt
from flyoff.demo.write import write_demo
from flyoff.physics import airspeed
from helpers.study_files import write_study


def test_a_study_is_loaded_and_asked(tmp_path):
    write_demo(tmp_path / "demo")
    study = flyoff.load(tmp_path / "demo")
    assert study.figures()["vadmel.range"].value > 100
    assert study.flights["2026-06-02"].points
    assert study.flights["2026-06-02"].calibration.basis


def test_problems_are_raised_whole(tmp_path):
    write_study(
        tmp_path, plain=('seats = 2\n[[stations]]\nname = "rear"', "seats = -2\n[[stations]]\nname = 3")
    )
    with pytest.raises(flyoff.Problems) as caught:
        flyoff.load(tmp_path)
    assert len(caught.value.problems) == 2


def test_physics_takes_and_returns_si():
    true = airspeed.true_airspeed(
        calibrated_airspeed_m_s=150 * kt, pressure_altitude_m=6000 * ft, temperature_k=celsius(7)
    )
    assert true / kt == pytest.approx(165, abs=1.5)
