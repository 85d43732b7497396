"""Fits to handbook, flight and both: what comes out, how it is said, and one bad point among good ones."""

from dataclasses import replace

import numpy as np
import pytest

from flyoff.core.draws import Draws
from flyoff.core.units import fpm, ft, hp, kt, lb
from flyoff.demo.designs import DESIGNS
from flyoff.model import performance
from flyoff.model.diagnostics import unlikely
from flyoff.model.evidence import handbook_observations
from flyoff.model.fit import fit_airplane, fit_handbook, fit_observations
from flyoff.model.handbook import Handbook
from flyoff.model.parameters import Parameter, known_of
from flyoff.model.performance import standard_air
from flyoff.physics.atmosphere import density_at_altitude
from helpers.airplanes import KEYS, dossier_of, edited, fuel_density, handbook_fit
from helpers.invented import flown, invent, printed


@pytest.mark.parametrize("key", KEYS)
def test_the_design_comes_back_from_its_printed_handbook(key):
    fit, design = handbook_fit(key), DESIGNS[key]
    assert fit.bad_points == ()
    assert unlikely(fit) == ()
    # what flies is drag over propeller efficiency: each alone is only as sure as the other's prior
    ratio = float(fit.nominal["drag_area_m2"] / fit.nominal["figure_of_merit"])
    assert ratio == pytest.approx(design.drag_area_m2 / design.figure_of_merit, rel=0.015)
    assert float(fit.nominal["effective_span_m"]) == pytest.approx(design.effective_span_m, rel=0.03)
    assert max(fit.solution.model_error.values()) < 0.012


@pytest.mark.parametrize("key", KEYS)
def test_cruise_between_printed_conditions_is_that_of_the_design(key):
    fit, design = handbook_fit(key), DESIGNS[key]
    for altitude_ft, deviation_k in ((3000, 8.0), (5000, -12.0)):
        power_w = 0.6 * design.rated_power_w
        density = density_at_altitude(altitude_ft * ft, deviation_k)
        cruise = fit.cruise(0.6, altitude_ft * ft, deviation_k, 1200.0)
        truth = float(design.level_speed(power_w, density, 1200.0))
        assert cruise.true_airspeed.si == pytest.approx(truth, abs=0.4 * kt)
        assert cruise.true_airspeed.remarks == ()
        flow = power_w * float(design.specific_consumption(0.6))
        assert cruise.fuel_flow.si == pytest.approx(flow, rel=0.01)


def test_the_fit_answers_as_the_handbook_does():
    fit, dossier = handbook_fit("kattun"), dossier_of("kattun")
    handbook = Handbook(dossier, fuel_density("kattun"), Draws())
    mass_kg = 3000 * lb
    ours, theirs = (b.cruise(0.65, 6000 * ft, 0.0, mass_kg) for b in (fit, handbook))
    assert ours.true_airspeed.si == pytest.approx(theirs.true_airspeed.si, abs=0.6 * kt)
    assert ours.fuel_flow.si == pytest.approx(theirs.fuel_flow.si, rel=0.01)
    flow = theirs.fuel_flow.si
    assert fit.speed_at_fuel_flow(flow, 6000 * ft, 0.0, mass_kg).si == pytest.approx(
        theirs.true_airspeed.si, abs=0.6 * kt
    )
    mass_kg = 3150 * lb
    ours, theirs = (b.climb(2000 * ft, 8000 * ft, 0.0, mass_kg) for b in (fit, handbook))
    assert ours.time.si == pytest.approx(theirs.time.si, abs=40.0)
    assert ours.fuel.si == pytest.approx(theirs.fuel.si, abs=0.1 * 2.73)
    assert fit.rate_of_climb(0.0, 0.0, mass_kg).si / fpm == pytest.approx(1100, abs=12)
    glide = fit.best_glide(3150 * lb)
    assert 10 < glide.ratio.si < 13
    assert 70 * kt < glide.equivalent_airspeed.si < 95 * kt


def test_what_it_rests_on_and_what_it_cannot_say():
    fit = handbook_fit("kattun")
    cruise = fit.cruise(0.75, 14_000 * ft, 0.0, 1300.0)
    assert cruise.true_airspeed.si is None
    assert cruise.true_airspeed.missing == "the engine gives 61 % at 14,000 ft"
    beyond = fit.cruise(0.40, 16_000 * ft, 0.0, 1300.0).true_airspeed
    assert beyond.remarks == (
        "extrapolated: beyond the power of all the evidence",
        "extrapolated: beyond the altitude of all the evidence",
    )
    assert {i.place.file for i in beyond.inputs} == {
        f"aircraft/kattun/{name}.csv" for name in ("cruise", "climb", "glide")
    }
    heavy = fit.cruise(0.45, 12_000 * ft, 20.0, 2600.0).true_airspeed
    assert heavy.missing == "the airplane cannot fly there, by the fitted model"


def test_draws_are_the_same_each_time_and_nominal_first():
    fit = handbook_fit("musselin")
    again = fit_handbook(dossier_of("musselin"), fuel_density_kg_m3=fuel_density("musselin"))
    assert np.array_equal(fit.distances, again.distances)
    power = fit.value_of(lambda m: performance.full_power(m, standard_air(0.0, 1200.0)))
    assert power.si == pytest.approx(float(performance.full_power(fit.nominal, standard_air(0.0, 1200.0))))
    assert power.si / hp == pytest.approx(200, rel=0.05)
    assert power.draws.shape == (2000,)


def test_a_misprint_is_named_and_hardly_moves_the_fit():
    dossier = edited("damast", "cruise.csv", lambda text: text.replace(",123,13.9", ",132,13.9"))
    fit = fit_handbook(dossier, fuel_density_kg_m3=720.0)
    (bad,) = fit.bad_points
    assert str(bad).startswith("aircraft/damast/cruise.csv:3: true airspeed 132 kt: ")
    assert bad.predicted / kt == pytest.approx(123, abs=0.7)
    clean = handbook_fit("damast").cruise(0.65, 0.0, -20.0, 1500.0).true_airspeed
    assert fit.cruise(0.65, 0.0, -20.0, 1500.0).true_airspeed.si == pytest.approx(clean.si, abs=0.2 * kt)


def test_both_evidences_describe_the_flown_airplane_and_say_how_the_book_differs():
    flown_one = invent(901, tabulated=False)
    book = replace(flown_one, zero_lift=flown_one.zero_lift * 0.9)
    evidence = [*printed(book, (2000, 6000, 10_000)), *flown(flown_one, (3000, 7000), 901)]
    fit = fit_observations(flown_one.known, evidence)
    index = [p.name for p in fit.parameters].index("handbook_drag_factor")
    spread = fit.solution.covariance[index, index] ** 0.5 * 0.06
    assert float(fit.nominal["handbook_drag_factor"]) == pytest.approx(0.9, abs=2.5 * spread)
    assert spread < 0.035
    only = fit_observations(flown_one.known, flown(flown_one, (3000, 7000), 901))
    power_w, air = 0.65 * flown_one.known.rated_power_w, standard_air(1500.0, 1200.0)
    truth = float(flown_one.level_speed(power_w, float(air.density_kg_m3), 1200.0))
    widths = []
    for each in (fit, only):
        value = each.value_of(lambda m: performance.level_speed(m, power_w, air), "speed")
        low, high = np.quantile(value.draws, [0.025, 0.975])
        assert low < truth < high
        widths.append(high - low)
    assert widths[0] < widths[1]


def test_a_printed_step_is_seen_where_digits_say_less():
    dossier = dossier_of("kattun")
    rates = [o for o in handbook_observations(dossier, known_of(dossier), 720.0) if o.kind == "rate of climb"]
    assert {round(o.half_digit / fpm, 6) for o in rates} == {5.0}


def test_a_parameter_far_from_its_class_is_said():
    dossier = edited("damast", "cruise.csv", lambda text: text.replace("airspeed [kt]", "airspeed [mph]"))
    said = unlikely(fit_handbook(dossier, fuel_density_kg_m3=720.0), beyond=2.0)
    assert any(text.startswith("zero-lift drag area") for text in said)


@pytest.mark.parametrize("logarithmic", [True, False])
def test_parameter_values_and_distances_undo_each_other(logarithmic):
    parameter = Parameter("x", "x", "", 2.0, 0.1, 0.5, 4.0, "here", logarithmic)
    for distance in (-2.0, 0.0, 1.5):
        assert parameter.distance(float(parameter.value(distance))) == pytest.approx(distance)
    assert float(parameter.value(1e3)) == 4.0
    assert parameter.bounds == (parameter.distance(0.5), parameter.distance(4.0))


def test_the_calls_for_flight_need_a_flight():
    from flyoff.core.problems import Problems

    with pytest.raises(Problems, match="0 values that tell of drag and power"):
        fit_airplane(dossier_of("kattun"), [], fuel_density_kg_m3=720.0, use_handbook=False)
    assert fit_airplane(dossier_of("kattun"), fuel_density_kg_m3=720.0).observations
