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
