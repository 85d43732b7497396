"""Gear, flaps and mixture: what they add, where the numbers come from, and evidence that was set so."""

from dataclasses import replace

import numpy as np
import pytest

from flyoff.core.draws import Draws
from flyoff.core.units import degree, ft, hour, kt, us_gal
from flyoff.model import performance
from flyoff.model.configuration import Configuration, configured, increments, needed, usual_mixture
from flyoff.model.fit import fit_observations
from flyoff.physics.drag import flap_drag_coefficient
from helpers.airplanes import handbook_fit
from helpers.invented import flown, invent, observe, printed, standard

MASS_KG = 1300.0
LANDING = Configuration(gear_down=True, flaps_rad=30 * degree)


def best_glide(fit):
    return fit.value_of(lambda model: performance.best_glide(model, MASS_KG)[0], "glide")


def test_gear_and_flaps_take_rate_of_climb_and_glide():
    fit = handbook_fit("musselin")
    down = fit.configured(gear_down=True)
    full = fit.configured(gear_down=True, flaps_rad=30 * degree)
    rates = [each.rate_of_climb(2000 * ft, 0.0, MASS_KG).si for each in (fit, down, full)]
    glides = [best_glide(each).si for each in (fit, down, full)]
    assert rates == sorted(rates, reverse=True)
    assert glides == sorted(glides, reverse=True)
    assert glides[1] < 0.9 * glides[0]
    value = full.rate_of_climb(2000 * ft, 0.0, MASS_KG)
    assert value.extrapolated
    assert any(text.startswith("drag area of flaps") and "not by evidence" in text for text in value.remarks)
    assert np.std(value.draws) > np.std(fit.rate_of_climb(2000 * ft, 0.0, MASS_KG).draws)


def test_fixed_gear_is_down_already():
    fit = handbook_fit("kattun")
    model = configured(fit.nominal, Configuration(gear_down=True))
    assert model["drag_area_m2"] == pytest.approx(fit.nominal["drag_area_m2"])
    assert "gear_drag_area_m2" not in {p.name for p in increments(fit.known)}


def test_increments_add_to_the_glide_and_do_not_multiply_with_the_propeller():
    fit = handbook_fit("musselin")
    clean, low = fit.nominal, configured(fit.nominal, LANDING)
    added = low["drag_area_m2"] - clean["drag_area_m2"]
    glide = performance.glide_polar(low)[0] - performance.glide_polar(clean)[0]
    assert added == pytest.approx(glide)
    assert added > 0


def test_the_prior_of_flaps_spans_slotted_and_plain_ones():
    known = handbook_fit("kattun").known
    flaps = next(p for p in increments(known) if p.name == "flap_drag_area_m2")
    plain = float(flap_drag_coefficient(np.pi / 2 * 0.6, 0.25, 0.5)) / np.sin(np.pi / 2 * 0.6) ** 2
    low, high = (float(flaps.value(z)) / known.wing_area_m2 for z in (-1.3, 1.3))
    assert low < plain / 2 < plain < high


def test_declared_increments_are_taken():
    known = replace(
        invent(3).known, retractable=True, gear_drag_area_m2=0.21, flap_drag_area_m2=0.5,
        full_flaps_rad=30 * degree,
    )  # fmt: skip
    priors = {p.name: p for p in increments(known)}
    assert priors["gear_drag_area_m2"].prior == 0.21
    assert priors["flap_drag_area_m2"].prior == pytest.approx(2.0)
    assert {p.source for p in priors.values()} > {"the dossier"}


def test_flaps_flown_are_fitted_and_not_taken_from_the_class():
    airplane = invent(77, tabulated=False)
    evidence = flown(airplane, (2000, 8000), 77)
    truth, flaps = 0.07 * airplane.known.wing_area_m2, 20 * degree
    altitude, kelvin, density = standard(3000)
    for speed in (36.0, 40.0, 44.0, 48.0):
        area = truth * np.sin(flaps) ** 2
        drag = airplane.drag(speed, density, MASS_KG, airplane.windmill) + density / 2 * speed**2 * area
        sink = drag * speed / (MASS_KG * 9.80665)
        here = observe("sink rate", sink, 0.1, (altitude, kelvin), MASS_KG, true_airspeed_m_s=speed)
        factor = 1 + speed**2 * (9.80665 / 287.05287 - 0.0065) / kelvin / (2 * 9.80665)
        evidence.append(replace(here, value=sink / factor, configuration=Configuration(flaps_rad=flaps)))
    fit = fit_observations(airplane.known, evidence)
    found = fit.model["flap_drag_area_m2"]
    assert np.std(found) < 0.2 * truth
    assert float(found[0]) == pytest.approx(truth, abs=3 * float(np.std(found)))
    value = best_glide(fit.configured(flaps_rad=flaps))
    assert not any("flaps" in text for text in value.remarks)


def test_leaner_mixtures_burn_less_and_leave_less_power():
    fit = handbook_fit("kattun")
    assert fit.known.mixture == "best economy"
    flows = {
        m: fit.cruise(0.60, 6000 * ft, 0.0, MASS_KG, mixture=m).fuel_flow
        for m in ("full rich", "best power", "best economy", "lean of peak")
    }
    values = [flow.si for flow in flows.values()]
    assert values == sorted(values, reverse=True)
    assert flows["best economy"].si == fit.cruise(0.60, 6000 * ft, 0.0, MASS_KG).fuel_flow.si
    assert not flows["best economy"].extrapolated
    assert (
        "consumption with best power by a general chart: no evidence with it" in flows["best power"].remarks
    )
    assert np.std(flows["best power"].draws) > 3 * np.std(flows["best economy"].draws)
    lean = fit.cruise(0.72, 8000 * ft, 0.0, MASS_KG, mixture="lean of peak").fuel_flow
    assert lean.missing.endswith("with lean of peak")
    flow = 11.0 * us_gal / hour * 720
    slow, fast = (
        fit.configured(mixture=m).speed_at_fuel_flow(flow, 6000 * ft, 0.0, MASS_KG).si
        for m in ("best power", "best economy")
    )
    assert fast > slow + 3 * kt


def test_an_automatic_mixture_is_nobodys_to_set():
    found = handbook_fit("vadmel").cruise(0.6, 6000 * ft, 0.0, MASS_KG, mixture="lean of peak")
    assert found.fuel_flow.missing == "nobody sets the mixture of this engine"


def test_evidence_with_two_mixtures_is_fitted_at_each_of_them():
    airplane = invent(41, tabulated=False)
    lean, rich = (Configuration(mixture=m) for m in ("best economy", "best power"))
    book = [replace(o, configuration=lean) for o in printed(airplane, (2000, 8000))]
    more = [replace(o, value=o.value * 1.25, configuration=rich) for o in book if o.kind == "fuel flow"]
    fit = fit_observations(airplane.known, [*book, *more], draws=Draws(200))
    assert fit.known.mixture == "best economy"
    assert "mixture_effect" in {p.name for p in fit.parameters}
    one, other = (fit.cruise(0.6, 1500.0, 0.0, MASS_KG, mixture=c.mixture).fuel_flow for c in (lean, rich))
    assert other.si / one.si == pytest.approx(1.25, rel=0.01)
    assert not other.extrapolated


def test_nothing_is_fitted_that_no_evidence_shows():
    known = invent(3).known
    assert needed(known, [Configuration()]) == ()
    assert needed(known, [Configuration(mixture="best economy")]) == ()
    names = [
        p.name for p in needed(known, [Configuration(flaps_rad=0.2), Configuration(mixture="best power")])
    ]
    assert names == ["flap_drag_area_m2", "mixture_effect"]
    assert usual_mixture([Configuration(), Configuration(mixture="full rich")]) == "full rich"
    assert usual_mixture([Configuration()]) == ""
