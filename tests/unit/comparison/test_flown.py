"""Figures of flight beside the handbook: their keys, their traces, and the verdicts in words."""

from functools import cache

import numpy as np
import pytest

from flyoff.comparison.case import Case
from flyoff.comparison.equipment import equip
from flyoff.comparison.evidence import Evidences
from flyoff.comparison.flown import flown_figures, overall_words, verdict
from flyoff.core.draws import Draws
from flyoff.core.figure import Figure, Trace
from flyoff.core.units import ft, kt
from flyoff.model.book import beside_handbook
from flyoff.model.handbook import Handbook
from flyoff.model.overall import taken_together
from flyoff.model.statement import STATEMENTS, Book, statement_of
from flyoff.reduction.run import reduce_flight
from flyoff.study.folder import read_folder
from helpers.airplanes import FOLDER

DRAWS = Draws(500)


@cache
def case():
    folder = read_folder(FOLDER)
    record = folder.record
    dossier = next(d for d in folder.dossiers if d.key == "vadmel")
    fuel = record.terms.fuel(dossier.airplane.engine.fuel)
    evidences = Evidences(Handbook(dossier, fuel.density.si, DRAWS))
    fit = equip(dossier, record.terms.equipment)
    flown = reduce_flight(folder.flights[0], dossier=dossier)
    return Case(fit, evidences, "handbook", record.terms, record.money, fuel, DRAWS), flown


@cache
def demo():
    one, flown = case()
    return flown_figures(one, beside_handbook(one.evidences.handbook, [flown], 1200.0, DRAWS))


def figures():
    return {figure.key: figure for figure in demo().figures}


def test_every_statement_has_a_figure_or_says_what_is_missing():
    assert [v.statement for v in demo().verdicts] == [s.key for s in STATEMENTS]
    assert len(figures()) == len(demo().figures)
    speed = figures()["vadmel.book.cruise_speed"]
    assert -9 < speed.value < -4
    assert figures()["vadmel.book.cruise_speed?altitude=7500ft"].terms["altitude"] == "7,500 ft"
    assert figures()["vadmel.book.stall_speed_clean"].missing == "no clean stall was noted"
    words = {v.statement: v.words for v in demo().verdicts}
    assert "kt slower than the book over 12 conditions; " in words["cruise_speed"]
    assert words["fuel_flow_at_power"].startswith("agrees within the measurement (")
    assert words["stall_speed_clean"] == "cannot be said: no clean stall was noted"


def test_a_trace_leads_from_the_verdict_to_the_lines_of_the_files():
    files, left, seen = set(), ["vadmel.book.cruise_speed"], set()
    while left:
        key = left.pop()
        seen.add(key)
        for given in figures()[key].trace.inputs:
            if given.figure and given.figure not in seen:
                left.append(given.figure)
            elif given.place:
                files.add(given.place.file)
                assert given.place.line > 0
    assert files == {"flights/2026-06-02.csv", "aircraft/vadmel/cruise.csv"}
    assert sum(".difference" in key for key in seen) == 12
    corrected = figures()["vadmel.flown.2026-06-02.10.cruise_speed.corrected"]
    assert corrected.basis == "measured"
    assert any(i.label.startswith("weight, 1,131 kg to 1,240 kg") for i in corrected.trace.inputs)
    assert "SFTE Reference Handbook, 2013, 12.7.1" in corrected.trace.source


def test_each_condition_shows_its_corrections_and_their_size():
    point = next(p for p in demo().points if p.statement == "cruise_speed")
    assert point.corrections.startswith("weight, 1,131 kg to 1,240 kg: −2.")
    flow = next(p for p in demo().points if p.statement == "fuel_flow_at_power")
    assert flow.corrections == "none"
    corrected = figures()[f"vadmel.flown.2026-06-02.{point.number}.cruise_speed.corrected"]
    apart = figures()[point.difference].value
    assert apart == pytest.approx(corrected.value - figures()[point.handbook].value)


def test_an_airplane_that_was_not_flown_has_no_figures_of_flight():
    one, _ = case()
    assert flown_figures(one, Book()).figures == []


def figure(value, half):
    draws = np.array([value - half, value + half]) * kt
    return Figure("x", "x", "kt", "speed", value * kt, "handbook", Trace("", ""), draws)


def test_verdicts_in_words():
    speed = statement_of("cruise_speed")
    assert verdict(speed, figure(-3.14, 1.2)) == "slower by 3.1 ± 1.2 kt"
    assert verdict(speed, figure(3.14, 1.2)) == "faster by 3.1 ± 1.2 kt"
    assert verdict(speed, figure(-1.0, 1.2)) == "agrees within the measurement"


def pooled(low, high):
    normal = DRAWS.normal
    samples = [
        np.concatenate([[v * kt], (v + 0.3 * normal(str(v))) * kt])
        for v in (low, low + 0.1, high, high + 0.1)
    ]
    return taken_together(samples, [4000 * ft, 4000 * ft, 10_000 * ft, 10_000 * ft], "x", DRAWS)


@pytest.mark.parametrize(
    ("key", "low", "high", "said"),
    [
        ("cruise_speed", -0.3, -2.6, "it gets worse with altitude"),
        ("cruise_speed", -2.6, -0.3, "it gets better with altitude"),
        ("fuel_flow_at_power", 0.3, 2.6, "it gets worse with altitude"),
        ("cruise_speed", -1.4, -1.5, "no change with altitude beyond the measurement"),
    ],
)
def test_how_it_goes_with_altitude(key, low, high, said):
    levels = [
        Figure("x", "x", "kt", "speed", v * kt, "handbook", Trace("", ""), np.array([v - 0.3, v + 0.3]) * kt,
               {"altitude": at})
        for v, at in ((low, "4,000 ft"), (high, "10,000 ft"))
    ]  # fmt: skip
    words = overall_words(statement_of(key), figure(-1.4, 0.9), 9, pooled(low, high), levels)
    assert words.startswith("1.4 ± 0.9 kt")
    assert f"over 9 conditions; {said}: " in words
    assert words.endswith(" kt at 10,000 ft")
    assert overall_words(statement_of(key), figure(0.4, 0.9), 1, pooled(0, 0), []) == (
        "agrees within the measurement (0.4 ± 0.9 kt) over 1 condition"
    )
