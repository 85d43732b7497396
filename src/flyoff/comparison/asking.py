"""Questions with the figures that answer them, and who can be ranked on equal terms."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.comparison.case import Case, counts_taxi_fuel
from flyoff.comparison.questions import BAR, Question
from flyoff.comparison.results import Row
from flyoff.core.figure import Figure, slug
from flyoff.core.problems import Problem, Problems, near_miss
from flyoff.core.typing import Array
from flyoff.core.units import dimension_words


@dataclass(frozen=True)
class Asked:
    """A question with what it needs to be answered."""

    question: Question
    label: str
    better: str
    of_fuel: bool
    cases: tuple[Case, ...]
    figures: tuple[Figure, ...]

    @property
    def key(self) -> str:
        """The question's part of its figures' keys."""
        return slug(self.question.name)

    @property
    def bar(self) -> float:
        """The probability from which it is called."""
        return self.question.sure.si if self.question.sure else BAR


def asked_of(
    questions: Sequence[Question], figures: Mapping[str, Figure], rows: Sequence[Row], cases: Sequence[Case]
) -> list[Asked]:
    """Return the questions with their figures.

    Raises
    ------
    Problems
        Everything that is wrong with them.
    """
    by_quantity = {row.quantity: row for row in rows}
    found, problems, seen = [], [], dict[str, str]()
    for question in questions:
        quantity, place = str(question.figure), question.figure.place
        own = [f for case in cases if (f := figures.get(f"{case.key}.{quantity}")) is not None]
        row = by_quantity.get(quantity)
        better = question.better or (row.better if row else "")
        limit = question.threshold
        if slug(question.name) in seen or not slug(question.name):
            expected = "expected a name of its own, punctuation aside"
            problems.append(Problem(place, f"question '{question.name}' given twice or empty", expected))
        elif len(own) < len(cases):
            known = {key.partition(".")[2] for key in figures}
            expected = f"expected a figure of every airplane, without its name{near_miss(quantity, known)}"
            problems.append(Problem(place, f"no figure '{quantity}'", expected))
        elif not better:
            expected = 'expected better = "more" or "less" beside it'
            problems.append(Problem(place, f"'{quantity}' does not say which wins", expected))
        elif limit is not None and limit.dimension != own[0].dimension:
            expected = f"expected a {dimension_words(own[0].dimension)}, as '{quantity}' is"
            problems.append(Problem(limit.place, f"threshold '{limit}'", expected))
        else:
            label = row.label if row else own[0].label
            of_fuel = bool(row and row.of_fuel)
            found.append(Asked(question, label, better, of_fuel, tuple(cases), tuple(own)))
        seen[slug(question.name)] = question.name
    if problems:
        raise Problems(problems)
    return found


def not_ranked(asked: Asked) -> dict[str, str]:
    """Return the airplanes that are not ranked, each with the reason: no evidence, or unequal terms."""
    out = {}
    laid_down = any(case.taxi_fuel is not None for case in asked.cases)
    of_taxi = laid_down and counts_taxi_fuel(str(asked.question.figure))
    for case, figure in zip(asked.cases, asked.figures, strict=True):
        if figure.si is None:
            out[case.key] = f"no figure: {figure.missing}"
        elif case.fit.lacking:
            out[case.key] = f"not on equal terms: {case.fit.terms['equipment']}"
        elif of_taxi and case.taxi_fuel is None:
            out[case.key] = "not on equal terms: no taxi fuel is printed, and terms.taxi_fuel declares none"
    left = [pair for pair in zip(asked.cases, asked.figures, strict=True) if pair[0].key not in out]
    kinds = dict.fromkeys(case.fuel.kind for case, _ in left)
    terms = dict.fromkeys(tuple(sorted(figure.terms.items())) for _, figure in left)
    why = ""
    if asked.of_fuel and len(kinds) > 1:
        why = f"not on equal terms: counted in volumes of {' and '.join(kinds)}"
    elif len(terms) > 1:
        told = dict.fromkeys(f"{name} {text}" for each in terms for name, text in each)
        why = f"not on equal terms: {' against '.join(told)}"
    return out | ({case.key: why for case, _ in left} if why else {})


def betterness(figures: Sequence[Figure], sign: float) -> Array:
    """Return draws of figures so turned that more is better, shape (figures, n); none is the worst."""
    count = max([1, *(f.draws.size for f in figures if f.draws is not None)])
    drawn = np.array(
        [np.full(count, f.si) if f.draws is None else f.draws for f in figures], dtype=np.float64
    )
    return np.nan_to_num(sign * drawn, nan=-np.inf, neginf=-np.inf, posinf=np.inf)
