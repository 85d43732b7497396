"""What a chart is: a definition and words, both made from its subject alone."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from flyoff.charts.style import Setting, Spec
from flyoff.comparison.results import Comparison
from flyoff.comparison.terms import Terms
from flyoff.core.figure import format_number, supported_decimals
from flyoff.core.wording import Wording

S = TypeVar("S")


@dataclass(frozen=True)
class Chart(Generic[S]):
    """One chart of a comparison or a flight: `drawn` tells whether that has anything to draw."""

    name: str
    title: str
    drawn: Callable[[S], bool]
    subtitle: Callable[[S], str]
    definition: Callable[[S, Setting], Spec]
    alt: Callable[[S], str]
    worded: Callable[[S, Wording], str] | None = None
    """The words where they count in a house's units themselves; those of `alt` are converted."""
    screens: Callable[[S], int] = lambda _: 1
    """How many screens it needs for words that can be read on each; `Setting.screen` asks for one."""


def in_units(comparison: Comparison, setting: Setting) -> Comparison:
    """Return a comparison with its figures in the house's units, for charts that print them as they are."""
    figures = {key: setting.wording.figure(figure) for key, figure in comparison.figures.items()}
    return replace(comparison, figures=figures)


def printed(value: float, u95: float) -> str:
    """Return a number no finer than its uncertainty."""
    return format_number(value, supported_decimals(value, u95))


def air_words(terms: Terms) -> str:
    """Return the temperature of the terms in words."""
    deviation = terms.isa_deviation
    if deviation.si == 0:
        return "standard temperature"
    sign = "" if deviation.text.startswith(("-", "−", "+")) else "+"
    return f"ISA {sign}{deviation.text}"


def silent(comparison: Comparison, shown: Iterable[str]) -> str:
    """Return, as a clause, the airplanes that a chart has no evidence for."""
    have = set(shown)
    names = [entry.name for entry in comparison.entries if entry.key not in have]
    return f"; no evidence for {' or '.join(names)}" if names else ""


def members_words(members: Sequence[int]) -> str:
    """Return the numbers of points, a run of them by its ends.

    >>> members_words((12, 13, 14)), members_words((3, 5))
    ('12–14', '3, 5')
    """
    first, last = members[0], members[-1]
    is_run = len(members) > 2 and list(members) == list(range(first, last + 1))
    return f"{first}–{last}" if is_run else ", ".join(map(str, members))


def signed(text: str) -> str:
    """Return a number as printed, its interval perhaps after it, with its plus where it is above zero."""
    number = text.partition(" ")[0]
    return f"+{text}" if number[:1].isdigit() and any(digit in number for digit in "123456789") else text


def number_word(number: int) -> str:
    """Return a small count in words."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    return words[number] if number < len(words) else str(number)


def wind_words(terms: Terms) -> str:
    """Return the wind of the terms in words."""
    if terms.wind.si == 0:
        return "no wind"
    way = "head" if terms.wind.si > 0 else "tail"
    return f"{terms.wind.text.lstrip('-−')} {way} wind"
