"""A published number as printed, and the record of each comparison with one."""

import math
import re
from dataclasses import dataclass, field

_NUMBER = re.compile(r"[+-]?\d[\d,]*(?:\.(?P<decimals>\d*))?(?:e(?P<exponent>[+-]?\d+))?")


@dataclass(frozen=True)
class Comparison:
    """One check: what was compared, the number printed and the number computed."""

    what: str
    printed: str
    unit: str
    computed: float
    difference: float
    tolerance: float
    reason: str

    @property
    def holds(self) -> bool:
        """Whether the computed number agrees; a hair more than half a digit, for binary fractions."""
        return abs(self.difference) <= self.tolerance * (1 + 1e-9)


@dataclass
class Record:
    """The comparisons of one test."""

    comparisons: list[Comparison] = field(default_factory=list)


class Printed:
    """A number as its source prints it; the tolerance is half of its last digit.

    A wider tolerance must give its reason.
    """

    def __init__(self, text: str, unit: str = "", *, within: float | None = None, reason: str = "") -> None:
        match = _NUMBER.fullmatch(text)
        if not match:
            raise ValueError(f"'{text}' is not a number as a source prints it")
        if (within is None) != (reason == ""):
            raise ValueError(f"a tolerance of its own needs a reason, and a reason a tolerance: '{text}'")
        self.text, self.unit, self.reason = text, unit, reason
        self.value = float(text.replace(",", ""))
        exponent = int(match["exponent"] or 0) - len(match["decimals"] or "")
        self.half_digit = 0.5 * 10.0**exponent
        if within is not None and within < self.half_digit:
            raise ValueError(f"{within} is narrower than half of the last digit of '{text}'")
        self.tolerance = self.half_digit if within is None else within

    def compare(self, computed: float, what: str) -> Comparison:
        """Return the comparison with a computed number; NaN never agrees."""
        number = float(computed)
        difference = number - self.value if math.isfinite(number) else math.inf
        return Comparison(what, self.text, self.unit, number, difference, self.tolerance, self.reason)
