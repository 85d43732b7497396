"""Verdicts: probabilities against closed forms, what is not ranked, and break-evens run again."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

import flyoff.demo
from flyoff.comparison.asking import betterness
from flyoff.comparison.compare import compare
from flyoff.comparison.inspection import Inspected
from flyoff.comparison.questions import Question, Weight
from flyoff.comparison.rerun import Rerun, levers, moved
from flyoff.comparison.verdict import answered, share_better, share_first, share_in_order
from flyoff.core.draws import Draws
from flyoff.core.figure import Figure, Trace
from flyoff.core.problems import Problems
from flyoff.core.quantity import parse_quantity
from flyoff.core.sources import Place
from flyoff.core.tomlfile import Written
from flyoff.study.folder import read_folder
from flyoff.study.run import case_of

FOLDER = read_folder(Path(flyoff.demo.__file__).parent / "files")
DRAWS = Draws(2000)
CASES = tuple(case_of(FOLDER, dossier, DRAWS, {}) for dossier in FOLDER.dossiers)
NORMAL = np.random.default_rng(7).standard_normal((3, 200_000))


def figure(si, draws=None):
    return Figure("a.x", "X", "m", "length", si, "handbook", Trace("m", "s"), draws)


def question(name, asked, **more):
    return Question(name=name, figure=Written.at(asked, Place("study.toml", 9)), **more)


def whole(cases):
    return compare(("", "", ""), cases[0].terms, FOLDER.record.money, FOLDER.trips, cases, {}, Inspected())


WHOLE = whole(CASES)


def ask(*questions, cases=CASES, weights=()):
    return answered(WHOLE if cases is CASES else whole(cases), cases, FOLDER.trips, questions, weights)


@pytest.fixture(scope="module")
def told():
    return ask(
        question("Mile", "cost_per_mile"),
        question("Seat", "cost_per_seat_mile"),
        question("Far", "range", threshold=parse_quantity("500 nmi", "length")),
        question("Flow", "cruise_fuel_flow"),
        question("Full", "endurance_seats_filled"),
        question("Trip", "trip.weekend-at-the-grandparents.time"),
    )


def by_name(comparison, name):
    return next(verdict for verdict in comparison.answers if verdict.name == name)


@pytest.mark.parametrize(("apart", "rho"), [(0.0, 0.0), (1.0, 0.0), (1.0, 0.8), (-2.0, 0.5)])
def test_the_probability_of_two_normal_values_is_the_closed_form(apart, rho):
    """P(A > B) = Φ(Δ / √(2 − 2ρ)) of two of unit variance and correlation ρ."""
    a = apart + NORMAL[0]
    b = rho * NORMAL[0] + np.sqrt(1 - rho**2) * NORMAL[1]
    expected = norm.cdf(apart / np.sqrt(2 - 2 * rho))
    assert share_better(a, b) == pytest.approx(expected, abs=0.005)
    assert share_first(np.array([a, b]), 0) == pytest.approx(expected, abs=0.005)


def test_three_alike_are_in_each_order_equally_often():
    assert share_in_order(NORMAL) == pytest.approx(1 / 6, abs=0.005)
    assert [share_first(NORMAL, n) for n in range(3)] == pytest.approx([1 / 3] * 3, abs=0.005)


def test_ties_are_shared_and_draws_without_an_answer_lose():
    level = betterness([figure(1.0), figure(1.0)], 1.0)
    assert share_first(level, 0) == 0.5
    assert share_better(level[0], level[1]) == 0.5
    gone = betterness([figure(1.0, np.array([np.nan, 1.0])), figure(0.5, np.array([0.5, 0.5]))], 1.0)
    assert share_better(gone[0], gone[1]) == 0.5


@given(
    st.lists(st.floats(1.0, 100.0), min_size=2, max_size=4),
    st.floats(0.01, 0.3),
    st.integers(0, 1000),
)
def test_an_assumption_that_scales_all_alike_leaves_the_order(values, doubt, seed):
    generator = np.random.default_rng(seed)
    own = np.array(values)[:, None] * (1 + 0.1 * generator.standard_normal((len(values), 200)))
    shared = np.exp(doubt * generator.standard_normal(200))
    for sign in (1.0, -1.0):
        alone, scaled = (
            betterness([figure(v, d) for v, d in zip(values, drawn, strict=True)], sign)
            for drawn in (own, own * shared)
        )
        assert share_in_order(scaled) == share_in_order(alone)
        assert share_first(scaled, 0) == share_first(alone, 0)


def test_probabilities_add_up_and_are_traced(told):
    for verdict in told.answers:
        if verdict.ranked and not verdict.threshold:
            assert sum(told.figures[s.first].si for s in verdict.ranked) == pytest.approx(1.0)
        for key in [*verdict.pairs.values(), *(s.reaches for s in verdict.ranked if s.reaches)]:
            assert 0 <= told.figures[key].si <= 1
            assert {i.figure for i in told.figures[key].trace.inputs} == {s.figure for s in verdict.ranked}


def test_the_ranking_is_by_value_and_close_ones_are_not_called(told):
    mile, seat = by_name(told, "Mile"), by_name(told, "Seat")
    values = [told.figures[s.figure].si for s in mile.ranked]
    assert values == sorted(values)
    assert mile.close
    assert "too close to call between Vadmel 160 and Kattun 230" in mile.words
    assert not seat.close
    assert seat.words.startswith("Damast T comes first")


def test_a_lower_bar_calls_what_a_higher_does_not():
    sure = parse_quantity("60 %", "ratio")
    mile = by_name(ask(question("Mile", "cost_per_mile", sure=sure)), "Mile")
    assert not mile.close


def test_what_has_no_evidence_is_not_ranked_and_said(told):
    unranked = dict(by_name(told, "Mile").unranked)
    assert unranked == {"musselin": "no figure: no price is published for Fluid ice protection"}


def test_fuel_of_two_kinds_and_unlike_seats_are_not_ranked(told):
    flow, full = by_name(told, "Flow"), by_name(told, "Full")
    assert not flow.ranked
    assert "counted in volumes of jet-a1 and avgas" in flow.unranked[0][1]
    assert not full.ranked
    assert "occupants 4 against occupants 6" in " ".join(why for _, why in full.unranked)


def test_equipment_that_is_lacking_keeps_an_airplane_out():
    terms = FOLDER.record.terms.model_copy(update={"equipment": ("oxygen", "weather radar")})
    folder = replace(FOLDER, record=FOLDER.record.model_copy(update={"terms": terms}))
    cases = tuple(case_of(folder, dossier, DRAWS, {}) for dossier in folder.dossiers)
    fast = by_name(ask(question("Fast", "cruise_speed"), cases=cases), "Fast")
    assert [s.aircraft for s in fast.ranked] == ["damast"]
    assert "not on equal terms: without weather radar" in dict(fast.unranked)["kattun"]


def test_an_airplane_without_printed_taxi_fuel_gains_nothing_by_it():
    """Not ranked, nor favoured by a difference, until the terms lay taxi fuel down for all."""
    silent = next(case for case in CASES if case.taxi_fuel is None)
    other = next(case for case in CASES if case.taxi_fuel is not None)
    far, fast = ask(question("Far", "range"), question("Fast", "cruise_speed")).answers
    assert [key for key, _ in far.unranked] == [silent.key]
    assert "taxi fuel" in far.unranked[0][1]
    assert not fast.unranked
    apart = WHOLE.difference(other.key, silent.key, "range") or WHOLE.difference(
        silent.key, other.key, "range"
    )
    assert apart is not None
    assert "none printed" in apart.terms["taxi fuel"]
    laid_down = silent.terms.model_copy(update={"taxi_fuel": parse_quantity("5 L", "volume")})
    (far,) = ask(question("Far", "range"), cases=tuple(replace(c, terms=laid_down) for c in CASES)).answers
    assert not far.unranked


def test_a_threshold_has_a_probability_for_each(told):
    far = by_name(told, "Far")
    shares = {s.aircraft: told.figures[s.reaches].si for s in far.ranked}
    assert shares["kattun"] == 1.0
    assert "taxi fuel" in dict(far.unranked)["musselin"]
    assert far.words.endswith("not ranked: Musselin R")


@pytest.mark.parametrize("name", ["Mile", "Seat", "Far", "Trip"])
def test_each_break_even_changes_the_answer_a_bit_beyond(told, name):
    """Run again a little before and a little beyond: the answer must be one and the other."""
    verdict = by_name(told, name)
    again = Rerun(CASES, FOLDER.trips)
    every = {lever.label: lever for lever in levers(CASES, verdict.quantity)}
    assert verdict.break_evens
    for found in verdict.break_evens:
        lever, figure = every[found.term], told.figures[found.figure]
        if figure.si is None:
            assert "does not decide" in figure.missing
            continue
        bit = 1 if lever.whole else (lever.high - lever.low) / 500
        way = 1 if found.beyond == "above" else -1
        aircraft = [key for key in (s.aircraft for s in verdict.ranked) if f".{key}." in found.figure]

        def holds(si, lever=lever, aircraft=aircraft):
            sign = 1 if verdict.better == "more" else -1
            values = {
                s.aircraft: again.value(s.aircraft, verdict.quantity, lever, si) for s in verdict.ranked
            }
            if aircraft:
                limit = parse_quantity(verdict.threshold, "length").si
                return values[aircraft[0]] >= limit
            best = max((v for v in values.items() if not np.isnan(v[1])), key=lambda v: sign * v[1])
            return best[0] == verdict.ranked[0].aircraft

        last, past = (figure.si - way * bit, figure.si + (0 if lever.whole else way * bit))
        assert holds(last) != holds(past), found
        assert lever.low <= figure.si <= lever.high


def test_a_term_whose_break_even_lies_anywhere_does_not_decide(told):
    """A value is printed only with an interval inside the range searched; else how many draws cross."""
    found = [
        (told.figures[b.figure], lever)
        for verdict in told.answers
        for b in verdict.break_evens
        for lever in levers(CASES, verdict.quantity, FOLDER.trips)
        if lever.label == b.term
    ]
    for figure, lever in found:
        if figure.draws is not None:
            assert np.mean((figure.draws >= lever.low) & (figure.draws <= lever.high)) >= 0.95
    undecided = [figure for figure, _ in found if figure.si is None]
    assert undecided
    assert all(re.search(r"\d+ % of draws change their answer", figure.missing) for figure in undecided)


def test_a_break_even_holds_in_the_whole_comparison(told):
    """The hours at which another is cheapest by the seat, put into the terms of a whole comparison."""
    seat = by_name(told, "Seat")
    found = next(b for b in seat.break_evens if b.term == "hours flown a year")
    at = told.figures[found.figure].si
    lever = next(lever for lever in levers(CASES, "cost_per_seat_mile") if lever.name == "hours")
    firsts = []
    for share in (0.98, 1.02):
        cases = tuple(moved(case, lever, at * share) for case in CASES)
        firsts.append(
            by_name(ask(question("Seat", "cost_per_seat_mile"), cases=cases), "Seat").ranked[0].aircraft
        )
    assert firsts == ["damast", "vadmel"]


def test_what_changes_nothing_is_said_with_its_range(told):
    assert any(words.startswith("years kept from 1 to 25") for words in by_name(told, "Mile").unmoved)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ([question("A", "rnage")], "no figure 'rnage'"),
        ([question("A", "balance_margin")], "no figure"),
        ([question("A", "range"), question("a!", "range")], "given twice"),
        ([question("A", "cruise_speed?altitude=8000ft")], "does not say which wins"),
        ([question("A", "range", threshold=parse_quantity("4 h", "time"))], "threshold '4 h'"),
    ],
)
def test_questions_that_cannot_be_asked_are_named(asked, found):
    with pytest.raises(Problems) as caught:
        ask(*asked)
    assert found in str(caught.value)
    assert "study.toml:9" in str(caught.value) or "threshold" in found


def weight(name, number):
    return Weight(question=Written.at(name, Place("study.toml", 12)), weight=number)


QUESTIONS = (question("Mile", "cost_per_mile"), question("Fast", "cruise_speed"))


def test_without_weights_there_is_no_score(told):
    assert not any(key.endswith(".score") for key in told.figures)


def test_a_score_is_the_weighted_product_of_ratios_to_the_best():
    found = ask(*QUESTIONS, weights=[weight("Mile", 3), weight("Fast", 1)])
    miles = {k: found.figure(k, "cost_per_mile").si for k in ("vadmel", "kattun", "damast")}
    speeds = {k: found.figure(k, "cruise_speed").si for k in miles}
    for key, mile in miles.items():
        expected = (min(miles.values()) / mile) ** 0.75 * (speeds[key] / max(speeds.values())) ** 0.25
        assert found.figure(key, "score").si == pytest.approx(expected)
    assert "Mile: no figure" in found.figure("musselin", "score").missing
    verdict = found.answers[-1]
    assert [s.aircraft for s in verdict.ranked] == sorted(miles, key=lambda k: -found.figure(k, "score").si)


def test_one_weight_alone_ranks_as_its_question_does():
    found = ask(*QUESTIONS, weights=[weight("Fast", 0.3)])
    own, weighed = found.answers[1], found.answers[-1]
    assert [s.aircraft for s in own.ranked] == [s.aircraft for s in weighed.ranked]
    assert found.figures[own.probability].si == found.figures[weighed.probability].si


@pytest.mark.parametrize(
    ("names", "said"), [(["Fats"], "did you mean 'Fast'"), (["Fast", "Fast"], "a weight on 'Fast' again")]
)
def test_weights_on_nothing_or_twice_are_named(names, said):
    with pytest.raises(Problems, match=r"study.toml:12") as caught:
        ask(*QUESTIONS, weights=[weight(name, 1) for name in names])
    assert said in str(caught.value)


def test_what_a_trip_lays_down_for_itself_is_not_moved():
    trip, start, end = FOLDER.trips[0]
    own = trip.model_copy(update={"wind": parse_quantity("5 kt", "speed"), "occupants": 2})
    names = {lever.name for lever in levers(CASES, "trip.friday-hop.time", [(own, start, end)])}
    assert names.isdisjoint({"wind", "people"})
    assert {"power", "bags", "reserve"} <= names
