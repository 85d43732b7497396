"""A flown airplane at its best: against a general minimiser, and in the order that physics asks."""

from functools import cache

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from flyoff.comparison.best_speeds import BEST, best_key, best_speed_figures
from flyoff.comparison.case import Case
from flyoff.core.draws import Draws
from flyoff.model import performance
from flyoff.model.performance import standard_air
from flyoff.physics.airspeed import equivalent_airspeed_at_true
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of
from helpers.airplanes import FOLDER
from helpers.flights import demo_reduction


@cache
def flown() -> Case:
    folder = read_folder(FOLDER)
    return case_of(folder, folder.dossiers[0], Draws(200), {"2026-06-02": demo_reduction()})


@cache
def at_best():
    found = {figure.key: figure for figure in best_speed_figures(flown())}
    assert list(found) == [best_key("vadmel", quantity) for quantity in BEST]
    return {quantity: found[best_key("vadmel", quantity)] for quantity in BEST}


def test_an_airplane_that_was_only_read_about_has_none():
    folder = read_folder(FOLDER)
    assert best_speed_figures(case_of(folder, folder.dossiers[1], Draws(20), {})) == []


@pytest.mark.parametrize(("quantity", "power"), [("endurance_speed", 0), ("range_speed", 1)])
def test_saving_speeds_are_where_a_general_minimiser_finds_them(quantity, power):
    """`scipy.optimize.minimize_scalar`, bounded; the grid's parabola is good to a quarter of a knot."""
    case, fit = flown(), flown().evidences.fitted
    air = standard_air(case.terms.altitude.si, case.masses_kg(case.loading.mass_kg)[1])

    def cost(speed):
        watt = performance.power_needed(fit.nominal, speed, air)
        return float(np.ravel(performance.cruise_fuel_flow(fit.nominal, watt))[0]) / speed**power

    best = minimize_scalar(cost, bounds=(20, 80), method="bounded", options={"xatol": 1e-4})
    expected = float(np.ravel(equivalent_airspeed_at_true(best.x, air.density_kg_m3))[0])
    assert at_best()[quantity].si == pytest.approx(expected, abs=0.13)
    value = {"endurance_speed": "least_fuel_flow", "range_speed": "most_specific_range"}[quantity]
    volume = best.fun / case.fuel.density.si
    assert at_best()[value].si == pytest.approx(volume if power == 0 else 1 / volume, rel=1e-3)


def test_speeds_are_in_the_order_that_physics_asks():
    """Least fuel by the hour is slowest, by distance faster, by distance and time faster still (Carson)."""
    si = {quantity: figure.si for quantity, figure in at_best().items()}
    assert si["endurance_speed"] < si["range_speed"] < si["trade_speed"]
    assert si["best_climb_angle_speed"] <= si["best_climb_rate_speed"]
    assert si["service_ceiling"] < si["absolute_ceiling"]
    assert si["best_glide_ratio"] > 5


def test_what_no_evidence_reaches_is_said_and_doubted_more():
    """Nothing was flown or printed near the power of least fuel flow, nor near the ceilings."""
    found = at_best()
    for quantity in ("least_fuel_flow", "endurance_speed", "service_ceiling", "absolute_ceiling"):
        assert found[quantity].extrapolated, quantity
        assert any("extrapolated" in remark for remark in found[quantity].remarks)
    assert not found["trade_speed"].extrapolated
    assert found["least_fuel_flow"].u95 / found["least_fuel_flow"].value > 0.03
    for figure in found.values():
        assert figure.basis == "fitted"
        assert figure.terms["evidence"] == "handbook and flight together"
