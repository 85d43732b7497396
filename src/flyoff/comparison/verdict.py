"""The verdict: who comes first on each question, how surely, and what would change that."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from flyoff.comparison.asking import Asked, asked_of, betterness, not_ranked
from flyoff.comparison.breakeven import Contest, against_threshold, break_evens
from flyoff.comparison.case import Case
from flyoff.comparison.questions import Question, Weight
from flyoff.comparison.rerun import Rerun, Route
from flyoff.comparison.results import BreakEven, Comparison, Standing, Verdict
from flyoff.comparison.weighing import weighed
from flyoff.core.figure import Basis, Figure, Input, Trace, format_number
from flyoff.core.typing import Array

_SOURCE = "JCGM 101:2008, 7; interval of the share of draws: Agresti and Coull (1998)"
_HALF_NORMAL_95 = 2.0
"""Successes and failures added to a share of draws before its interval is worked out (Agresti and Coull)."""


def answered(
    comparison: Comparison,
    cases: Sequence[Case],
    routes: Sequence[Route],
    questions: Sequence[Question],
    weights: Sequence[Weight] = (),
) -> Comparison:
    """Return a comparison with the answer to each question, and to the reader's weights on them.

    `routes` are its trips with their places.

    Raises
    ------
    Problems
        Questions of figures that nobody has, of no side that wins, or with a threshold of another dimension.
    """
    told, figures = [], dict(comparison.figures)
    again = Rerun(cases, routes)
    every = asked_of(questions, figures, comparison.rows, cases)
    if weights:
        every.append(weighed(weights, every, cases))
        figures |= {figure.key: figure for figure in every[-1].figures}
    for asked in every:
        verdict, added = _verdict(asked, again)
        told.append(verdict)
        figures |= {figure.key: figure for figure in added}
    return replace(comparison, figures=figures, answers=tuple(told))


def _verdict(asked: Asked, again: Rerun) -> tuple[Verdict, list[Figure]]:
    """Return the answer to one question."""
    unranked = not_ranked(asked)
    kept = [(c, f) for c, f in zip(asked.cases, asked.figures, strict=True) if c.key not in unranked]
    sign = 1.0 if asked.better == "more" else -1.0
    kept.sort(key=lambda pair: -sign * (pair[1].si or 0.0))
    names = {case.key: case.airplane.name for case in asked.cases}
    quantity, limit = str(asked.question.figure), asked.question.threshold
    blank = Verdict(
        asked.question.name, quantity, asked.label, asked.better, str(limit or ""),
        "nobody can be ranked", True, (), tuple(unranked.items()),
    )  # fmt: skip
    if not kept:
        return blank, []
    cases, figures = tuple(c for c, _ in kept), tuple(f for _, f in kept)
    better = betterness(figures, sign)
    odds = _Odds(asked, cases, figures)
    if limit is not None:
        standings = tuple(
            Standing(c.key, f.key, reaches=odds.reaches(n, better[n], sign * limit.si))
            for n, (c, f) in enumerate(kept)
        )
        order, pairs = "", dict[tuple[str, str], str]()
    else:
        standings = tuple(Standing(c.key, f.key, odds.first(n, better)) for n, (c, f) in enumerate(kept))
        order = odds.order(better)
        both = itertools.combinations(range(len(cases)), 2)
        pairs = {(cases[n].key, cases[m].key): odds.pair(n, m, better) for n, m in both}
    close, words = _called(asked, cases, odds, pairs, standings, names)
    if unranked:
        words += f"; not ranked: {', '.join(names[key] for key in unranked)}"
    contest = Contest(asked.key, quantity, sign, cases, names=tuple(names[c.key] for c in cases))
    changes, more, unmoved = _changes(contest, asked, again)
    verdict = replace(
        blank, words=words, close=close, ranked=standings, probability=order, pairs=pairs,
        break_evens=tuple(changes), unmoved=tuple(unmoved),
    )  # fmt: skip
    return verdict, [*odds.figures, *more]


def share_first(better: Array, number: int) -> float:
    """Return the share of draws in which one of several is the best; those that tie share it."""
    level = better == better.max(axis=0)
    return float(np.mean(np.where(level[number], 1 / level.sum(axis=0), 0.0)))


def share_better(first: Array, second: Array) -> float:
    """Return the share of draws in which one is better than another; a tie counts half."""
    return float(np.mean(first > second) + np.mean(first == second) / 2)


def share_in_order(better: Array) -> float:
    """Return the share of draws in which none is better than the one before it."""
    return float(np.mean(np.all(better[1:] <= better[:-1], axis=0)))


class _Odds:
    """Probabilities as figures: shares of draws, with the doubt that so many draws leave."""

    def __init__(self, asked: Asked, cases: Sequence[Case], ranked: Sequence[Figure]) -> None:
        self.asked, self.cases = asked, cases
        self.inputs = tuple(Input(f.label, str(f), figure=f.key) for f in ranked)
        bases: tuple[Basis, ...] = ("measured", "fitted", "handbook", "declared")
        self.basis = max((f.basis for f in ranked), key=bases.index)
        self.figures: list[Figure] = []

    def first(self, number: int, better: Array) -> str:
        """Add the probability that one comes first; those that tie share it."""
        share = share_first(better, number)
        name = self.cases[number].airplane.name
        return self._add(f"first.{self.cases[number].key}", f"{name} comes first", share, better.shape[1])

    def reaches(self, number: int, better: Array, limit: float) -> str:
        """Add the probability that one reaches the threshold; both so turned that more is better."""
        share = float(np.mean(better >= limit))
        words = f"{self.cases[number].airplane.name} reaches {self.asked.question.threshold}"
        return self._add(f"reaches.{self.cases[number].key}", words, share, better.size)

    def order(self, better: Array) -> str:
        """Add the probability that the whole order holds."""
        share = share_in_order(better)
        return self._add("probability", "the order holds", share, better.shape[1])

    def pair(self, first: int, second: int, better: Array) -> str:
        """Add the probability that one is better than another; a tie counts half."""
        share = share_better(better[first], better[second])
        names = [self.cases[n].airplane.name for n in (first, second)]
        keys = "-".join(self.cases[n].key for n in (first, second))
        return self._add(keys, f"{names[0]} is better than {names[1]}", share, better.shape[1])

    def of(self, key: str) -> float:
        """Return a probability by its figure's key."""
        return next(f.si for f in self.figures if f.key == key and f.si is not None)

    def _add(self, part: str, words: str, share: float, count: int) -> str:
        key = f"verdict.{self.asked.key}.{part}"
        label = f"{self.asked.question.name}: probability that {words}"
        trace = Trace(
            f"share of draws in which {words}, draws of all airplanes taken together", _SOURCE, self.inputs
        )
        draws = None if count == 1 else _share_draws(self.cases[0], share, count)
        self.figures.append(Figure(key, label, "%", "ratio", share, self.basis, trace, draws))
        return key


def _share_draws(case: Case, share: float, count: int) -> Array:
    """Return draws of a share of draws."""
    whole = count + 2 * _HALF_NORMAL_95
    middle = (share * count + _HALF_NORMAL_95) / whole
    width = float(np.sqrt(middle * (1 - middle) / whole))
    return middle + width * case.draws.normal("share of draws")


def _called(
    asked: Asked,
    cases: Sequence[Case],
    odds: _Odds,
    pairs: Mapping[tuple[str, str], str],
    standings: Sequence[Standing],
    names: Mapping[str, str],
) -> tuple[bool, str]:
    """Return whether it is too close to call, and the answer in words."""
    if asked.question.threshold is not None:
        return _called_by_threshold(asked, odds, standings, names)
    leader = cases[0].key
    if len(cases) == 1:
        return True, f"only {names[leader]} can be ranked"
    near = [names[c.key] for c in cases[1:] if odds.of(pairs[leader, c.key]) < asked.bar]
    bar = f"{format_number(100 * asked.bar, 0)} %"
    if near:
        return True, f"too close to call between {' and '.join((names[leader], *near))}: less than {bar} sure"
    first = odds.of(standings[0].first)
    return False, f"{names[leader]} comes first, in {_percent(first)} of draws"


def _called_by_threshold(
    asked: Asked, odds: _Odds, standings: Sequence[Standing], names: Mapping[str, str]
) -> tuple[bool, str]:
    groups: dict[str, list[str]] = {"surely": [], "too close to call": [], "surely not": []}
    for standing in standings:
        share = odds.of(standing.reaches)
        word = (
            "surely"
            if share >= asked.bar
            else "surely not"
            if share <= 1 - asked.bar
            else "too close to call"
        )
        groups[word].append(f"{names[standing.aircraft]} ({_percent(share)})")
    told = "; ".join(f"{word}: {', '.join(who)}" for word, who in groups.items() if who)
    return bool(groups["too close to call"]), f"{asked.question.threshold} is reached {told}"


def _percent(share: float) -> str:
    if share in {0.0, 1.0}:
        return "all" if share else "none"
    return f"{format_number(100 * share, 1 if 0.01 < share < 0.99 else 2)} %"


def _changes(contest: Contest, asked: Asked, again: Rerun) -> tuple[list[BreakEven], list[Figure], list[str]]:
    """Return what would change the answer."""
    limit = asked.question.threshold
    if limit is None:
        return break_evens(contest, again) if len(contest.cases) > 1 else ([], [], [])
    told, figures, same_for = [], [], dict[str, list[str]]()
    for number, name in enumerate(contest.names):
        own, more, same = break_evens(against_threshold(contest, number, limit.si), again)
        told += own
        figures += more
        for words in same:
            same_for.setdefault(words, []).append(name)
    return told, figures, [f"{words} ({', '.join(names)})" for words, names in same_for.items()]
