"""Numbers as people write and say them: digits, words, fractions, and how precisely they are meant."""

import re
from dataclasses import dataclass, replace

from flyoff.draft.tokens import Tokens

SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
    " sixteen seventeen eighteen nineteen"
)
ROUND = "twenty thirty forty fifty sixty seventy eighty ninety"
_UNITS = dict(zip(SMALL.split(), range(20), strict=True))
_TENS = dict(zip(ROUND.split(), range(2, 10), strict=True))
_SCALES = {"thousand": 1e3, "million": 1e6, "billion": 1e9}
_DIGIT_WORDS = {**{w: n for w, n in _UNITS.items() if n < 10}, "oh": 0, "o": 0}
_GLYPHS = {
    "½": 1 / 2,
    "¼": 1 / 4,
    "¾": 3 / 4,
    "⅓": 1 / 3,
    "⅔": 2 / 3,
    "⅛": 1 / 8,
    "⅜": 3 / 8,
    "⅝": 5 / 8,
    "⅞": 7 / 8,
}
_BEGINNINGS = frozenset([*_UNITS, *_TENS, *_GLYPHS, "a", "an", "half", "hundred", "point", "quarter"])
_NAMED_PARTS = {"half": 2, "third": 3, "quarter": 4, "fifth": 5, "eighth": 8, "tenth": 10}
_PARTS = {**_NAMED_PARTS, "halves": 2, **{f"{word}s": n for word, n in _NAMED_PARTS.items()}}
_SLASHED = {2, 3, 4, 8}
PART_STEP = 0.2
"""How finely halves and quarters are meant; own limit."""
_GROUPED = re.compile(r"[1-9]\d{0,2}(?:[.,]\d{3})+")
_MOST_DIGITS = 15
"""What a float holds; a longer one is a serial number."""
_LONGEST = 14
"""Words in a number; own limit."""


@dataclass(frozen=True)
class Number:
    """A number: its value, the step that it is written in, and the token behind it.

    `step` is the unit of the last digit written (1 for 140, 0.1 for 9.1);
    `round_step` that of the last digit that is not zero (10 for 140).
    """

    value: float
    step: float
    round_step: float
    end: int
    other: "Number | None" = None
    """What it is where its comma, point or space means the other thing: 1,140 as 1.14."""

    def scaled(self, factor: float, end: int) -> "Number":
        """Return the number times a factor, as by 'thousand'."""
        other = self.other.scaled(factor, end) if self.other else None
        return Number(self.value * factor, self.step * factor, self.round_step * factor, end, other)

    def negated(self) -> "Number":
        """Return the number below zero."""
        return replace(self, value=-self.value, other=self.other.negated() if self.other else None)


def may_begin_number(word: str) -> bool:
    """Tell whether a number may begin with a token."""
    return word[:1] == "." or word[:1].isdecimal() or word in _BEGINNINGS


def number_at(tokens: Tokens, i: int) -> Number | None:
    """Return the number that begins at token `i`, or nothing."""
    word = tokens.word(i)
    if word[:1].isdecimal() or (word[:1] == "." and word[1:2].isdecimal()):
        return _digits(tokens, i)
    if word in _GLYPHS:
        return Number(_GLYPHS[word], PART_STEP, PART_STEP, i + 1)
    if word in _BEGINNINGS:
        return _words(tokens, i)
    return None


def _digits(tokens: Tokens, i: int) -> Number | None:
    text, other = notations(tokens.word(i), tokens.decimal_mark)
    if len(text) > _MOST_DIGITS:
        return None
    decimals = len(text.partition(".")[2])
    number = _as_written(text, i + 1)
    value = number.value
    if other:
        number = replace(number, other=_as_written(other, i + 1))
    after = tokens.word(i + 1)
    if after in _GLYPHS and not decimals:
        return Number(value + _GLYPHS[after], PART_STEP, PART_STEP, i + 2)
    if fraction := _slashed(tokens, i + 1):
        return Number(value + fraction, PART_STEP, PART_STEP, i + 4)
    if after == "/" and (whole := _slashed(tokens, i)):
        return Number(whole, PART_STEP, PART_STEP, i + 3)
    if after in _SCALES or after == "hundred":
        return number.scaled(_SCALES.get(after, 100.0), i + 2)
    if after == "k" and tokens.touching(i + 1):
        return number.scaled(1e3, i + 2)
    if after == "and" and (part := _part(tokens, i + 2)):
        return Number(value + part.value, PART_STEP, PART_STEP, part.end)
    return number


def notations(word: str, decimal_mark: str = "") -> tuple[str, str]:
    """Return digits with a point before the decimals, and what else they may be, or nothing.

    A group of three behind one comma or one point is thousands or decimals; behind one space, thousands or
    a number of its own. `decimal_mark` is what the text elsewhere has before decimals, where that is sure.
    Nobody writes 8.000 ft for eight feet.

    >>> notations("46,6"), notations("1.140,5"), notations("1,140"), notations("1 140")
    (('46.6', ''), ('1140.5', ''), ('1140', '1.140'), ('1140', '140'))
    """
    word = re.sub("['’\u00a0\u2009\u202f]", "", word)
    marks = [mark for mark in word if not mark.isdecimal()]
    if not marks or word.startswith("."):
        return word, ""
    digits = "".join(letter for letter in word if letter.isdecimal())
    last = word.rpartition(marks[-1])[2]
    fraction = f"{digits[: -len(last)]}.{last}"
    if marks[-1] == " ":
        return digits, last if len(marks) == 1 and last[0] != "0" else ""
    if len(set(marks)) > 1:
        return fraction, ""
    if not _GROUPED.fullmatch(word):
        return fraction, ""
    if len(marks) > 1:
        return digits, ""
    if marks[0] != decimal_mark and (decimal_mark or digits.endswith("00")):
        return digits, ""
    decimal = marks[0] == (decimal_mark or ".")
    return (fraction, digits) if decimal else (digits, fraction)


def _as_written(text: str, end: int) -> Number:
    return _exact(float(text), 10.0 ** -len(text.partition(".")[2]), end)


def _slashed(tokens: Tokens, i: int) -> float:
    """Return 3/4 and the like written at token `i`; a runway 09/27 is none."""
    top, slash, bottom = tokens.word(i), tokens.word(i + 1), tokens.word(i + 2)
    if slash == "/" and top.isdecimal() and bottom.isdecimal() and tokens.touching(i + 1) and len(top) == 1:
        return int(top) / int(bottom) if int(bottom) in _SLASHED and int(top) < int(bottom) else 0.0
    return 0.0


def _exact(value: float, step: float, end: int) -> Number:
    round_step = step
    # 1e-9: a whole number of steps, but for the last bit of a float.
    while (
        value
        and round_step < abs(value)
        and abs(value / round_step / 10 - round(value / round_step / 10)) < 1e-9
    ):
        round_step *= 10
    return Number(value, step, round_step, end)


def _part(tokens: Tokens, i: int) -> Number | None:
    """Return 'a half', 'three quarters', 'half' at token `i`, as a number below one."""
    word = tokens.word(i)
    count, at = (1, i + 1) if word in ("a", "an", "one") else (_UNITS.get(word, 0), i + 1)
    if not count:
        count, at = 1, i
    if tokens.word(at) == "-":
        at += 1
    bottom = _PARTS.get(tokens.word(at))
    if bottom is None or count >= bottom or (at == i and tokens.word(at) not in ("half", "quarter")):
        return None
    return Number(count / bottom, PART_STEP, PART_STEP, at + 1)


def _words(tokens: Tokens, i: int) -> Number | None:
    if part := _part(tokens, i):
        return part
    whole = _whole(tokens, i)
    if whole is None:
        return _decimals(tokens, i, 0.0) if tokens.word(i) == "point" else None
    if tokens.word(whole.end) == "point" and (decimal := _decimals(tokens, whole.end, whole.value)):
        return decimal
    if tokens.word(whole.end) == "and" and (part := _part(tokens, whole.end + 1)):
        return Number(whole.value + part.value, PART_STEP, PART_STEP, part.end)
    return whole


def _decimals(tokens: Tokens, point: int, whole: float) -> Number | None:
    digits, at = "", point + 1
    while len(digits) < 6 and (word := tokens.word(at)) in _DIGIT_WORDS:
        digits, at = f"{digits}{_DIGIT_WORDS[word]}", at + 1
    if not digits and (tens := _TENS.get(tokens.word(at))):  # point forty three
        unit = _DIGIT_WORDS.get(tokens.word(at + 1), 0)
        digits, at = str(tens * 10 + unit), at + (2 if unit else 1)
    if not digits:
        return None
    scale = _SCALES.get(tokens.word(at), 1.0)
    number = Number(whole + float(f"0.{digits}"), 10.0 ** -len(digits), 10.0 ** -len(digits), at)
    return number.scaled(scale, at + 1) if scale > 1 else number


def _whole(tokens: Tokens, i: int) -> Number | None:
    """Return a whole number in words: 'a hundred and forty', 'one forty seven', 'twenty-six hundred'."""
    total, current, last, at = 0.0, 0.0, "", i
    while at - i < _LONGEST:
        word = tokens.word(at)
        if word == "-" and last in ("tens", "units") and tokens.touching(at) and tokens.touching(at + 1):
            at += 1
            continue
        if word in ("a", "an"):
            if last or tokens.word(at + 1) not in ("hundred", "thousand", "million"):
                break
            current, last = 1.0, "a"
        elif word == "and":
            following = tokens.word(at + 1)
            if last not in ("hundred", "thousand") or not (following in _UNITS or following in _TENS):
                break
            if last == tokens.word(at + 2):  # 'between two hundred and two hundred and ten'
                break
        elif word in _UNITS:
            value = float(_UNITS[word])
            if last in ("units", "a") or (last == "tens" and value >= 10):
                if not _spoken_pair(last, current, value):
                    break
                current *= 100
            current, last = current + value, "units"
        elif word in _TENS:
            if last in ("units", "tens"):
                if not 0 < current < 100:
                    break
                current *= 100
            current, last = current + 10.0 * _TENS[word], "tens"
        elif word == "hundred" and last in ("", "a", "units", "tens"):
            current, last = max(current, 1.0) * 100, "hundred"
        elif word in _SCALES and last:
            total, current, last = total + max(current, 1.0) * _SCALES[word], 0.0, "thousand"
        else:
            break
        at += 1
    return _exact(total + current, 1.0, at) if last and last != "a" else None


def _spoken_pair(last: str, current: float, value: float) -> bool:
    """Tell whether two numbers said one after the other are one: 'one fifteen', 'twenty twelve'."""
    return last in ("units", "tens") and 0 < current < 100 and 10 <= value < 100
