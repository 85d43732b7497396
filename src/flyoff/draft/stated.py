"""What a text says of its own quantities in words: two units, a difference, a sum, a percentage."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, islice, pairwise, product

from flyoff.draft.judging import MOST_COMBINATIONS, Impossible
from flyoff.draft.mention import Mention, Reading, one_author
from flyoff.draft.tokens import Tokens

_SYSTEMS: dict[str, frozenset[str]] = {
    "length": frozenset({"nmi", "mi", "km", "m", "ft", "in", "cm"}),
    "speed": frozenset({"kt", "mph", "km/h", "m/s", "ft/min"}),
    "mass": frozenset({"lb", "kg"}),
    "volume": frozenset({"US gal", "imp gal", "L"}),
    "power": frozenset({"hp", "PS", "kW"}),
    "temperature": frozenset({"°C", "°F"}),
    "volume_flow": frozenset({"US gal/h", "L/h"}),
    "surface_load": frozenset({"lb/ft²", "kg/m²"}),
    "area": frozenset({"ft²", "m²"}),
}
_SAME = re.compile(
    r"^\s*(?:(?:[a-z]+ )?\(|,?\s*or\b|,?\s*(?:which is|that is|thats|that's|i\.e\.|equals?|=|/))"
    r"\s*(?:about|some|roughly|just|over|under|nearly)?\s*$"
)
_CONVERSION_FRACTION = 0.003
"""How far a number is taken to be rounded before it was converted; own limit."""
_CONVERTED_AT_MOST = 3.0
"""By what factor what stands behind 'that is' may differ and still be a conversion gone wrong; own limit."""
_STATED = ("difference", "percent_difference", "total")
_DIFFERENCES = ("difference", "percent_difference")
_CONTRAST = re.compile(
    r",? ?(?:[a-z]+ ){0,5}?(?:against|versus|vs\.?|instead of|rather than|compared (?:with|to))"
    r"(?: [a-z]+){0,5}? "
)
_THAN = re.compile(r" [a-z]+ than (?:[a-z'’]+ ){1,5}")
_BEHIND = 2
"""How many quantities behind a difference or a percentage may belong to it; own limit."""
_BEFORE = 6
"""How many quantities before a sum or a difference may belong to it; own limit."""


def judge_stated(tokens: Tokens, mentions: Sequence[Mention]) -> Iterator[Impossible]:
    """Yield what a text says wrongly of its own quantities."""
    for a, b in pairwise(mentions):
        if found := _two_units(tokens, a, b):
            yield found
    for index, mention in enumerate(mentions):
        if mention.role not in _STATED:
            continue
        first = max(0, index - _BEFORE)
        near = mentions[first : index + 1 + _BEHIND]
        if found := _whatever_is_meant(tokens, near, index - first):
            yield replace(found, mention=mention)


def _whatever_is_meant(tokens: Tokens, near: Sequence[Mention], at: int) -> Impossible | None:
    """Return what is said against a quantity, if it is whichever way each comma and point is read."""
    accused = None
    for readings in filter(one_author, islice(product(*(m.alike for m in near)), MOST_COMBINATIONS)):
        meant = [replace(m, readings=(r,)) for m, r in zip(near, readings, strict=True)]
        found = _said_of(tokens, meant[at], meant[:at], meant[at + 1 :])
        if found is None:
            return None
        accused = accused or found
    return accused


def _said_of(
    tokens: Tokens, mention: Mention, before: Sequence[Mention], behind: Sequence[Mention]
) -> Impossible | None:
    earlier, later = (
        [m for m in some if m.sentence == mention.sentence and m.role not in _DIFFERENCES]
        for some in (before, behind)
    )
    if mention.role == "difference":
        terms = _same_kind(mention, earlier)
        if len(terms) == 1:
            terms += _more_than(tokens, mention, later)
        return _difference(mention, terms or _contrasted(tokens, mention, later))
    if mention.role == "percent_difference":
        return _percentage(tokens, mention, earlier, later)
    return _sum(mention, earlier)


def _two_units(tokens: Tokens, a: Mention, b: Mention) -> Impossible | None:
    between = tokens.said(a.end, b.start)
    if len(between) > 24 or a.measure == b.measure or not _SAME.match(between):
        return None
    pairs = [
        (x, y) for x in a.readings for y in b.readings
        if x.measure.dimension == y.measure.dimension and x.measure.label != y.measure.label
        and {x.measure.label, y.measure.label} <= _SYSTEMS.get(x.measure.dimension, frozenset())
    ]  # fmt: skip
    if not pairs or any(_overlap(_converted(x, a), y) for x, y in pairs):
        return None
    x, y = pairs[0]
    if "(" not in between and not 1 / _CONVERTED_AT_MOST < x.si / (y.si or 1e-9) < _CONVERTED_AT_MOST:
        return None
    expected = b.written(x.si, y.measure)
    why = f"one quantity in two units: '{a.text}' is {expected}, not '{b.text}'"
    return Impossible(b, "two_units", why, expected, (a,))


def _converted(reading: Reading, mention: Mention) -> tuple[float, float]:
    if mention.hedge:
        return reading.low, reading.high
    if reading.unlikely:
        return reading.low, reading.high
    factor = abs(reading.measure.factor)
    half = max(
        factor * mention.step / 2 if mention.step < 1 or abs(mention.number) < 100 else factor * 0.5,
        min((reading.high - reading.low) / 2, _CONVERSION_FRACTION * abs(factor * mention.number)),
    )
    return reading.si - half, reading.si + half


def _overlap(span: tuple[float, float], reading: Reading) -> bool:
    return span[0] <= reading.high and span[1] >= reading.low


def _same_kind(mention: Mention, others: Sequence[Mention]) -> list[Mention]:
    return [m for m in others if m.dimension == mention.dimension and m.role not in ("total", "wind_speed")]


def _alike(a: Mention, b: Mention) -> bool:
    """Tell whether two quantities may be the same of two things."""
    return a.role == b.role or "" in (a.role, b.role) or a.dimension == "power"


def _finest_half(mentions: Sequence[Mention]) -> float:
    return min((m.readings[0].high - m.readings[0].low) / 2 for m in mentions)


def _span(mention: Mention, half: float) -> tuple[float, float]:
    reading = mention.readings[0]
    return (reading.low, reading.high) if mention.hedge else (reading.si - half, reading.si + half)


def _contrasted(tokens: Tokens, mention: Mention, later: Sequence[Mention]) -> Sequence[Mention]:
    """Return the two quantities that explain a difference: 'so much lighter: a against b'."""
    terms = _same_kind(mention, later)
    if len(terms) != 2 or terms != list(later):
        return ()
    a, b = terms
    return terms if _CONTRAST.fullmatch(tokens.said(a.end, b.start)) else ()


def _more_than(tokens: Tokens, mention: Mention, later: Sequence[Mention]) -> list[Mention]:
    """Return what is measured against, behind 'so much more than': 'than the other with 790'."""
    other = _same_kind(mention, later)[:1]
    return [m for m in other if _THAN.fullmatch(tokens.said(mention.end, m.start))]


def _difference(mention: Mention, terms: Sequence[Mention]) -> Impossible | None:
    """Check 'a and b: so much lighter'. With more than two quantities before it, any two may be meant."""
    if len(terms) != 2 or not _alike(*terms):
        return None
    half = _finest_half(terms)
    (al, ah), (bl, bh) = (_span(m, half) for m in terms)
    low = max(0.0, bl - ah, al - bh)
    high = max(bh - al, ah - bl)
    aim = mention.readings[0]
    if aim.low <= high and aim.high >= low:
        return None
    a, b = terms
    expected = mention.written(abs(a.readings[0].si - b.readings[0].si))
    why = f"a difference: between '{a.text}' and '{b.text}' it is {expected}, not '{mention.text}'"
    return Impossible(mention, "difference", why, expected, (a, b))


_LESS = {"less", "fewer", "slower", "lighter", "cheaper", "shorter", "lower", "smaller"}


def _percentage(
    tokens: Tokens, mention: Mention, earlier: Sequence[Mention], later: Sequence[Mention]
) -> Impossible | None:
    """Check '10 percent faster': what is less is so much of the larger, what is more of the smaller."""
    near = [*earlier, *later]
    for dimension in {m.dimension for m in near if m.dimension not in ("ratio", "count", "factor")}:
        terms = [m for m in near if m.dimension == dimension]
        if len(terms) != 2 or not _alike(*terms):
            continue
        small, large = sorted((m.readings[0] for m in terms), key=lambda r: r.si)
        if small.low <= 0:
            continue
        less = tokens.word(mention.last) in _LESS
        ratios = [x / y for x, y in product((large.low, large.high), (small.low, small.high))]
        spans = [1 - 1 / r if less else r - 1 for r in ratios]
        aim = mention.readings[0]
        if aim.low <= max(spans) and aim.high >= min(spans):
            continue
        ratio = large.si / small.si
        expected = mention.written(1 - 1 / ratio if less else ratio - 1)
        pair = f"'{terms[0].text}' and '{terms[1].text}'"
        why = f"a percentage: {pair} differ by {expected}, not '{mention.text}'"
        return Impossible(mention, "percent_difference", why, expected, tuple(terms))
    return None


def _sum(mention: Mention, earlier: Sequence[Mention]) -> Impossible | None:
    """Check '18 and 22, 40 in all': all that went before, or some of it, must come to the total."""
    terms = _same_kind(mention, earlier)
    if len(terms) < 2:
        return None
    half = _finest_half(terms)
    aim = mention.readings[0]
    for count in range(len(terms), 1, -1):
        for chosen in combinations(terms, count):
            spans = [_span(m, half) for m in chosen]
            if aim.low <= sum(high for _, high in spans) and aim.high >= sum(low for low, _ in spans):
                return None
    expected = mention.written(sum(m.readings[0].si for m in terms))
    parts = " and ".join(f"'{m.text}'" for m in terms)
    return Impossible(
        mention, "sum", f"a sum: {parts} come to {expected}, not '{mention.text}'", expected, tuple(terms)
    )
