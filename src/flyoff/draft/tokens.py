"""A text cut into words, numbers and signs, each with its place."""

import re
from dataclasses import dataclass

_TOKEN = re.compile(
    # 1,090 · 1'090.5 · 1.090,5 · 1 090
    r"[1-9]\d{0,2}([,.'’ \u00a0\u2009\u202f])\d{3}(?:\1\d{3})*(?:(?!\1)[.,]\d+)?(?!\d|,\d)"
    r"|\d+\.\d+|(?<!\d,)\d+,\d+(?!,?\d)|\d+|\.\d+(?![\d.])"  # 0.43 · 46,6 · 980 · .43
    r"|[^\W\d_]+(?:['’][^\W\d_]+)*|\S"
)
_DECIMALS = re.compile(r"([.,])(?:\d{1,2}|\d{4,})$|^0([.,])\d{3}$")
_FILLERS = re.compile(r"(?:\b(?:um+|uh+|uhm+|erm?|hm+)\b,? ?)", re.IGNORECASE)
"""Sounds of a speaker who thinks; they say nothing."""
_END = re.compile(r"[.!?…]")
LONGEST_SENTENCE = 60
"""Words after which unpunctuated speech is cut where a new thought seems to begin; own limit."""
_NEW_THOUGHT = {"so", "now", "ok", "okay", "then", "and", "well", "but"}


@dataclass(frozen=True)
class Tokens:
    """The tokens of a text: in small letters without apostrophes, their places, their sentences.

    A number is one token with all its marks: commas, points and spaces; `numerals` says what they mean.
    """

    text: str
    words: list[str]
    starts: list[int]
    ends: list[int]
    sentences: list[int]
    decimal_mark: str = ""
    """The comma or the point where the text has it before decimals, and never the other."""

    def __len__(self) -> int:
        return len(self.words)

    def word(self, index: int) -> str:
        """Return a token in small letters, or nothing outside the text."""
        return self.words[index] if 0 <= index < len(self.words) else ""

    def said(self, start: int, end: int) -> str:
        """Return letters of the text in small letters, without a speaker's um and uh."""
        return _FILLERS.sub("", self.text[max(0, start) : end].lower())

    def touching(self, index: int) -> bool:
        """Tell whether a token follows the one before without white space."""
        return 0 < index < len(self.words) and self.starts[index] == self.ends[index - 1]


def tokens_of(text: str) -> Tokens:
    """Return the tokens of a text."""
    words: list[str] = []
    starts: list[int] = []
    ends: list[int] = []
    for match in _TOKEN.finditer(_FILLERS.sub(lambda sound: " " * len(sound[0]), text)):
        words.append(match[0].lower().replace("’", "'").replace("'", ""))
        starts.append(match.start())
        ends.append(match.end())
    return Tokens(text, words, starts, ends, _sentences(text, words, starts, ends), _decimal_mark(words))


def _decimal_mark(words: list[str]) -> str:
    """Return the mark before one, two or more than three digits; three may be a group of thousands."""
    marks = {found[1] or found[2] for word in words if (found := _DECIMALS.search(word))}
    return marks.pop() if len(marks) == 1 else ""


def _sentences(text: str, words: list[str], starts: list[int], ends: list[int]) -> list[int]:
    numbers, sentence, length = [], 0, 0
    for i, word in enumerate(words):
        if length >= LONGEST_SENTENCE and (word in _NEW_THOUGHT or length >= 2 * LONGEST_SENTENCE):
            sentence, length = sentence + 1, 0
        numbers.append(sentence)
        length += 1
        if _END.match(word) and len(word) == 1 and _ends_here(text, i, words, starts, ends):
            sentence, length = sentence + 1, 0
    return numbers


_ABBREVIATIONS = {
    "approx",
    "ca",
    "vs",
    "no",
    "sq",
    "cu",
    "gal",
    "hr",
    "min",
    "max",
    "fig",
    "mr",
    "mrs",
    "dr",
    "st",
}


def _ends_here(text: str, i: int, words: list[str], starts: list[int], ends: list[int]) -> bool:
    if i + 1 >= len(words):
        return True
    if starts[i + 1] == ends[i] and words[i + 1] not in "\"”’')*_":
        return False
    following = text[starts[i + 1]]
    if words[i] == "." and i and words[i - 1] in _ABBREVIATIONS:
        return following.isupper() and words[i - 1] not in ("mr", "mrs", "dr", "st", "no", "fig")
    return not following.islower()
