"""What would change a verdict: the value of each term beyond which another answer holds."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from flyoff.comparison.case import Case
from flyoff.comparison.rerun import Lever, Rerun, levers
from flyoff.comparison.results import BreakEven
from flyoff.core.figure import Figure, Input, Trace
from flyoff.core.typing import Array

_STEPS = 6
"""Parts that a term's range is searched in; a change and its undoing within one part go unseen."""
_FINE = 1 / 4096
"""Share of a range to which a change is closed in on."""
_METHOD = (
    "the comparison run again over the term's range, and the change closed in on (Brent 1973); its doubt "
    "is that of the margin there over the margin's slope"
)
_SOURCE = "JCGM 100:2008, 5.1.2"


@dataclass(frozen=True)
class Contest:
    """Who is asked, of what, and what must hold: the first of `cases` before the rest, or a threshold."""

    key: str
    quantity: str
    sign: float
    """1 where more is better, −1 where less is."""
    cases: tuple[Case, ...]
    threshold_si: float | None = None
    names: tuple[str, ...] = ()


_NEVER = 1e30
Values = Callable[[Lever, float], tuple[float, ...]]


def break_evens(contest: Contest, again: Rerun) -> tuple[list[BreakEven], list[Figure], list[str]]:
    """Return what changes a contest, the figures of it, and the terms that change nothing in their range."""

    def values(lever: Lever, si: float) -> tuple[float, ...]:
        found = (again.value(case.key, contest.quantity, lever, si) for case in contest.cases)
        return tuple(-np.inf if np.isnan(value) else contest.sign * value for value in found)

    told: list[BreakEven] = []
    figures: list[Figure] = []
    unmoved: list[str] = []
    for lever in levers(contest.cases, contest.quantity):
        reached = [lever.now, lever.now]
        before = len(told)
        for end, beyond in enumerate(("below", "above")):
            found = _change(contest, values, lever, beyond)
            reached[end] = found.reached
            if found.bracket is not None:
                figure = _figure(contest, lever, beyond, found.bracket, again)
                figures.append(figure)
                words = _words(contest, lever, beyond, found.bracket[1], values, again)
                told.append(BreakEven(lever.label, beyond, figure.key, words))
        if len(told) == before and reached[0] < reached[1]:
            unmoved.append(lever.between(*reached))
    return told, figures, unmoved


@dataclass(frozen=True)
class Change:
    """How far a term was moved, and the values before and after a change, near each other."""

    reached: float
    bracket: tuple[float, float] | None = None


def _margin(contest: Contest, values: Sequence[float]) -> float:
    """Return by how much what must hold does; infinite where one side has no answer."""
    rest = values[1:] if contest.threshold_si is None else [contest.sign * contest.threshold_si]
    if values[0] == -np.inf:
        return -np.inf
    return values[0] - max(rest)


def _change(contest: Contest, values: Values, lever: Lever, beyond: str) -> Change:
    """Return where the answer changes; a term of the evidence is moved only as far as all have some."""

    def holds(si: float) -> bool:
        return _margin(contest, values(lever, si)) >= 0

    def margin(si: float) -> float:
        # A side without an answer loses, by however much; the search needs only its sign.
        return float(np.clip(_margin(contest, values(lever, si)), -_NEVER, _NEVER))

    as_it_is = holds(lever.now)
    before = lever.now
    for after in _walk(lever, beyond):
        if lever.of_evidence and -np.inf in values(lever, after):
            return Change(before)
        if holds(after) != as_it_is:
            break
        before = after
    else:
        return Change(before)
    if lever.whole:
        return Change(after, (before, after))
    fine = (lever.high - lever.low) * _FINE
    at = before if margin(before) == 0 else float(brentq(margin, before, after, xtol=fine))
    past = at + fine if beyond == "above" else at - fine
    return Change(after, (at, past))


def _walk(lever: Lever, beyond: str) -> Iterator[float]:
    """Yield the values to look at, from that of the terms towards one end."""
    grid = (
        np.arange(lever.low, lever.high + 1)
        if lever.whole
        else np.linspace(lever.low, lever.high, _STEPS + 1)
    )
    ahead = grid[grid > lever.now] if beyond == "above" else grid[grid < lever.now][::-1]
    yield from map(float, ahead)


def _words(contest: Contest, lever: Lever, beyond: str, past: float, values: Values, again: Rerun) -> str:
    """Return in words what holds beyond."""
    first, found = contest.names[0], values(lever, past)
    if found[0] == -np.inf:
        far = next((si for si in _walk(lever, beyond) if values(lever, si)[0] == -np.inf), past)
        why = again.missing(contest.cases[0].key, contest.quantity, lever, far)
        return f"{first} has no figure; at {lever.said(far)}: {why}"
    if contest.threshold_si is not None:
        return f"{first} {'reaches it' if _margin(contest, found) >= 0 else 'does not reach it'}"
    return f"{contest.names[int(np.argmax(found))]} comes first"


def _figure(contest: Contest, lever: Lever, beyond: str, found: tuple[float, float], again: Rerun) -> Figure:
    """Return a break-even as a figure, with the uncertainty that the margin has there."""
    before, after = found
    at = after if lever.whole else before
    draws = None if lever.whole else _draws(contest, lever, at, again)
    inputs = tuple(
        Input(f"{name}: {contest.quantity}", "asked again", figure=f"{case.key}.{contest.quantity}")
        for name, case in zip(contest.names, contest.cases, strict=True)
    )
    jumps = "the answer jumps there: what its inputs leave in doubt is not in it"
    remarks = () if draws is not None else (jumps,)
    key = f"verdict.{contest.key}.{beyond}.{lever.name.replace('_', '-')}"
    label = f"{lever.label[:1].upper()}{lever.label[1:]}, {beyond} which the answer changes"
    return Figure(
        key, label, lever.unit.label, lever.unit.dimension, at, "declared",
        Trace(_METHOD, _SOURCE, inputs), draws, remarks=remarks,
    )  # fmt: skip


def _draws(contest: Contest, lever: Lever, at: float, again: Rerun) -> Array | None:
    """Return draws of a break-even: the margin's over its slope; None where it jumps."""

    def margin(si: float) -> float:
        found = (again.value(case.key, contest.quantity, lever, si) for case in contest.cases)
        return _margin(contest, [contest.sign * value for value in found])

    step = (lever.high - lever.low) / 100
    slope = (margin(at + step) - margin(at - step)) / (2 * step)
    figures = [again.figure(case.key, contest.quantity, lever, at) for case in contest.cases]
    known = [f for f in figures if f is not None and f.si is not None]
    # A margin that is not near naught where it changes sign jumps there.
    if len(known) < len(figures) or not abs(margin(at)) <= abs(slope) * step:
        return None
    spread = _margin_draws(contest, known) - margin(at)
    return at - spread / slope if np.any(spread) else None


def _margin_draws(contest: Contest, figures: Sequence[Figure]) -> Array:
    count = contest.cases[0].draws.count
    drawn = [contest.sign * (np.full(count, f.si) if f.draws is None else f.draws) for f in figures]
    if contest.threshold_si is not None:
        return np.asarray(drawn[0] - contest.sign * contest.threshold_si)
    return np.asarray(drawn[0] - np.max(drawn[1:], axis=0))


def against_threshold(contest: Contest, number: int, threshold_si: float) -> Contest:
    """Return one airplane's contest against a threshold."""
    case, name = contest.cases[number], contest.names[number]
    return replace(
        contest, key=f"{contest.key}.{case.key}", cases=(case,), names=(name,), threshold_si=threshold_si
    )
