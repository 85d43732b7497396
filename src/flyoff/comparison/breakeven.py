"""What would change a verdict: the value of each term beyond which another answer holds."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from flyoff.comparison.case import Case
from flyoff.comparison.questions import BAR
from flyoff.comparison.rerun import Lever, Rerun, levers
from flyoff.comparison.results import BreakEven
from flyoff.core.figure import Figure, Input, Trace, format_number
from flyoff.core.typing import Array

_STEPS = 5
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

    def between(self, numbers: Sequence[int]) -> "Contest":
        """Return the contest between some of the airplanes alone."""
        cases = tuple(self.cases[n] for n in numbers)
        return replace(self, cases=cases, names=tuple(self.names[n] for n in numbers))


@dataclass(frozen=True)
class Change:
    """How far a term was moved; where the answer changes, a bit beyond that, and between whom."""

    reached: float
    at: float | None = None
    past: float = 0.0
    between: tuple[int, ...] = (0,)


def break_evens(contest: Contest, again: Rerun) -> tuple[list[BreakEven], list[Figure], list[str]]:
    """Return what changes a contest, the figures of it, and the terms that change nothing in their range."""
    told: list[BreakEven] = []
    figures: list[Figure] = []
    unmoved: list[str] = []
    for lever in levers(contest.cases, contest.quantity, again.routes):
        reached = [lever.now, lever.now]
        before = len(told)
        for end, beyond in enumerate(("below", "above")):
            found = _change(contest, lever, beyond, again)
            reached[end] = found.reached
            if found.at is not None:
                figure = _figure(contest.between(found.between), lever, beyond, found.at, again)
                figures.append(figure)
                words = _words(contest, lever, beyond, found.past, again)
                told.append(BreakEven(lever.label, beyond, figure.key, words))
        if len(told) == before and reached[0] < reached[1]:
            unmoved.append(lever.between(*reached))
    return told, figures, unmoved


def _values(contest: Contest, lever: Lever, si: float, again: Rerun) -> tuple[float, ...]:
    """Return the airplanes' values so turned that more is better, none the worst."""
    found = (again.value(case.key, contest.quantity, lever, si) for case in contest.cases)
    return tuple(-np.inf if np.isnan(value) else contest.sign * value for value in found)


def _margin(contest: Contest, lever: Lever, si: float, again: Rerun) -> float:
    """Return by how much what must hold does; infinite where one side has no answer."""
    first, *rest = _values(contest, lever, si, again)
    if contest.threshold_si is not None:
        rest = [contest.sign * contest.threshold_si]
    return -np.inf if first == -np.inf else first - max(rest)


def _change(contest: Contest, lever: Lever, beyond: str, again: Rerun) -> Change:
    """Return where the answer changes; a term of the evidence is moved only as far as all have some."""

    def holds(si: float) -> bool:
        return _margin(contest, lever, si, again) >= 0

    as_it_is = holds(lever.now)
    before = lever.now
    for after in _walk(lever, beyond):
        if lever.of_evidence and -np.inf in _values(contest, lever, after, again):
            return Change(before)
        if holds(after) != as_it_is:
            break
        before = after
    else:
        return Change(before)
    fine = (lever.high - lever.low) * _FINE * (1 if beyond == "above" else -1)
    while True:
        between = _between(contest, lever, after, again)
        if lever.whole:
            return Change(after, after, after, between)
        at = _closed_in(contest.between(between), lever, (before, after), again)
        # Another may overtake between two steps, before the one who is ahead at the further.
        if abs(at - before) <= abs(fine) or holds(at - fine) == as_it_is:
            return Change(after, at, at + fine, between)
        after = at - fine


def _between(contest: Contest, lever: Lever, si: float, again: Rerun) -> tuple[int, ...]:
    """Return the first and whoever is ahead of it at a value of a term."""
    values = _values(contest, lever, si, again)
    ahead = int(np.argmax(values))
    return (0,) if len(values) == 1 else (0, ahead or 1)


def _closed_in(contest: Contest, lever: Lever, ends: tuple[float, float], again: Rerun) -> float:
    """Return where between two values the answer changes."""
    fine = (lever.high - lever.low) * _FINE
    margins = [_margin(contest, lever, si, again) for si in ends]
    if np.all(np.isfinite(margins)) and margins[0] * margins[1] < 0:
        try:
            return float(brentq(lambda si: _margin(contest, lever, si, again), *ends, xtol=fine))
        except ValueError:  # an answer goes missing between
            pass
    before, after = ends
    while abs(after - before) > fine:
        middle = (before + after) / 2
        same = (_margin(contest, lever, middle, again) >= 0) == (margins[0] >= 0)
        before, after = (middle, after) if same else (before, middle)
    return before


def _walk(lever: Lever, beyond: str) -> Iterator[float]:
    """Yield the values to look at, from that of the terms towards one end."""
    grid = (
        np.arange(lever.low, lever.high + 1)
        if lever.whole
        else np.linspace(lever.low, lever.high, _STEPS + 1)
    )
    ahead = grid[grid > lever.now] if beyond == "above" else grid[grid < lever.now][::-1]
    yield from map(float, ahead)


def _words(contest: Contest, lever: Lever, beyond: str, past: float, again: Rerun) -> str:
    """Return in words what holds beyond."""
    first, values = contest.names[0], _values(contest, lever, past, again)
    if values[0] == -np.inf:
        walk = (si for si in _walk(lever, beyond) if _values(contest, lever, si, again)[0] == -np.inf)
        far = next(walk, past)
        why = again.missing(contest.cases[0].key, contest.quantity, lever, far)
        return f"{first} has no figure; at {lever.said(far)}: {why}"
    if contest.threshold_si is not None:
        reaches = _margin(contest, lever, past, again) >= 0
        return f"{first} {'reaches it' if reaches else 'does not reach it'}"
    return f"{contest.names[int(np.argmax(values))]} comes first"


def _figure(contest: Contest, lever: Lever, beyond: str, at: float, again: Rerun) -> Figure:
    """Return a break-even as a figure, with the uncertainty that the margin has there."""
    draws = None if lever.whole else _draws(contest, lever, at, again)
    inputs = tuple(
        Input(f"{name}: {contest.quantity}", "asked again", figure=f"{case.key}.{contest.quantity}")
        for name, case in zip(contest.names, contest.cases, strict=True)
    )
    jumps = "the answer jumps there: what its inputs leave in doubt is not in it"
    remarks = () if draws is not None else (jumps,)
    undecided = _undecided(lever, draws)
    if undecided:
        draws, remarks = None, ()
    key = f"verdict.{contest.key}.{beyond}.{lever.name.replace('_', '-')}"
    label = f"{lever.label[:1].upper()}{lever.label[1:]}, {beyond} which the answer changes"
    return Figure(
        key, label, lever.unit.label, lever.unit.dimension, None if undecided else at, "declared",
        Trace(_METHOD, _SOURCE, inputs), draws, missing=undecided, remarks=remarks,
        grain_si=0.0 if lever.whole else (lever.high - lever.low) / 100,
    )  # fmt: skip


def _undecided(lever: Lever, draws: Array | None) -> str:
    """Return in words that a term does not decide: too few draws change their answer within its range."""
    if draws is None:
        return ""
    share = float(np.mean((draws >= lever.low) & (draws <= lever.high)))
    if share >= BAR:
        return ""
    crossing = f"{format_number(100 * share, 0)} % of draws"
    return f"it does not decide: with {lever.between(lever.low, lever.high)}, {crossing} change their answer"


def _draws(contest: Contest, lever: Lever, at: float, again: Rerun) -> Array | None:
    """Return draws of a break-even: the margin's over its slope; None where it jumps."""
    step = (lever.high - lever.low) / 100
    low, middle, high = (_margin(contest, lever, si, again) for si in (at - step, at, at + step))
    slope = (high - low) / (2 * step)
    # A margin that is not near naught where it changes sign jumps there.
    if not np.isfinite(slope) or not abs(middle) <= abs(slope) * step:
        return None
    figures = [again.figure(case.key, contest.quantity, lever, at) for case in contest.cases]
    known = [f for f in figures if f is not None and f.si is not None]
    if len(known) < len(figures):
        return None
    spread = _margin_draws(contest, known) - middle
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
