"""Whether quantities of a text can be true together: each relation tried on what stands near each other."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice, product

import numpy as np

from flyoff.core.typing import Array
from flyoff.core.units import celsius
from flyoff.draft.mention import Mention, Reading, one_author
from flyoff.draft.relations import RELATIONS, Assumed, Relation, Slot, standard_temperature

NEAREST = 3
"""How many quantities are tried in one place of a relation, the nearest first; own limit."""
MOST_COMBINATIONS = 64
SENTENCES = 4
"""Sentences before and behind one that may belong to it; own limit."""
REACH = 60
"""Words over which quantities of different sentences are taken together; own limit."""
EDGE = 1e-6
"""What rounding of floats may move an interval's end by, as a fraction."""


@dataclass(frozen=True)
class Impossible:
    """A quantity that others contradict: which relation, what it says, what was expected."""

    mention: Mention
    relation: str
    why: str
    expected: str
    others: tuple[Mention, ...] = ()


@dataclass(frozen=True)
class Silent:
    """A quantity that is true only if what the text leaves out was so."""

    mention: Mention
    relation: str
    why: str


@dataclass(frozen=True)
class _Bound:
    """What takes one place of a relation: a quantity of the text, or an assumption."""

    mention: Mention | None
    readings: tuple[Reading, ...]
    assumed: Assumed | None = None


@dataclass(frozen=True)
class _Trial:
    """One assignment tried: below (-1), within (0) or above (+1) what the relation allows.

    `usual` is what it predicts with what is assumed as it usually is.
    """

    side: int
    bound: tuple[_Bound, ...]
    expected_si: float
    usual: tuple[float, float] = (0.0, 0.0)
    within_usual: bool = True


class _Index:
    """The quantities of a block by dimension and role, and within these by sentence."""

    def __init__(self, mentions: Sequence[Mention]) -> None:
        self.found: dict[tuple[str, str], dict[int, list[Mention]]] = {}
        for mention in mentions:
            for dimension in {reading.measure.dimension for reading in mention.readings}:
                sentences = self.found.setdefault((dimension, mention.role), {})
                sentences.setdefault(mention.sentence, []).append(mention)

    def all(self, dimension: str, role: str) -> Iterator[Mention]:
        """Yield every quantity of a role."""
        for mentions in self.found.get((dimension, role), {}).values():
            yield from mentions

    def near(self, dimension: str, role: str, sentence: int, reach: int) -> Iterator[Mention]:
        """Yield the quantities of a role so many sentences around one."""
        sentences = self.found.get((dimension, role), {})
        for number in range(sentence - reach, sentence + reach + 1) if sentences else ():
            yield from sentences.get(number, ())


def judge(mentions: Sequence[Mention], text_of: Sequence[str]) -> Iterator[Impossible | Silent]:
    """Yield what cannot be true together in one block; `text_of` gives each sentence in small letters."""
    index = _Index(mentions)
    for relation in RELATIONS:
        for role in relation.target.roles:
            for target in index.all(relation.target.dimension, role):
                sentence = text_of[target.sentence]
                if relation.unless and re.search(relation.unless, sentence):
                    continue
                if relation.needs and not re.search(relation.needs, sentence):
                    continue
                if verdict := _judge_one(relation, target, index, sentence):
                    yield verdict


def _judge_one(
    relation: Relation, target: Mention, index: _Index, sentence: str
) -> Impossible | Silent | None:
    places: list[Sequence[Mention | None]] = []
    for slot in relation.inputs:
        candidates = _candidates(slot, relation, target, index)
        if not candidates and slot.assume is None:
            return None
        if slot.name == relation.lone and len(candidates) > 1:
            return None
        places.append(candidates or [None])
    trials = []
    for chosen in islice(product(*places), MOST_COMBINATIONS):
        named = [m for m in chosen if m is not None]
        if len({id(m) for m in named}) < len(named) or not _one_airplane(relation, target, named):
            continue
        if not _well_paired(relation, chosen):
            continue
        if trial := _try(relation, target, chosen, sentence):
            trials.append(trial)
    return _verdict(relation, target, trials)


def _well_paired(relation: Relation, chosen: Sequence[Mention | None]) -> bool:
    """Tell whether what belongs to one thing stands together: each flow by its own speed."""
    places = [m.first if m else 0 for m in chosen]
    for (a, b), (c, d) in combinations(relation.pairs, 2):
        together = abs(places[a] - places[b]) + abs(places[c] - places[d])
        if together > abs(places[a] - places[d]) + abs(places[c] - places[b]):
            return False
    return True


def _verdict(relation: Relation, target: Mention, trials: Sequence[_Trial]) -> Impossible | Silent | None:
    """Accuse only where every assignment fails, and all to the same side."""
    sides = {trial.side for trial in trials}
    if sides in ({-1}, {1}):
        return _impossible(relation, target, trials[0])
    good = [trial for trial in trials if trial.side == 0]
    if good and not any(trial.within_usual for trial in good):
        return _silent(relation, target, good[0])
    return None


def _candidates(slot: Slot, relation: Relation, target: Mention, index: _Index) -> list[Mention]:
    reach = SENTENCES if relation.scope == "paragraph" else 0
    found = [
        mention
        for role in slot.roles
        for mention in index.near(slot.dimension, role, target.sentence, reach)
        if mention is not target and _in_scope(relation, target, mention)
    ]
    # A speed said to be over the ground is the one that covers distance; a named role goes before none.
    if slot.dimension == "speed" and any(m.role == "ground_speed" for m in found):
        found = [m for m in found if m.role == "ground_speed"]
    elif any(m.role for m in found):
        found = [m for m in found if m.role or m.sentence == target.sentence]
    # What stands between the same semicolons belongs together.
    found = [m for m in found if m.clause == target.clause] or found
    return sorted(found, key=lambda m: abs(m.first - target.first))[:NEAREST]


def _in_scope(relation: Relation, target: Mention, other: Mention) -> bool:
    if other.sentence == target.sentence:
        return True
    near = abs(other.first - target.first) <= REACH
    return relation.scope == "paragraph" and near and other.airplane == target.airplane


def _one_airplane(relation: Relation, target: Mention, named: Sequence[Mention]) -> bool:
    owners = {m.airplane for m in (target, *named) if m.airplane}
    return not relation.one_airplane or len(owners) <= 1


def _try(
    relation: Relation, target: Mention, chosen: Sequence[Mention | None], sentence: str
) -> _Trial | None:
    bound = _bind(relation, chosen, sentence)
    if relation.exact:
        bound = _finest(bound)
    best: _Trial | None = None
    for readings in product(*(b.readings for b in bound)):
        for aim in target.readings:
            if aim.measure.dimension != relation.target.dimension:
                continue
            if aim.unlikely and relation.side != "both":
                continue  # a range of 1.4 nmi is at most anything
            if not one_author((aim, *readings)):
                continue
            trial = _compare(relation, aim, bound, readings)
            if trial is None:
                return None
            if trial.side == 0:
                return trial
            best = best or trial
    return best


def _bind(relation: Relation, chosen: Sequence[Mention | None], sentence: str) -> tuple[_Bound, ...]:
    bound: list[_Bound] = []
    for slot, mention in zip(relation.inputs, chosen, strict=True):
        if mention is not None:
            readings = tuple(r for r in mention.readings if r.measure.dimension == slot.dimension)
            bound.append(_Bound(mention, readings))
            continue
        if slot.assume == "isa":
            altitude = next(b for b, s in zip(bound, relation.inputs, strict=False) if s.name == "altitude")
            assumed = standard_temperature(altitude.readings[0].si)
        else:
            assert slot.assume is not None
            assumed = slot.assume(sentence)
        measure = replace(bound[0].readings[0].measure, dimension=slot.dimension)
        reading = Reading(assumed.usual, assumed.low, assumed.high, measure)
        bound.append(_Bound(None, (reading,), assumed))
    return tuple(bound)


def _finest(bound: tuple[_Bound, ...]) -> tuple[_Bound, ...]:
    """Take round numbers to the finest digit written beside them: 2,600 less 1,640 is 960."""
    exact = [b for b in bound if b.mention and not b.mention.hedge]
    halves = [(r.high - r.low, r.unlikely) for b in exact for r in b.readings]
    finest = {
        unlikely: min((width / 2 for width, other in halves if other == unlikely), default=0.0)
        for unlikely in (False, True)
    }
    return tuple(
        replace(b, readings=tuple(_within(r, finest[r.unlikely]) for r in b.readings)) if b in exact else b
        for b in bound
    )


def _within(reading: Reading, half: float) -> Reading:
    return replace(reading, low=reading.si - half, high=reading.si + half)


def _compare(
    relation: Relation, aim: Reading, bound: tuple[_Bound, ...], readings: Sequence[Reading]
) -> _Trial | None:
    """Set what the relation predicts from the corners of what is written against what is written."""
    corners = [_corners(index, len(readings), r.low, r.high) for index, r in enumerate(readings)]
    try:
        predicted = np.asarray(relation.predict(*corners), dtype=float)
        expected_si = float(relation.predict(*(r.si for r in readings)))
    except (ValueError, ZeroDivisionError, FloatingPointError):
        return None  # outside the physics' validity: nothing can be said
    if not np.isfinite(predicted).all():
        return None
    slack = relation.slack * abs(expected_si) + relation.slack_si + EDGE * abs(expected_si)
    low, high = float(predicted.min()) - slack, float(predicted.max()) + slack
    side = 1 if aim.low > high else -1 if aim.high < low else 0
    if (relation.side == "at most" and side < 0) or (relation.side == "at least" and side > 0):
        side = 0
    if not any(b.assumed for b in bound) or relation.key != "true_airspeed":
        return _Trial(side, bound, expected_si)
    usual_low, usual_high = _as_usual(relation, bound, readings, slack)
    within = usual_low <= aim.high and aim.low <= usual_high
    return _Trial(side, bound, expected_si, (usual_low, usual_high), within)


def _corners(index: int, count: int, low: float, high: float) -> Array:
    pattern = (np.arange(2**count) >> index) & 1
    return np.where(pattern, high, low)


def _as_usual(
    relation: Relation, bound: tuple[_Bound, ...], readings: Sequence[Reading], slack: float
) -> tuple[float, float]:
    """Return what a relation predicts with what is assumed as it usually is."""
    usual = [
        replace(r, low=r.si, high=r.si) if b.assumed else r for b, r in zip(bound, readings, strict=True)
    ]
    corners = [_corners(index, len(usual), r.low, r.high) for index, r in enumerate(usual)]
    predicted = np.asarray(relation.predict(*corners), dtype=float)
    return float(predicted.min()) - slack, float(predicted.max()) + slack


def _impossible(relation: Relation, target: Mention, trial: _Trial) -> Impossible:
    others = tuple(b.mention for b in trial.bound if b.mention is not None)
    expected = target.written(trial.expected_si)
    given = [_given(slot, b) for slot, b in zip(relation.inputs, trial.bound, strict=True)]
    bar = {"both": "", "at most": "at most ", "at least": "more than "}[relation.side]
    why = f"{relation.says}: {', '.join(given)}: that gives {bar}{expected}, not '{target.text}'"
    if any(b.assumed for b in trial.bound) and relation.key == "true_airspeed":
        why += f"; it would take {_needed(target, trial)}"
    return Impossible(target, relation.key, why, f"{bar}{expected}", others)


def _given(slot: Slot, bound: _Bound) -> str:
    if bound.mention is not None:
        return f"{slot.name} '{bound.mention.text}'"
    return f"{bound.assumed.words} assumed" if bound.assumed else slot.name


def _needed(target: Mention, trial: _Trial) -> str:
    """Return the temperature that would make a true airspeed true, which goes as its square root."""
    index = next(i for i, b in enumerate(trial.bound) if b.assumed)
    usual_k = trial.bound[index].readings[0].si
    aim, (slowest, fastest) = target.readings[0], trial.usual
    speeds = (aim.si / trial.expected_si, aim.low / fastest, aim.high / slowest)
    middle, low, high = (f"{usual_k * s**2 - celsius(0.0):.0f}".replace("-", "−") for s in speeds)
    departure = f"{usual_k * speeds[0] ** 2 - usual_k:+.0f}".replace("-", "−")
    return f"about {middle} °C (standard {departure}; {low} to {high} °C with the errors of the readings)"


def _silent(relation: Relation, target: Mention, trial: _Trial) -> Silent:
    others = ", ".join(f"'{b.mention.text}'" for b in trial.bound if b.mention)
    usual = target.written(trial.expected_si)
    why = (
        f"with {others} it holds at {_needed(target, trial)}; the text gives no temperature,"
        f" and at standard temperature it would be {usual}"
    )
    return Silent(target, relation.key, why)
