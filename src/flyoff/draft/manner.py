"""How an author wrote a quantity, and the same with another value: digits, words, fractions, parts."""

import re
from dataclasses import dataclass
from typing import TypeAlias

from flyoff.draft.mention import Mention
from flyoff.draft.numerals import ROUND, SMALL, Number, notations, number_at
from flyoff.draft.tokens import tokens_of

SCALES = {"": 1.0, "k": 1e3, "hundred": 1e2, "thousand": 1e3, "million": 1e6, "m": 1e6}
_GLYPHS = {0.25: "¼", 0.5: "½", 0.75: "¾"}
_SPOKEN = {0.25: "a quarter", 0.5: "a half", 0.75: "three quarters"}
_SMALL, _TENS = SMALL.split(), ROUND.split()
_DIGITS = re.compile(r"\d[\d,.'’ \u00a0\u2009\u202f]*\d|\.?\d+")
_FRACTION = re.compile(r"half|quarter|[½¼¾]|\d/\d")
_PARTS_OF = {"h": 60, "min": 60, "ft": 12, "lb": 16}
"""How many of the smaller unit make one of the larger, where a quantity is said in two."""
_CLOCK = re.compile(r"(\d+):(\d\d)(?::(\d\d))?(?!\d)(.*)", re.DOTALL)
_PLURALS = {
    "hour": "hours", "hr": "hrs", "minute": "minutes", "second": "seconds", "foot": "feet", "inch": "inches",
    "pound": "pounds", "ounce": "ounces", "gallon": "gallons", "litre": "litres", "liter": "liters",
    "knot": "knots", "mile": "miles",
}  # fmt: skip
_SINGULARS = {many: one for one, many in _PLURALS.items()}
_ONE = ("1", "one", "a", "an")


@dataclass(frozen=True)
class Plain:
    """One number: what stands before it, the number, and what stands behind."""

    before: str
    number: str
    behind: str
    read: Number

    @property
    def in_fractions(self) -> bool:
        """Whether it is said in halves and quarters."""
        return bool(_FRACTION.search(self.number))

    @property
    def is_scaled(self) -> bool:
        """Whether it is digits, perhaps with 'thousand' or the like: no fraction."""
        digits = _DIGITS.match(self.number)
        return digits is not None and self.number[digits.end() :].strip().lower() in SCALES

    @property
    def spelled(self) -> bool:
        """Whether it is in words."""
        return not re.search(r"\d", self.number)

    def write(self, value: float, step: float) -> str:
        """Return it with another value, to a step."""
        return self.with_number(number_text(value, step, self.number))

    def with_number(self, number: str) -> str:
        """Return it with another number."""
        return f"{self.before}{number}{counted(self.behind, self.number, number)}"


@dataclass(frozen=True)
class InParts:
    """A quantity in two units: 'two hours and twenty minutes', '2h20', '6 feet 2 inches'."""

    larger: str
    unit: str
    joint: str
    smaller: str
    behind: str
    per: int

    @property
    def grain(self) -> int:
        """How many of the smaller unit it is told in: minutes are in fives, where its author's are."""
        value = number_at(tokens_of(self.smaller), 0)
        return 5 if self.per == 60 and value and value.value % 5 == 0 else 1

    def write(self, count: int) -> str:
        """Return it with so many of its smaller unit in all; a part that is nothing is left out."""
        larger, smaller = divmod(count, self.per)
        named = bool(self.behind.strip())
        if larger and not smaller and named:
            return self._larger(larger)
        number = _whole(smaller, self.smaller)
        if self.smaller.isdecimal() and (self.smaller.startswith("0") or not named):
            number = f"{smaller:02d}"
        last = number + counted(self.behind, self.smaller, number)
        return last if not larger and named else self._larger(larger) + self.joint + last

    def _larger(self, count: int) -> str:
        number = _whole(count, self.larger)
        return number + counted(self.unit, self.larger, number)


@dataclass(frozen=True)
class Clock:
    """Hours, minutes, and perhaps seconds with colons: '2:20 hours', '2:07:30 h'."""

    seconds: bool
    width: int
    behind: str
    grain: int

    @property
    def per(self) -> int:
        """How many of its smallest unit make an hour."""
        return 3600 if self.seconds else 60

    def write(self, count: int) -> str:
        """Return it with so many of its smallest unit."""
        hours, rest = divmod(count, self.per)
        minutes, seconds = divmod(rest, 60) if self.seconds else (rest, 0)
        tail = f":{seconds:02d}" if self.seconds else ""
        return f"{hours:0{self.width}d}:{minutes:02d}{tail}{self.behind}"


@dataclass(frozen=True)
class HourAndPart:
    """'An hour and a half', which only ever says quarters."""

    hour: str

    def write(self, quarters: int) -> str:
        """Return it with so many quarters of an hour."""
        if quarters == 4:
            return f"{self.hour} hour"
        if 4 < quarters < 8:
            return f"{self.hour} hour and {_SPOKEN[quarters / 4 - 1]}"
        return f"{number_text(quarters / 4, 0.25, 'two and a half')} hours"


Manner: TypeAlias = Plain | InParts | Clock | HourAndPart


def manner_of(mention: Mention) -> Manner | None:
    """Return how a quantity is written, or nothing where that is none of the ways known here."""
    text = mention.text
    if clock := _CLOCK.fullmatch(text):
        fives = int(clock[2]) % 5 == 0 and not clock[3]
        return Clock(bool(clock[3]), len(clock[1]), clock[4], 5 if fives else 1)
    if hour := re.fullmatch(
        r"(an|a|one)\s+hour\s+and\s+(?:a|three)\s+(?:half|quarters?)", text, re.IGNORECASE
    ):
        return HourAndPart(hour[1])
    tokens = tokens_of(text)
    numbers: list[tuple[int, int, Number | None]] = []
    i = 0
    while i < len(tokens):
        number = number_at(tokens, i)
        if number is None and i == 0 and tokens.word(0) in ("a", "an", "one") and tokens.word(1) == "hour":
            numbers.append((0, tokens.ends[0], None))
        elif number and (tokens.word(i) not in ("a", "an") if numbers else i < 3):
            numbers.append((tokens.starts[i], tokens.ends[number.end - 1], number))
            i = number.end
            continue
        i += 1
    if len(numbers) == 2:
        return _in_parts(mention, numbers)
    start, end, read = numbers[0] if len(numbers) == 1 else (0, 0, None)
    return Plain(text[:start], text[start:end], text[end:], read) if read else None


def _in_parts(mention: Mention, numbers: list[tuple[int, int, Number | None]]) -> InParts | None:
    (start, end, _), (start_2, end_2, read) = numbers
    text, per = mention.text, _PARTS_OF.get(mention.measure.label)
    between = re.fullmatch(r"(\s*[^\W\d_]+\.?)(.*)", text[end:start_2], re.DOTALL)
    if start or not per or not between or not read or read.step != 1.0:
        return None
    return InParts(text[:end], between[1], between[2], text[start_2:end_2], text[end_2:], per)


def number_text(value: float, step: float, like: str) -> str:
    """Return a number to a step, in the manner of another.

    >>> number_text(1123.4, 10, "1,090"), number_text(2.5, 0.25, "2 1/4"), number_text(9, 1, "eight")
    ('1,123', '2 1/2', 'nine')
    """
    digits = _DIGITS.match(like)
    tail = like[digits.end() :] if digits else ""
    if digits and (scale := SCALES.get(tail.strip().lower())):
        return _digits(value / scale, step / scale, digits[0]) + tail
    if digits or _FRACTION.search(like):
        return _quartered(round(4 * value) / 4, like)
    return in_words(round(value), like) if step >= 1 else _pointed(value, step, like)


def counted(unit: str, before: str, now: str) -> str:
    """Return a unit behind a number, which is one or many: 'hours' where there was an 'hour'.

    >>> counted(" hour", "an", "two"), counted(" nautical miles", "3", "1"), counted("-hour", "1", "2")
    (' hours', ' nautical mile', '-hour')
    """
    names = _SINGULARS if now.lower() in _ONE else _PLURALS
    if (before.lower() in _ONE) == (now.lower() in _ONE) or not unit[:1].isspace():
        return unit
    return re.sub(
        r"^(\s+(?:(?:nautical|statute|us|imperial)\s+)?)([^\W\d_]+)",
        lambda found: found[1] + names.get(found[2].lower(), found[2]),
        unit,
    )


def _whole(number: int, like: str) -> str:
    if like[:1].isdecimal():
        return str(number)
    return like if number == 1 and like.lower() in _ONE else in_words(number, like)


def _digits(value: float, step: float, like: str) -> str:
    decimals = next((d for d in range(7) if step >= 0.999 * 10.0**-d), 6)
    group, point = _marks(like)
    text = (
        f"{value:,.{decimals}f}" if group or len(re.split(r"[.,]", like)[0]) < 4 else f"{value:.{decimals}f}"
    )
    return text.replace(".", "\0").replace(",", group or "," * (point == ".")).replace("\0", point)


def _marks(like: str) -> tuple[str, str]:
    """Return what a number has between its thousands, and before its decimals."""
    marks = [mark for mark in like if not mark.isdecimal()]
    fraction = notations(like)[0].partition(".")[2]
    point = marks[-1] if marks and fraction else "," if "." in marks else "."
    groups = marks[:-1] if fraction else marks
    return (groups[0] if groups else ""), point


def _quartered(value: float, like: str) -> str:
    whole, part = int(value), value - int(value)
    if not part:
        return str(whole) if re.search(r"\d|[½¼¾]", like) else in_words(whole, like)
    if "/" in like:
        top, bottom = {0.25: (1, 4), 0.5: (1, 2), 0.75: (3, 4)}[part]
        return f"{whole} {top}/{bottom}" if whole else f"{top}/{bottom}"
    if re.search(r"[½¼¾]", like):
        return f"{whole or ''}{_GLYPHS[part]}"
    words = str(whole) if re.search(r"\d", like) else in_words(whole, like)
    return f"{words} and {_SPOKEN[part]}" if whole else _SPOKEN[part]


def _pointed(value: float, step: float, like: str) -> str:
    decimals = next((d for d in range(7) if step >= 0.999 * 10.0**-d), 6)
    whole, _, part = f"{value:.{decimals}f}".partition(".")
    return f"{in_words(int(whole), like)} point {' '.join(_SMALL[int(digit)] for digit in part)}"


def in_words(number: int, like: str = "") -> str:
    """Return a whole number in words, in the manner of other words.

    >>> in_words(142, "a hundred and forty one"), in_words(142, "one forty one"), in_words(95, "ninety-one")
    ('a hundred and forty two', 'one forty two', 'ninety-five')
    """
    if number < 20:
        return _SMALL[number]
    if number < 100:
        tens, unit = divmod(number, 10)
        joint = "-" if "-" in like else " "
        return _TENS[tens - 2] + (joint + _SMALL[unit] if unit else "")
    if number >= 1000:
        thousands, rest = divmod(number, 1000)
        like = re.sub(r"^an? ", "", like)
        return f"{in_words(thousands, like)} thousand" + (f" {in_words(rest, like)}" if rest else "")
    hundreds, rest = divmod(number, 100)
    if "hundred" not in like and rest >= 10:
        return f"{_SMALL[hundreds]} {in_words(rest, like)}"
    head = "a hundred" if hundreds == 1 and re.match(r"an? ", like) else f"{_SMALL[hundreds]} hundred"
    joint = " and " if " and " in like else " "
    return f"{head}{joint}{in_words(rest, like)}" if rest else head
