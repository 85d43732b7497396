"""Evidence on equal terms: one kind for all, missing where an airplane has none, each with its own doubt."""

import re
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flyoff.comparison.cruise import cruise_figures
from flyoff.comparison.evidence import KINDS, NOT_FLOWN, READINGS, Silent
from flyoff.comparison.headlines import QUANTITIES, headline_figures
from flyoff.comparison.payload_range import range_figures
from flyoff.core.draws import Draws
from flyoff.core.quantity import parse_quantity
from flyoff.core.units import ft, kt
from flyoff.demo.designs import VADMEL_AS_FLOWN
from flyoff.physics.atmosphere import density_at_altitude
from flyoff.report.tables import figures_csv
from flyoff.study.evidence import evidences_of
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of, load
from helpers.airplanes import FOLDER, dossier_of
from helpers.flights import demo_reduction

IN_THE_AIR = ("cruise_", "specific_range", "range", "endurance", "trip.")


def demo(folder: Path, kind: str, edit=lambda text: text):
    """Return the demo study with one kind of evidence demanded, its flown airplane's file edited."""
    shutil.copytree(FOLDER, folder, dirs_exist_ok=True)
    study, dossier = folder / "study.toml", folder / "aircraft/vadmel.toml"
    demand = study.read_text("utf-8").replace('evidence = "handbook"', f'evidence = "{kind}"', 1)
    study.write_text(demand, "utf-8")
    dossier.write_text(edit(dossier.read_text("utf-8")), "utf-8")
    return load(folder).comparison


@pytest.fixture(scope="module", params=KINDS)
def demanded(request, tmp_path_factory):
    return request.param, demo(tmp_path_factory.mktemp(request.param), request.param)


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    return demo(tmp_path_factory.mktemp("printed"), "handbook")


def without_climb(text):
    start = text.index('[[tables]]\nkind = "climb"')
    return text[:start] + text[text.index("[[tables]]", start + 1) :]


@cache
def unflown(number):
    """Return the case of one of the demo's airplanes as if it was not flown."""
    folder = read_folder(FOLDER)
    return case_of(folder, folder.dossiers[number], Draws(50), {})


def test_the_demanded_kind_is_the_basis_of_all_that_is_done_in_the_air(demanded):
    kind, comparison = demanded
    for figure in comparison.figures.values():
        aircraft, _, quantity = figure.key.partition(".")
        if "-" not in aircraft and quantity.startswith(IN_THE_AIR) and "?evidence=" not in quantity:
            assert figure.basis == READINGS[kind].basis, figure.key


def test_an_airplane_that_cannot_meet_the_demand_is_missing_not_filled_in(demanded, printed):
    kind, comparison = demanded
    flown, read = (comparison.figure(key, "range") for key in ("vadmel", "kattun"))
    assert flown.si is not None
    if kind == "handbook":
        assert read.si is not None
    else:
        assert (read.si, read.missing) == (None, NOT_FLOWN)
        assert comparison.figures["vadmel-kattun.range"].si is None
        assert "missing, not filled in" in " ".join(comparison.remarks)
        assert comparison.entries[1].evidence.startswith("not flown")
    for quantity in ("useful_load", "payload_full_tanks", "price_as_compared"):
        assert comparison.figure("kattun", quantity).si == printed.figure("kattun", quantity).si


def test_the_headlines_stand_on_every_kind_whatever_is_demanded(demanded, printed):
    kind, comparison = demanded
    assert [(h.aircraft, h.quantity) for h in comparison.headlines] == [("vadmel", q) for q in QUANTITIES]
    for headline in comparison.headlines:
        for other, key in headline.on.items():
            figure = comparison.figures[key]
            assert figure.basis == READINGS[other].basis
            assert figure.si == printed.figures[key].si
            assert ("evidence" in figure.terms) == (other != kind)
        assert comparison.figures[headline.on[kind]].si == comparison.figure("vadmel", headline.quantity).si
        for other, key in headline.less_handbook.items():
            a, b = (comparison.figures[headline.on[k]] for k in (other, "handbook"))
            assert comparison.figures[key].si == pytest.approx(a.si - b.si)
            assert comparison.figures[key].remarks[0].startswith("unequal evidence")


def test_flight_finds_what_the_handbook_does_not_say(printed):
    """The demo's example has 15 % more drag than the airplane of its handbook."""
    case = unflown(0)
    mass_kg = case.masses_kg(case.loading.mass_kg)[1]
    density = float(density_at_altitude(8000 * ft))
    power_w = 0.65 * VADMEL_AS_FLOWN.rated_power_w
    truth = float(VADMEL_AS_FLOWN.level_speed(power_w, density, mass_kg)) / kt - 2  # the options' effect
    for kind in ("measured", "fitted"):
        speed = printed.figures[f"vadmel.cruise_speed?evidence={kind}"]
        assert abs(speed.value - truth) < 1.3 * speed.u95
    book = printed.figures["vadmel.cruise_speed?evidence=handbook"]
    assert book.value - book.u95 > truth


def test_a_fitted_figure_goes_down_to_the_lines_it_rests_on(printed):
    inputs = printed.figures["vadmel.cruise_speed?evidence=fitted"].trace.inputs
    places = {str(given.place) for given in inputs if given.label.startswith(("printed", "flown"))}
    assert {place.partition(":")[0] for place in places} >= {
        "aircraft/vadmel/cruise.csv",
        "aircraft/vadmel/climb.csv",
        "flights/2026-06-02.csv",
    }
    assert all(int(place.rpartition(":")[2]) > 0 for place in places)
    flown = [i for i in inputs if i.label.startswith("flown level")]
    log = (FOLDER / "flights/2026-06-02.csv").read_text("utf-8").splitlines()
    assert len(flown) > 5
    assert all(i.place.line <= len(log) for i in flown)


def test_beyond_the_flown_altitudes_is_said_and_wider(demanded):
    kind, comparison = demanded
    low, high = (comparison.figure("vadmel", f"cruise_speed?altitude={level}ft") for level in (6000, 16000))
    assert high.extrapolated == (kind == "measured")
    assert not low.extrapolated
    curve = comparison.speed_curves[0]
    assert any(curve.extrapolated) == (kind == "measured")
    if kind == "measured":
        assert high.u95 > low.u95


def test_what_two_fitted_figures_share_stays_shared(printed):
    flow, endurance = (
        printed.figures[f"vadmel.{q}?evidence=fitted"] for q in ("cruise_fuel_flow", "endurance")
    )
    assert np.corrcoef(flow.draws, endurance.draws)[0, 1] < -0.9
    measured = printed.figures["vadmel.cruise_fuel_flow?evidence=measured"]
    assert measured.u95 > flow.u95


def test_a_climb_that_is_not_printed_comes_from_the_fit_alone(tmp_path):
    comparison = demo(tmp_path, "fitted", without_climb)
    assert comparison.figure("vadmel", "range").si is not None
    assert "best rate of the model" in comparison.figure("vadmel", "range").trace.method
    assert comparison.figures["vadmel.range?evidence=handbook"].missing == "the handbook has no climb table"


def test_the_same_records_give_the_same_fits_to_the_byte(demanded, printed):
    kind, comparison = demanded
    keys = printed.figures if kind == "handbook" else [k for h in printed.headlines for k in h.on.values()]
    once, again = ([replace(c.figures[key], terms={}) for key in keys] for c in (printed, comparison))
    assert figures_csv(once) == figures_csv(again)


def fitted_to(points):
    reduction = replace(demo_reduction(), points=tuple(points))
    return evidences_of(dossier_of("vadmel"), {"day": reduction}, 800.0, Draws(50))


def test_two_points_are_not_a_fit_and_say_so():
    level = [p for p in demo_reduction().points if p.condition.kind == "level"][:2]
    evidences = fitted_to(level)
    assert isinstance(evidences.measured, Silent)
    assert "2 values that tell of drag and power (expected at least" in evidences.measured.reason
    assert not isinstance(evidences.fitted, Silent)


def test_points_at_one_speed_are_not_a_fit_and_say_so():
    level = [p for p in demo_reduction().points if p.condition.kind == "level" and p.air.true_airspeed]
    speeds = np.array([p.air.true_airspeed.value / kt for p in level])
    alike = [p for p, v in zip(level, speeds, strict=True) if abs(v - np.median(speeds)) < 3]
    reason = fitted_to(alike).measured.reason
    assert re.match(r"cannot be fitted: \S+\.csv:\d+: all values at one speed", reason)


def test_flights_that_tell_nothing_do_not_make_a_handbook_measured():
    evidences = fitted_to(())
    assert evidences.fitted == Silent("nothing that was flown tells of drag or power")


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(("measured", "fitted")), st.integers(0, 14), st.integers(40, 90))
def test_without_flights_every_figure_of_the_air_is_missing(kind, thousands, percent):
    plain = unflown(1)
    asked = {
        "altitude": parse_quantity(f"{thousands},000 ft", "length"),
        "power": parse_quantity(f"{percent} %", "ratio"),
    }
    case = replace(plain, kind=kind, terms=plain.terms.model_copy(update=asked))
    for figure in (*cruise_figures(case), *range_figures(case)):
        assert figure.si is None
        assert figure.missing == NOT_FLOWN
        assert figure.basis == kind
    assert headline_figures(case) == ([], [])


def test_how_well_drag_is_known_is_said_with_the_flight_that_would_tell_more():
    """What flies is drag over propeller efficiency: level flight and climbs leave it open."""
    evidences = evidences_of(dossier_of("vadmel"), {"2026-06-02": demo_reduction()}, 720.0, Draws(20))
    said = [r for r in evidences.remarks if "the drag coefficient is known to ±" in r]
    assert [text.partition(":")[0] for text in said] == [READINGS[kind].name for kind in KINDS[1:]]
    assert all("would leave ±" in text for text in said)
