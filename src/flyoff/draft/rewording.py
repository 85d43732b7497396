"""Other words for a quantity: its author's unit, precision and manner, another value."""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from flyoff.draft.claims import Known, agrees
from flyoff.draft.mention import Mention
from flyoff.draft.numerals import ROUND, SMALL, Number, notations, number_at
from flyoff.draft.quantities import mentions_of
from flyoff.draft.tokens import tokens_of

_AROUND = 400
"""Letters on either side that may give a quantity its meaning; own limit."""
_FINER = 3
"""How many digits may be added where the author's do not tell the value; own limit."""
_SCALES = {"": 1.0, "k": 1e3, "hundred": 1e2, "thousand": 1e3, "million": 1e6, "m": 1e6}
_GLYPHS = {0.25: "¼", 0.5: "½", 0.75: "¾"}
_SPOKEN = {0.25: "a quarter", 0.5: "a half", 0.75: "three quarters"}
_SMALL, _TENS = SMALL.split(), ROUND.split()


@dataclass(frozen=True)
class _Written:
    """A quantity's text in three: before its number, the number, and behind it."""

    before: str
    number: str
    behind: str
    read: Number


def reworded(text: str, mention: Mention, known: Known) -> str | None:
    """Return what to write in a text instead of a quantity, or nothing where no words are sure to be read so.

    Every answer has been read again in its place, and says the figure with the author's unit and hedge.
    """
    parts = _parts(mention.text)
    readings = [r for r in mention.readings if r.measure.dimension == known.dimension]
    if parts is None or not readings:
        return None
    difference = mention.role == "difference"
    aim_si = abs(known.si) if difference else known.si
    measure = min(readings, key=lambda r: abs(r.si - aim_si)).measure
    aim, known_step = abs(measure.from_si(aim_si)), abs(known.step_si / measure.factor)
    for candidate in _candidates(parts, aim, known_step):
        if _is_read(text, mention, candidate, known):
            return candidate
    return None


def _parts(text: str) -> _Written | None:
    """Return a quantity's text around its number; nothing where it has several."""
    tokens = tokens_of(text)
    for i in range(min(3, len(tokens))):
        number = number_at(tokens, i)
        if number is None:
            continue
        start, end = tokens.starts[i], tokens.ends[number.end - 1]
        if any(number_at(tokens, j) and tokens.word(j) not in ("a", "an")
               for j in range(number.end, len(tokens))):  # fmt: skip
            return _Written(text[:start], text[start:], "", number) if _clock(text[start:]) else None
        return _Written(text[:start], text[start:end], text[end:], number)
    return None


def _is_read(text: str, mention: Mention, candidate: str, known: Known) -> bool:
    start = max(mention.start - _AROUND, 0)
    around = text[start : mention.start] + candidate + text[mention.end : mention.end + _AROUND]
    begin = mention.start - start
    for found in mentions_of(tokens_of(around)):
        if (found.start, found.end) == (begin, begin + len(candidate)):
            same = found.dimension == mention.dimension and found.hedge == mention.hedge
            return same and agrees(found, known, magnitude=mention.role == "difference")
    return False


def _candidates(parts: _Written, aim: float, known_step: float) -> Iterator[str]:
    """Yield the ways to write a value, the author's own manner and precision first."""
    if clock := _clock(parts.number):
        yield parts.before + _at_clock(clock, aim)
        return
    for number in _numbers(parts, aim, known_step):
        yield f"{parts.before}{number}{parts.behind}"


def _numbers(parts: _Written, aim: float, known_step: float) -> Iterator[str]:
    digits = re.match(r"\d[\d,.'’ \u00a0\u2009\u202f]*\d|\.?\d+", parts.number)
    tail = parts.number[digits.end() :] if digits else ""
    if digits and (scale := _SCALES.get(tail.strip().lower())):
        for value, step in _rounded(parts.read, aim, known_step):
            yield _digits(value / scale, step / scale, digits[0]) + tail
        return
    if digits or re.search(r"half|quarter|[½¼¾]", parts.number):
        quarters = round(aim * 4) / 4
        yield _quartered(quarters, parts.number)
    elif not digits:
        for value, step in _rounded(parts.read, aim, known_step):
            if step >= 1:
                yield in_words(round(value), parts.number)
            else:
                yield _pointed(value, step, parts.number)
    for decimals in range(1, _FINER):
        yield f"{aim:,.{decimals}f}"


def _rounded(read: Number, aim: float, known_step: float) -> Iterator[tuple[float, float]]:
    """Yield a value rounded as coarsely as its author did, or as its uncertainty asks, then finer."""
    step = max(read.round_step, 10.0 ** round(math.log10(known_step)) if known_step > 0 else 0.0)
    finest = read.step * 10.0**-_FINER
    while step >= 0.999 * finest:
        for rounding in (round, math.ceil, math.floor):
            yield rounding(aim / step) * step, min(step, read.step)
        step /= 10


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


def _clock(text: str) -> re.Match[str] | None:
    """Return the parts of hours and minutes in digits: '3 hours 42 minutes', '3:42 hours'."""
    return re.fullmatch(r"(\d+)(\s*h\w*,?\s*(?:and\s+)?|:(?=\d\d))(\d{1,2})(\s*[hm]\w*)?", text)


def _at_clock(clock: re.Match[str], aim_h: float) -> str:
    step = 5 if int(clock[3]) % 5 == 0 else 1
    hours, minutes = divmod(step * round(aim_h * 60 / step), 60)
    width = len(clock[3]) if clock[3].startswith("0") or not clock[4] or clock[2] == ":" else 1
    return f"{hours}{clock[2]}{minutes:0{width}d}{clock[4] or ''}"
