"""What is wrong with an input, said so that its writer can mend it."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from flyoff.core.sources import Place


@dataclass(frozen=True)
class Problem:
    """One fault: where it is, what was found there and what was expected."""

    place: Place
    found: str
    expected: str

    def __str__(self) -> str:
        """Return ``file:line: field: found; expected``."""
        field = f"{self.place.field}: " if self.place.field else ""
        return f"{self.place}: {field}{self.found}; {self.expected}"


class Problems(Exception):
    """All faults of an input, raised at once."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(dict.fromkeys(sorted(problems, key=lambda p: (p.place, p.found))))
        super().__init__("\n".join(str(problem) for problem in self.problems))


class Collector:
    """Gathers problems while reading goes on."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def add(self, place: Place, found: str, expected: str) -> None:
        """Note one problem."""
        self.problems.append(Problem(place, found, expected))

    def extend(self, problems: Iterable[Problem]) -> None:
        """Note several problems."""
        self.problems.extend(problems)

    def raise_any(self) -> None:
        """Raise what was gathered.

        Raises
        ------
        Problems
            If there is at least one.
        """
        if self.problems:
            raise Problems(self.problems)


def near_miss(word: str, known: Iterable[str]) -> str:
    """Return `` (did you mean 'x'?)`` for the nearest known word, or nothing."""
    near = difflib.get_close_matches(word, list(known), n=1)
    return f" (did you mean '{near[0]}'?)" if near else ""


def near_code(code: str, known: Iterable[str]) -> str:
    """Return `` (did you mean 'X'?)`` for the known code that one slip makes of it, or nothing.

    A slip is one letter for another, or two neighbours changed over; the first letters, which say
    the country, weigh most.

    >>> near_code("EKRX", ["VEKR", "EKRK", "EERX"]), near_code("EKRX", ["VEKR"])
    (" (did you mean 'EKRK'?)", '')
    """
    near = [other for other in known if _slip(code, other) is not None]
    best = max(near, key=lambda other: (_slip(code, other), other), default="")
    return f" (did you mean '{best}'?)" if best else ""


def _slip(code: str, other: str) -> int | None:
    """Return where two codes first differ if one slip makes one of the other, else None."""
    apart = [n for n, (a, b) in enumerate(zip(code, other, strict=False)) if a != b]
    if len(code) != len(other) or not apart:
        return None
    first, last = apart[0], apart[-1]
    swapped = last == first + 1 and code[first : last + 1] == other[first : last + 1][::-1]
    return first if first == last or swapped else None
