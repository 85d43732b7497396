"""Every quantity of a text: its number, unit, place, and the interval that its writer can have meant."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from flyoff.core.figure import format_number
from flyoff.core.units import find_unit
from flyoff.draft.measures import SIGNS, Measure, quotient_at, unit_at
from flyoff.draft.numerals import Number, number_at
from flyoff.draft.tokens import Tokens

ABOUT_FRACTION = 0.05
"""How far 'about', 'nearly' and 'over' may reach; own limit."""
ROUND_FRACTION = 0.01
"""How much rounding is granted to a number that ends in zeros; own limit."""
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
_AT_THE_HOUR = {"at", "until", "by", "since", "before", "after"}
_COUNTED = "count"


Notation: TypeAlias = Literal["", "usual", "swapped", "apart"]
"""Comma and point as thousands and decimals usually go, or the other way round; or a space that divides."""


@dataclass(frozen=True)
class Reading:
    """One meaning of what is written: a value in SI, and the interval that its rounding leaves open."""

    si: float
    low: float
    high: float
    measure: Measure
    notation: Notation = ""
    """How its comma, point or space was taken, where that may be two things."""

    @property
    def unlikely(self) -> bool:
        """Whether its comma, point or space is taken for what it less likely is."""
        return self.notation in ("swapped", "apart")


@dataclass(frozen=True)
class Mention:
    """A quantity where it stands: letters `start` to `end` of the text, tokens `first` to `last`."""

    start: int
    end: int
    first: int
    last: int
    text: str
    sentence: int
    number: float
    step: float
    dimension: str
    readings: tuple[Reading, ...]
    hedge: str = ""
    role: str = ""
    airplane: str = ""
    elliptic: bool = False
    clause: int = 0
    figure: str = ""
    other: Number | None = None

    @property
    def alike(self) -> tuple[Reading, ...]:
        """The readings in the likeliest unit: one, but where a comma or a point may mean two things."""
        return tuple(r for r in self.readings if r.measure == self.measure)

    @property
    def measure(self) -> Measure:
        """The unit, in its likeliest meaning."""
        return self.readings[0].measure

    def written(self, value_si: float, measure: Measure | None = None, coarsest_si: float = 0.0) -> str:
        """Return another value in this one's unit and precision, or in `coarsest_si` if that is coarser."""
        measure = measure or self.measure
        step = max(self.step, 0.999 * coarsest_si / measure.factor)
        decimals = next((d for d in range(-6, 7) if step >= 0.999 * 10.0**-d), 6)
        if not coarsest_si:
            decimals = max(decimals, 0)
        number_text = format_number(measure.from_si(value_si), decimals)
        if measure.dimension == "money":
            return f"{measure.label} {number_text}"
        return f"{number_text} {measure.label}".rstrip()


def mentions_of(tokens: Tokens) -> list[Mention]:
    """Return every quantity in a text, in order; plain counts and dates have the dimension ``count``."""
    found: list[Mention] = []
    clauses = [i for i, word in enumerate(tokens.words) if word == ";"]
    i = 0
    while i < len(tokens):
        mention = _mention_at(tokens, i, found[-1] if found else None)
        if mention is None:
            i += 1
            continue
        if found and (joined := _joined(tokens, found[-1], mention)):
            found[-1] = joined
        else:
            found.append(mention)
        i = max(mention.last, i + 1)
    placed = [replace(m, clause=bisect_left(clauses, m.first)) for m in found]
    return list(_with_shared_units(tokens, placed))


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
    if sign < 0 and not (measures and measures[0].dimension == "temperature"):
        number, first = number.negated(), i  # 'useful load minus fuel' subtracts
    if not measures:
        return _bare(tokens, first, number)
    if measures[0].dimension == "temperature" and measures[0].label == "°C" and len(measures) == 2:
        measures = measures if tokens.word(at) != "°" or abs(number.value) < 45 else measures[1:]
    return _mention(tokens, first, end, number, measures)


def _an_hour(tokens: Tokens, i: int) -> Mention | None:
    """Read the hour of 'an hour and a half', 'an hour and ten minutes'; that of 'gallons an hour' is none."""
    if tokens.word(i) not in ("a", "an", "one") or tokens.words[i + 1 : i + 3] != ["hour", "and"]:
        return None
    if unit_at(tokens, i - 1)[0] or not (more := number_at(tokens, i + 3)):
        return None
    if more.value < 1:
        number = Number(1 + more.value, more.step, more.round_step, more.end)
        return _mention(tokens, i, more.end, number, (unit_at_label("h"),))
    return _mention(tokens, i, i + 2, Number(1.0, 1.0, 1.0, i + 2), (unit_at_label("h"),))


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
        return _mention(tokens, i, end, Number(0.0, 1.0, 1.0, end), (Measure("", _COUNTED, 1.0),))
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
    if (by == ":" and one == "1" and tokens.touching(number.end + 1)) or (by == "to" and one in ("1", "one")):
        return _mention(tokens, first, number.end + 2, number, (Measure("to 1", "glide_ratio", 1.0),))
    if by == "times" or (by == "×" and tokens.word(number.end + 1) != ""):
        return _mention(tokens, first, number.end + 1, number, (Measure("times", "factor", 1.0),))
    return None


def _money(tokens: Tokens, first: int, number: Number, money: Measure) -> Mention:
    if tokens.word(number.end) == "m" and tokens.touching(number.end):
        number = number.scaled(1e6, number.end + 1)
    measures, end = quotient_at(tokens, (money,), number.end)
    return _mention(tokens, first, end, number, measures)


def _bare(tokens: Tokens, first: int, number: Number) -> Mention | None:
    """Keep a number without a unit as a count, where it is written in digits or is no small word."""
    digits = tokens.word(first)[:1].isdecimal()
    if not digits and abs(number.value) < 10 and number.step == 1.0:
        return None
    return _mention(tokens, first, number.end, number, (Measure("", _COUNTED, 1.0),))


def _mention(tokens: Tokens, first: int, end: int, number: Number, measures: tuple[Measure, ...]) -> Mention:
    start, stop = tokens.starts[first], tokens.ends[end - 1]
    hedge = _hedge(tokens, first, end)
    if measures[0].dimension.startswith("money") and number.value >= 1000:
        number = replace(number, other=None)  # no price has three decimals
    return Mention(
        start, stop, first, end, tokens.text[start:stop], tokens.sentences[first], number.value, number.step,
        measures[0].dimension, _readings(number, measures, hedge), hedge, measures[0].role,
        other=number.other,
    )  # fmt: skip


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


def half_width(number: Number, measure: Measure) -> float:
    """Return how far the number meant may lie from the one written, in its unit."""
    value, step = abs(number.value), number.step
    half = step / 2
    if measure.dimension == "time":
        if measure.label == "h" and step == 1.0:
            return 0.25  # 'three hours' is said to the quarter hour
        if measure.label == "min" and value % 5 == 0 and value > 5:
            return 2.5
    return max(half, min(number.round_step / 2, ROUND_FRACTION * value))


def _readings(number: Number, measures: Iterable[Measure], hedge: str) -> tuple[Reading, ...]:
    likely = tuple(_reading(number, measure, hedge) for measure in measures)
    if number.other is None:
        return likely
    other = _readings(number.other, measures, hedge)
    thousandfold = max(number.value / number.other.value, number.other.value / number.value) > 999
    if not thousandfold:  # 4 180 as 180
        return (*likely, *(replace(r, notation="apart") for r in other))
    usual = tuple(replace(r, notation="usual") for r in likely)
    return (*usual, *(replace(r, notation="swapped") for r in other))


def one_notation(readings: Iterable[Reading]) -> bool:
    """Tell whether quantities are read by one author's commas and points."""
    return not {"usual", "swapped"} <= {reading.notation for reading in readings}


def _reading(number: Number, measure: Measure, hedge: str) -> Reading:
    half = half_width(number, measure)
    wide = max(half, ABOUT_FRACTION * abs(number.value), min(number.round_step / 2, 0.1 * abs(number.value)))
    below = wide if hedge in ("about", "under") else half
    above = wide if hedge in ("about", "over") else half
    if measure.dimension == "temperature":
        below, above = (max(side, 0.5) for side in (below, above))
    return Reading(
        measure.to_si(number.value),
        measure.to_si(number.value - below),
        measure.to_si(number.value + above),
        measure,
    )


_JOINED = {("h", "min"), ("ft", "in"), ("min", "s"), ("lb", "oz")}


def _joined(tokens: Tokens, a: Mention, b: Mention) -> Mention | None:
    """Join 'two hours' with 'and twenty minutes', '6 feet' with '2 inches', 'an hour' with 'and a half'."""
    between = tokens.words[a.last : b.first]
    pair = (a.measure.label, b.measure.label)
    if pair[0] == "h" and not between and _minutes(tokens, a, b):
        b, pair = _given(b, unit_at_label("min"), ""), ("h", "min")
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
    return b.dimension == _COUNTED and (touching or (len(digits) == 2 and tokens.word(a.last - 1) == "h"))


_SAME_UNIT = {"against", "versus", "vs", "and", "or", "to", "-", "–", "—", "from", "between"}


def _with_shared_units(tokens: Tokens, found: list[Mention]) -> Iterator[Mention]:
    """Give a bare number the unit that it shares: '6,000 and 10,000 feet', 'instead of 120', '143 true'."""
    previous: Mention | None = None
    for index, mention in enumerate(found):
        if mention.dimension == _COUNTED:
            following = found[index + 1] if index + 1 < len(found) else None
            mention = _shared(tokens, mention, previous, following)
        if mention.dimension != _COUNTED:
            previous = mention
        yield mention


_ENDS = {"", ".", ",", ";", "and", "so", "the", "which"}
_COMPARING = {("instead", "of"), ("rather", "than"), ("compared", "with"), ("compared", "to"), ("call", "it")}


def _shared(tokens: Tokens, bare: Mention, before: Mention | None, after: Mention | None) -> Mention:
    between = tokens.words[bare.last : after.first] if after else []
    if after and after.dimension != _COUNTED and len(between) == 1 and between[0] in _SAME_UNIT:
        return _as(tokens, bare, after)
    following = tokens.word(bare.last)
    behind = " ".join(tokens.words[bare.last : bare.last + 3])
    spoken = _said_before(tokens, bare) or _SAID_BEHIND.get(following) or _SAID_BEHIND.get(behind)
    if spoken and 20 < bare.number < 500:
        return _given(bare, unit_at_label("kt"), spoken)
    back = (tokens.word(bare.first - 2), tokens.word(bare.first - 1))
    in_reach = before is not None and before.sentence == bare.sentence and _alike(bare, before)
    if before and in_reach and back[1] == "is" and following in _ENDS and bare.number >= 100:
        return _as(tokens, bare, before)  # 'the empty weight is twenty two hundred'
    if before and in_reach and (back in _COMPARING or back[1] in ("against", "versus", "vs")):
        return _as(tokens, bare, before)
    # Pilots leave out the feet: 'level at ten thousand', 'at 12,000'.
    high = bare.number >= 2000 and bare.number % 500 == 0 and bare.number <= 45000
    if high and back[1] == "at" and following not in ("rpm", "hours", "people", "dollars"):
        return _given(bare, unit_at_label("ft"), "altitude")
    return bare


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


def unit_at_label(label: str) -> Measure:
    """Return a unit by the label that the table of units has for it."""
    unit = find_unit(label)
    return Measure(unit.label, unit.dimension, unit.factor, unit.offset)


def _alike(bare: Mention, other: Mention) -> bool:
    return other.number != 0 and 0.4 < bare.number / other.number < 2.5 and other.dimension != "factor"


def _as(tokens: Tokens, bare: Mention, other: Mention) -> Mention:
    measures = dict.fromkeys(reading.measure for reading in other.readings)
    readings = _readings(_number(bare), measures, bare.hedge)
    return replace(
        bare, dimension=other.dimension, readings=readings, role=other.measure.role, elliptic=True,
        sentence=tokens.sentences[bare.first],
    )  # fmt: skip


def _given(bare: Mention, measure: Measure, role: str) -> Mention:
    readings = _readings(_number(bare), (measure,), bare.hedge)
    return replace(bare, dimension=measure.dimension, readings=readings, role=role, elliptic=True)


def _number(mention: Mention) -> Number:
    return Number(mention.number, mention.step, _round_step(mention), mention.last, mention.other)


def _round_step(mention: Mention) -> float:
    step = mention.step
    while mention.number and mention.number % (step * 10) == 0 and step < abs(mention.number):
        step *= 10
    return step
