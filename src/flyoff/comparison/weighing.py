"""The reader's own weights on the questions, drawn together into a score; without weights there is none."""

from collections.abc import Mapping, Sequence

import numpy as np

from flyoff.comparison.asking import Asked, not_ranked
from flyoff.comparison.case import Case, Method
from flyoff.comparison.questions import Question, Weight
from flyoff.core.figure import Figure, Input
from flyoff.core.problems import Problem, Problems, near_miss
from flyoff.core.tomlfile import Written
from flyoff.core.typing import Array

NAME = "By the reader's weights"
QUANTITY = "score"
_METHOD = Method(
    "weighted product: each figure over the best airplane's, or the best over it if less is better, to the "
    "power of its weight over all weights, multiplied",
    "Bridgman (1922), Dimensional Analysis, and Miller and Starr (1969) (from memory)",
)


def weighed(weights: Sequence[Weight], asked: Sequence[Asked], cases: Sequence[Case]) -> Asked:
    """Return the question that the reader's weights ask, its figures the airplanes' scores.

    A product of ratios needs no zero and no unit, so that none is chosen for the reader.

    Raises
    ------
    Problems
        Weights on questions that are not asked, or on one twice.
    """
    by_name = {one.question.name: one for one in asked}
    problems, shares = [], dict[str, float]()
    for weight in weights:
        name, place = str(weight.question), weight.question.place
        if name not in by_name:
            expected = f"expected the name of a question{near_miss(name, by_name)}"
            problems.append(Problem(place, f"a weight on '{name}', which is not asked", expected))
        elif name in shares:
            problems.append(
                Problem(place, f"a weight on '{name}' again", "expected one weight on each question")
            )
        shares[name] = weight.weight
    if problems:
        raise Problems(problems)
    whole = sum(shares.values())
    parts = [(by_name[name], share / whole) for name, share in shares.items()]
    figures = _scores(parts, cases)
    question = Question(name=NAME, figure=Written.at(QUANTITY, weights[0].question.place))
    return Asked(question, "Score by the reader's weights", "more", False, tuple(cases), figures)


def _scores(parts: Sequence[tuple[Asked, float]], cases: Sequence[Case]) -> tuple[Figure, ...]:
    """Return each airplane's score; missing where any weighed figure is, or is not above nought."""
    out: dict[str, str] = {}
    for asked, _ in parts:
        for key, why in not_ranked(asked).items():
            out.setdefault(key, f"{asked.question.name}: {why}")
        for case, figure in zip(asked.cases, asked.figures, strict=True):
            if figure.si is not None and figure.si <= 0:
                out.setdefault(case.key, f"{asked.question.name}: {figure} cannot be weighed as a ratio")
    kept = [number for number, case in enumerate(cases) if case.key not in out]
    sums = {number: np.zeros(cases[number].draws.count + 1) for number in kept}
    for asked, share in parts:
        known = {n: f for n in kept if (f := asked.figures[n]).si is not None}
        logs = {n: np.log(_sample(f, cases[n].draws.count)) for n, f in known.items()}
        sign = 1.0 if asked.better == "more" else -1.0
        best = max((sign * log[0] for log in logs.values()), default=0.0)
        for number, log in logs.items():
            sums[number] = sums[number] + share * (sign * log - best)
    return tuple(_score(case, parts, sums.get(number), number, out) for number, case in enumerate(cases))


def _sample(figure: Figure, count: int) -> Array:
    """Return a figure as a sample, NaN where a draw is not above nought."""
    drawn = np.full(count, figure.si) if figure.draws is None else figure.draws
    sample = np.concatenate([[figure.si], drawn]).astype(np.float64)
    return np.where(sample > 0, sample, np.nan)


def _score(
    case: Case, parts: Sequence[tuple[Asked, float]], logs: Array | None, number: int, out: Mapping[str, str]
) -> Figure:
    inputs = tuple(
        Input(f"{asked.question.name}, weight {100 * share:.0f} %", str(f), figure=f.key)
        for asked, share in parts
        for f in (asked.figures[number],)
    )
    return case.figure(
        QUANTITY, "Score by the reader's weights", ("%", "ratio"), None if logs is None else np.exp(logs),
        _METHOD, inputs, basis="declared", missing=out.get(case.key, ""),
    )  # fmt: skip
