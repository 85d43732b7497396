"""The unit that a number written without one shares with another quantity."""

import re
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from flyoff.draft.measures import Measure, measure_named
from flyoff.draft.mention import COUNTED, Mention, readings_of
from flyoff.draft.numerals import Number
from flyoff.draft.tokens import Tokens

_SAME_UNIT = {"against", "versus", "vs", "and", "or", "to", "-", "–", "—", "from", "between"}


def with_shared_units(tokens: Tokens, found: list[Mention]) -> Iterator[Mention]:
    """Give a bare number the unit that it shares: '6,000 and 10,000 feet', 'instead of 120', '143 true'."""
    earlier: deque[Mention] = deque(maxlen=_COMPANIONS)
    for index, mention in enumerate(found):
        if mention.dimension == COUNTED:
            following = found[index + 1] if index + 1 < len(found) else None
            mention = _shared(tokens, mention, earlier, following)
        if mention.dimension != COUNTED:
            earlier.append(mention)
        yield mention


PART_OF = re.compile(r"of (?:its|the|our|her|his|my|your|these|those)(?: (?:usable|total))?")
"""What stands between a part and its whole: '8 of its 50 gallons', '8 gallons of the 50'."""
_GLIDE_RATIO = re.compile(r"\b(?:glide|gliding|lift to drag|l/d) ratio(?: of| is| was|:)?(?: about| some)? $")
_ENDS = {"", ".", ",", ";", "and", "so", "the", "which"}
_COMPARING = {("instead", "of"), ("rather", "than"), ("compared", "with"), ("compared", "to"), ("call", "it")}


def _shared(tokens: Tokens, bare: Mention, earlier: Sequence[Mention], after: Mention | None) -> Mention:
    before = earlier[-1] if earlier else None
    between = tokens.words[bare.last : after.first] if after else []
    if after and after.dimension != COUNTED and len(between) == 1 and between[0] in _SAME_UNIT:
        return _as(tokens, bare, after)
    if after and PART_OF.fullmatch(" ".join(between)) and bare.number < after.number:
        return _as(tokens, bare, after)  # '8 of its 50 gallons'
    following = tokens.word(bare.last)
    behind = " ".join(tokens.words[bare.last : bare.last + 3])
    spoken = _said_before(tokens, bare) or _SAID_BEHIND.get(following) or _SAID_BEHIND.get(behind)
    if spoken and 20 < bare.number < 500:
        return given_unit(bare, measure_named("kt"), spoken)
    if _GLIDE_RATIO.search(tokens.said(bare.start - _LEANS_OVER, bare.start)):
        return given_unit(bare, Measure("to 1", "glide_ratio", 1.0), "glide_ratio")
    back = (tokens.word(bare.first - 2), tokens.word(bare.first - 1))
    in_reach = before is not None and before.sentence == bare.sentence and _alike(bare, before)
    if before and in_reach and back[1] == "is" and following in _ENDS and bare.number >= 100:
        return _as(tokens, bare, before)  # 'the empty weight is twenty two hundred'
    if before and in_reach and (back in _COMPARING or back[1] in ("against", "versus", "vs")):
        return _as(tokens, bare, before)
    if before and in_reach and _parallel(tokens, bare, before):
        return _as(tokens, bare, before)
    if companion := _companion(tokens, bare, earlier):
        return _as(tokens, bare, companion)
    # Pilots leave out the feet: 'level at ten thousand', 'at 12,000'.
    high = bare.number >= 2000 and bare.number % 500 == 0 and bare.number <= 45000
    if high and back[1] == "at" and following not in ("rpm", "hours", "people", "dollars"):
        return given_unit(bare, measure_named("ft"), "altitude")
    return bare


def _parallel(tokens: Tokens, bare: Mention, before: Mention) -> bool:
    """Tell whether two numbers stand behind the same word: 'at 800 feet per minute, and at 400'."""
    at = tokens.word(bare.first - 1)
    return (
        at in ("at", "from", "to", "with", "on", "by")
        and at == tokens.word(before.first - 1)
        and tokens.word(bare.first - 2) in ("and", "or", "but")
    )


_COMPANIONS = 6
"""How many quantities back a bare number may share the unit of; own limit."""
_LEANS_OVER = 48
"""Letters on each side of a bare number that say what it leans on; own limit."""
_NUMBER_ENDS = re.compile(r"$| ?[.,;:)]| (?:and|so|but|the|which|or|is|are|takes?|would|will)\b")
_PARTED = ("volume", "mass", "time", "money", "length")
_SPEED_SAID = r"approach\w*|final|fence|stall\w*|cruis\w+|fl(?:y|ies|ew|ying)"
_ONE_OF_TWO = r"\b(?:the|that|this|its|our|my|your) (?:[a-z]+ ){0,2}?"
_DOES = (
    r"(?: ones?)?"
    r"(?: (?:at|is|was|has|had|does|did|makes|needs|needed|takes|took|weighs|costs|burns|flies|with|only))*"
)


class _Leaning(NamedTuple):
    """Words before and behind a bare number that say which earlier quantity has its unit.

    It is like that one in size, or a `part` of it; a `dimension` is given where the words tell it.
    """

    dimension: str
    ahead: re.Pattern[str]
    behind: re.Pattern[str]
    part: bool = False


def _ends_with(dimension: str, ahead: str) -> _Leaning:
    return _Leaning(dimension, re.compile(f"{ahead} $"), _NUMBER_ENDS)


def _begins_with(dimension: str, behind: str, *, part: bool) -> _Leaning:
    return _Leaning(dimension, re.compile(""), re.compile(behind), part)


_LEANING = (
    _Leaning(
        "", re.compile(r"\bof (?:which|that|this|these|those)(?: only| about| some)? $"), re.compile(""), True
    ),
    _begins_with(
        "volume",
        r" (?:of (?:them|it|these|those) )?(?:(?:held|kept|left|set aside) )?(?:in|as a|for) reserve\b"
        r"| (?:held|kept) back\b",
        part=True,
    ),
    _ends_with("mass", r"\bgross(?:es|ed|ing)(?: out)?(?: at)?"),
    _begins_with("", r" (?:more|less|fewer) than (?:[a-z]+ ){1,5}?with (?:its|their|his|her) \d", part=True),
    _ends_with("", rf"\b(?:that|this) one{_DOES}"),
    _Leaning("mass", re.compile(r"\bagainst (?:a|an|its) (?:[a-z]+ )?maximum of $"), re.compile("")),
    _ends_with(
        "",
        r"\b(?:rival|other|second|old one|new one),? (?:which|that) (?:manages|has|lifts|weighs|costs|needs)",
    ),
    _Leaning("mass", re.compile(r"\b(?:pilot|passenger|bags|baggage|luggage) $"), _NUMBER_ENDS, part=True),
    _begins_with("mass", r" (?:empty|gross|loaded|all up|fully loaded|at takeoff)\b", part=False),
    _ends_with("speed", rf"\b(?:{_SPEED_SAID})(?: (?:it|her|them|the approach|final))? at"),
    _ends_with("speed", r"\btimes (?:that|this|it|the stall)(?: speed)?,? (?:or|is|which is)?"),
    _ends_with("speed", rf"{_ONE_OF_TWO}(?:slower|faster|quicker){_DOES}"),
    _ends_with("mass", rf"{_ONE_OF_TWO}(?:lighter|heavier){_DOES}"),
    _ends_with("money", rf"{_ONE_OF_TWO}(?:cheaper|dearer){_DOES}"),
    _ends_with("power", r"\b(?:percent|per cent|%) of (?:its|the|her|our|a|those)(?: rated)?"),
    _ends_with("", r"\bthan (?:the |its )?[a-z]+(?: [a-z]+)? with (?:its|their|his|her|only|just)"),
    _ends_with(
        "",
        rf"{_ONE_OF_TWO}(?:other|second|first|latter|former|rival|larger|smaller|old|new|older|newer){_DOES}",
    ),
)


def _companion(tokens: Tokens, bare: Mention, earlier: Sequence[Mention]) -> Mention | None:
    """Return the quantity whose unit the words around a bare number give it: 'the slower one at 120'."""
    near = [m for m in reversed(earlier) if m.sentence == bare.sentence]
    if not near:
        return None
    ahead = tokens.said(bare.start - _LEANS_OVER, bare.start)
    behind = tokens.said(bare.end, bare.end + _LEANS_OVER)
    for words in _LEANING:
        if not (words.behind.match(behind) and words.ahead.search(ahead)):
            continue
        for other in near:
            fits = words.part and 0 < bare.number < other.number and other.dimension in _PARTED
            if words.dimension in ("", other.dimension) and (fits or _alike(bare, other)):
                return other
    return None


_SPOKEN = {
    "indicated": "indicated_airspeed",
    "indicating": "indicated_airspeed",
    "true": "true_airspeed",
    "truing": "true_airspeed",
    "needle": "indicated_airspeed",
    "dial": "indicated_airspeed",
}
_BETWEEN = {"airspeed", "speed", "is", "a", "about", "on", "says", "reads", "at"}
_SAID_BEHIND = {
    "true": "true_airspeed",
    "indicated": "indicated_airspeed",
    "on the dial": "indicated_airspeed",
    "on the clock": "indicated_airspeed",
}


def _said_before(tokens: Tokens, bare: Mention) -> str:
    """Return which airspeed the words before a bare number say it is: 'indicating one twenty'."""
    at = bare.first - 1
    while tokens.word(at) in _BETWEEN:
        at -= 1
    return _SPOKEN.get(tokens.word(at), "") if tokens.sentences[bare.first] == tokens.sentences[at] else ""


def _alike(bare: Mention, other: Mention) -> bool:
    return other.number != 0 and 0.4 < bare.number / other.number < 2.5 and other.dimension != "factor"


def _as(tokens: Tokens, bare: Mention, other: Mention) -> Mention:
    measures = dict.fromkeys(reading.measure for reading in other.readings)
    readings = readings_of(_number(bare), measures, bare.hedge)
    return replace(
        bare, dimension=other.dimension, readings=readings, role=other.measure.role, elliptic=True,
        sentence=tokens.sentences[bare.first],
    )  # fmt: skip


def given_unit(bare: Mention, measure: Measure, role: str) -> Mention:
    """Return a bare number with a unit, and what it is."""
    readings = readings_of(_number(bare), (measure,), bare.hedge)
    return replace(bare, dimension=measure.dimension, readings=readings, role=role, elliptic=True)


def _number(mention: Mention) -> Number:
    return Number(mention.number, mention.step, _round_step(mention), mention.last, mention.other)


def _round_step(mention: Mention) -> float:
    step = mention.step
    while mention.number and mention.number % (step * 10) == 0 and step < abs(mention.number):
        step *= 10
    return step
