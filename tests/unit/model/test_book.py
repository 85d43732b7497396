"""Flown conditions beside the handbook."""

import numpy as np
import pytest

from flyoff.core.draws import Draws
from flyoff.core.figure import Input
from flyoff.core.problems import Collector
from flyoff.core.sources import Place, Source
from flyoff.core.units import celsius, ft, hour, kt, litre
from flyoff.dossier.read import read_dossier
from flyoff.model.book import FlownCondition, beside_handbook
from flyoff.model.handbook import Handbook
from helpers.study_files import write_study

DRAWS = Draws()


@pytest.fixture
def handbook(tmp_path):
    write_study(tmp_path)
    sources = {"afm": Source("afm", "Invented manual")}
    collector = Collector()
    dossier = read_dossier(tmp_path / "aircraft/plain.toml", "aircraft/plain.toml", sources, collector)
    collector.raise_any()
    return Handbook(dossier, 720.0, DRAWS)


def condition(speed_kt, flow_l_h, altitude_ft=4000.0, u95_flow_l_h=0.0):
    temperature_k = celsius(15.0) - 0.0019812 * altitude_ft
    return FlownCondition(
        "day", 3, altitude_ft * ft, temperature_k, speed_kt * kt, 1.0 * kt,
        flow_l_h * litre / hour, u95_flow_l_h * litre / hour, Input("log", "x", Place("log.csv", 10)),
    )  # fmt: skip


def beside(handbook, flown):
    (point,) = beside_handbook(handbook, [flown], 900.0, DRAWS)
    return point


def test_the_handbook_is_asked_at_the_flown_fuel_flow(handbook):
    point = beside(handbook, condition(120.0, 32.5))
    assert point.handbook_m_s[0] / kt == pytest.approx(124, abs=0.1)
    assert point.flown_m_s[0] / kt == pytest.approx(120)


def test_the_doubt_of_the_fuel_flow_moves_the_handbook(handbook):
    sure = beside(handbook, condition(120.0, 32.5))
    unsure = beside(handbook, condition(120.0, 32.5, u95_flow_l_h=1.0))
    assert np.std(unsure.handbook_m_s) > np.std(sure.handbook_m_s)
    # 8 kt over 5 L/h: 1 L/h is 1.6 kt, added to a rounding of half a knot.
    assert np.std(unsure.handbook_m_s[1:]) / kt == pytest.approx(np.hypot(1.6 / 1.96, 0.5 / 3**0.5), rel=0.08)


def test_outside_the_printed_flows_there_is_no_answer(handbook):
    assert (
        beside(handbook, condition(120.0, 40.0)).missing
        == "the handbook does not print this fuel flow at 4,000 ft"
    )


def test_a_measured_value_draws_its_own_uncertainty(handbook):
    point = beside(handbook, condition(120.0, 32.5))
    low, high = np.quantile(point.flown_m_s[1:], [0.025, 0.975]) / kt
    assert (high - low) / 2 == pytest.approx(1.0, rel=0.08)
