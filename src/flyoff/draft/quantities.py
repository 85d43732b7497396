"""Every quantity of a text: its number, unit, place, and the interval that its writer can have meant."""

import re
from bisect import bisect_left
from dataclasses import replace

from flyoff.draft.companions import given_unit, with_shared_units
from flyoff.draft.measures import SIGNS, Measure, measure_named, quotient_at, unit_at
from flyoff.draft.mention import COUNTED, Mention, Reading, readings_of
from flyoff.draft.numerals import Number, may_begin_number, number_at
from flyoff.draft.tokens import Tokens

_ABOUT = {
    "about",
    "around",
    "roughly",
    "approximately",
    "some",
    "circa",
    "approx",
    "~",
    "≈",
    "maybe",
    "perhaps",
}
_UNDER = {"nearly", "almost", "under", "below"}
_OVER = {"over", "above", "exceeds", "exceeding"}
_BELOW_PHRASES = {("less", "than"), ("up", "to"), ("at", "most"), ("no", "more"), ("close", "to")}
_ABOVE_PHRASES = {("more", "than"), ("at", "least"), ("better", "than"), ("upwards", "of")}
_LASTING = re.compile(
    r"in|within|for|after|with|and|about|almost|nearly|over|than|is|was|leaves"
    r"|(?:keep|sav|last|need|tak)(?:e|s|es|ed|ing)?|took"
)
"""What goes before 'an hour' where it is a time: 'an hour costs' tells none."""
ADJECTIVES = {"rated", "usable", "indicated", "true", "extra"}
"""What may stand between a number and its unit: '230 rated horsepower'."""
_AT_THE_HOUR = {"at", "until", "by", "since", "before", "after"}


def mentions_of(tokens: Tokens) -> list[Mention]:
    """Return every quantity in a text, in order; plain counts and dates have the dimension ``count``."""
    found: list[Mention] = []
    clauses = [i for i, word in enumerate(tokens.words) if word == ";" or _divides(tokens, i)]
    i = 0
    while i < len(tokens):
        begins = _may_begin(tokens.words[i])
        mention = _mention_at(tokens, i, found[-1] if found else None) if begins else None
        if mention is None:
            i += 1
            continue
        if found and (joined := _joined(tokens, found[-1], mention)):
            found[-1] = joined
        else:
            found.append(mention)
        i = max(mention.last, i + 1)
    placed = [replace(m, clause=bisect_left(clauses, m.first)) for m in found] if clauses else found
    return [m for m in with_shared_units(tokens, placed) if not _small_word(tokens, m)]


def _may_begin(word: str) -> bool:
    """Tell whether a quantity may begin with a token."""
    return word in SIGNS or may_begin_number(word)


def _divides(tokens: Tokens, i: int) -> bool:
    """Tell whether token `i` is the colon of a sentence; that of 10:1 and of 2:07 hours is none."""
    return tokens.words[i] == ":" and tokens.touching(i) and not tokens.touching(i + 1)


def _mention_at(tokens: Tokens, i: int, before: Mention | None) -> Mention | None:
    first, sign, money = i, 1.0, SIGNS.get(tokens.word(i))
    if money:
        i += 2 if tokens.word(i + 1) == "." else 1
    if not money and (time := _an_hour(tokens, i) or _clock(tokens, i)):
        return time
    number = number_at(tokens, i)
    if number is None:
        return None
    if i == first and _minus(tokens, i, before):
        first, sign = i - 1, -1.0
        number = number.negated()
    if ratio := _ratio(tokens, first, number):
        return ratio
    if money:
        return _money(tokens, first, number, money)
    at = number.end + (1 if tokens.word(number.end) == "-" else 0)
    if tokens.word(at) == "of" and tokens.word(at + 1) in ("a", "an") and number.value < 1:
        at += 2
    elif tokens.word(at) in ("a", "an") and number.value == 0.5:  # half an hour
        at += 1
    measures, end = unit_at(tokens, at)
    if not measures and tokens.word(at) in ADJECTIVES:
        measures, end = unit_at(tokens, at + 1)
    if sign < 0 and not (measures and measures[0].dimension == "temperature"):
        number, first = number.negated(), i  # 'useful load minus fuel' subtracts
    if not measures:
        return _bare(tokens, first, number)
    if measures[0].dimension == "temperature" and measures[0].label == "°C" and len(measures) == 2:
        measures = measures if tokens.word(at) != "°" or abs(number.value) < 45 else measures[1:]
    return _mention(tokens, first, end, number, measures)


def _an_hour(tokens: Tokens, i: int) -> Mention | None:
    """Read 'an hour', 'an hour and a half', 'an hour and ten minutes'; that of 'gallons an hour' is none."""
    if tokens.word(i) not in ("a", "an", "one") or tokens.word(i + 1) != "hour" or unit_at(tokens, i - 1)[0]:
        return None
    more = number_at(tokens, i + 3) if tokens.word(i + 2) == "and" else None
    if more is None:
        lasts = _LASTING.fullmatch(tokens.word(i - 1))
        return (
            _mention(tokens, i, i + 2, Number(1.0, 1.0, 1.0, i + 2), (measure_named("h"),)) if lasts else None
        )
    if more.value < 1:
        number = Number(1 + more.value, more.step, more.round_step, more.end)
        return _mention(tokens, i, more.end, number, (measure_named("h"),))
    return _mention(tokens, i, i + 2, Number(1.0, 1.0, 1.0, i + 2), (measure_named("h"),))


def _clock(tokens: Tokens, i: int) -> Mention | None:
    """Read '2:07 hours' and '2:07:30 h'; '10:30 hours' behind 'at' is a time of day."""
    parts, at = [tokens.word(i)], i + 1
    while len(parts) < 3 and tokens.word(at) == ":" and _two_digits(tokens, at + 1) and tokens.touching(at):
        parts, at = [*parts, tokens.word(at + 1)], at + 2
    if len(parts) == 1 or not parts[0].isdecimal() or len(parts[0]) > 3:
        return None
    measures, end = unit_at(tokens, at)
    if not measures or measures[0].label != "h":
        return None
    if tokens.word(i - 1) in _AT_THE_HOUR:
        return _mention(tokens, i, end, Number(0.0, 1.0, 1.0, end), (Measure("", COUNTED, 1.0),))
    step = 60.0 ** (1 - len(parts))
    value = sum(int(part) * 60.0**-place for place, part in enumerate(parts))
    return _mention(tokens, i, end, Number(value, step, step, end), measures)


def _two_digits(tokens: Tokens, i: int) -> bool:
    """Tell whether two digits of minutes or seconds stand right behind what is before."""
    word = tokens.word(i)
    return len(word) == 2 and word.isdecimal() and word < "60" and tokens.touching(i)


def _minus(tokens: Tokens, i: int, before: Mention | None) -> bool:
    """Tell whether a minus sign stands before token `i`; a dash between two numbers is none."""
    word = tokens.word(i - 1)
    dash = word in ("-", "−", "–") and tokens.touching(i) and not tokens.touching(i - 1)
    return word == "minus" or (dash and (before is None or before.last < i))


def _ratio(tokens: Tokens, first: int, number: Number) -> Mention | None:
    """Read '10:1' and '9.5 to one'."""
    by, one = tokens.word(number.end), tokens.word(number.end + 1)
    to_one = by == "to" and one in ("1", "one") and not _goes_on(tokens, number.end + 1)
    if to_one or (by == ":" and one == "1" and tokens.touching(number.end + 1)):
        return _mention(tokens, first, number.end + 2, number, (Measure("to 1", "glide_ratio", 1.0),))
    if by == "times" or (by == "×" and tokens.word(number.end + 1) != ""):
        return _mention(tokens, first, number.end + 1, number, (Measure("times", "factor", 1.0),))
    return None


def _goes_on(tokens: Tokens, i: int) -> bool:
    """Tell whether more of a number follows its first word: 'ninety to one hundred' is no ratio."""
    number = number_at(tokens, i)
    return number is not None and number.end > i + 1


def _money(tokens: Tokens, first: int, number: Number, money: Measure) -> Mention:
    if tokens.word(number.end) == "m" and tokens.touching(number.end):
        number = number.scaled(1e6, number.end + 1)
    measures, end = quotient_at(tokens, (money,), number.end)
    return _mention(tokens, first, end, number, measures)


def _bare(tokens: Tokens, first: int, number: Number) -> Mention | None:
    """Keep a number without a unit as a count: the words around it may yet give it one."""
    if tokens.word(first) == "one" and number.end == first + 1:
        return None
    if tokens.word(first) == "one" and tokens.word(first - 1) in ("that", "this", "other"):
        first, number = first + 1, number_at(tokens, first + 1) or number  # 'that one twelve'
    return _mention(tokens, first, number.end, number, (Measure("", COUNTED, 1.0),))


def _small_word(tokens: Tokens, mention: Mention) -> bool:
    """Tell whether a count is a small word, as 'one' mostly is, and so no quantity."""
    digits = tokens.word(mention.first)[:1].isdecimal()
    small = abs(mention.number) < 10 and mention.step == 1.0
    return mention.dimension == COUNTED and small and not digits


def _mention(tokens: Tokens, first: int, end: int, number: Number, measures: tuple[Measure, ...]) -> Mention:
    if measures[0].dimension == "money":
        measures = _per_period(tokens, first, measures)
    start, stop = tokens.starts[first], tokens.ends[end - 1]
    hedge = _hedge(tokens, first, end)
    if measures[0].dimension.startswith("money") and number.value >= 1000:
        number = replace(number, other=None)  # no price has three decimals
    return Mention(
        start, stop, first, end, tokens.text[start:stop], tokens.sentences[first], number.value, number.step,
        measures[0].dimension, readings_of(number, measures, hedge), hedge, measures[0].role,
        other=number.other, decimal_mark=tokens.decimal_mark or _mark_for(tokens.text[start:stop], number),
    )  # fmt: skip


def _mark_for(text: str, number: Number) -> str:
    """Return what goes before decimals where thousands are written with a point: 385.000 euros."""
    return "," if number.value >= 1000 and _POINTED.search(text) else "."


_POINTED = re.compile(r"\d\.\d{3}(?!\d)")
_IS_PAID = {"costs", "cost", "is", "was", "at", "comes", "to", "runs", "about", "some", "nearly", "over", ":"}


def _per_period(tokens: Tokens, first: int, money: tuple[Measure, ...]) -> tuple[Measure, ...]:
    """Return what an amount is per, where that goes before it: 'an hour costs CHF 229, a year CHF 50,000'."""
    at = first - 1
    while tokens.word(at) in _IS_PAID and at > first - 5:
        at -= 1
    for back in (1, 2):  # 'an hour', 'a flying hour'
        measures, end = quotient_at(tokens, money, at - back)
        if end == at + 1:
            return measures
    return money


def _hedge(tokens: Tokens, first: int, end: int) -> str:
    for back in range(1, 4):
        word, earlier = tokens.word(first - back), tokens.word(first - back - 1)
        if word in _ABOUT or (tokens.word(end), tokens.word(end + 1)) == ("or", "so"):
            return "about"
        if (earlier, word) in _ABOVE_PHRASES or word in _OVER:
            return "over"
        if (earlier, word) in _BELOW_PHRASES or word in _UNDER:
            return "under"
        if word not in ("a", "an", "the", "just", "well", "only"):
            break
    return ""


_JOINED = {("h", "min"), ("ft", "in"), ("min", "s"), ("lb", "oz")}


def _joined(tokens: Tokens, a: Mention, b: Mention) -> Mention | None:
    """Join 'two hours' with 'and twenty minutes', '6 feet' with '2 inches', 'an hour' with 'and a half'."""
    between = tokens.words[a.last : b.first]
    pair = (a.measure.label, b.measure.label)
    if pair[0] == "h" and not between and _minutes(tokens, a, b):
        b, pair = given_unit(b, measure_named("min"), ""), ("h", "min")
    if pair[0] == "h" and between == ["and"] and b.dimension == COUNTED and 0 < b.number < 1:
        b, pair = given_unit(b, measure_named("h"), ""), ("h", "min")  # 'two hours and a half'
    if pair not in _JOINED or [w for w in between if w not in ("and", ",")] or b.number >= 60:
        return None
    half = (b.readings[0].high - b.readings[0].low) / 2
    si = a.readings[0].si + b.readings[0].si
    # In its own unit the sum has the finer part's precision, said in the larger unit's hundredths.
    return replace(
        a, end=b.end, last=b.last, text=tokens.text[a.start : b.end], number=a.measure.from_si(si), step=0.01,
        readings=(Reading(si, si - half, si + half, a.measure),),
    )  # fmt: skip


def _minutes(tokens: Tokens, a: Mention, b: Mention) -> bool:
    """Tell whether what follows hours is minutes without their name: '3h20', '3 h 05', '3h20m'."""
    touching, digits = tokens.touching(b.first), tokens.word(b.first)
    if not digits.isdecimal() or b.number >= 60:
        return False
    if b.measure.label == "m":
        return len(digits) == 2 and tokens.word(a.last - 1) == "h" and tokens.touching(b.last - 1)
    return b.dimension == COUNTED and (touching or (len(digits) == 2 and tokens.word(a.last - 1) == "h"))
