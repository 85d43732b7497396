"""How high people may be flown without oxygen: the United States' and the European rule."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, TypeAlias

from flyoff.core.units import ft, minute

OxygenRule: TypeAlias = Literal["US", "European"]
FITTED = "oxygen"
"""The word by which equipment provides it."""


@dataclass(frozen=True)
class Limits:
    """Cabin altitudes without oxygen: above `low_m` for a while only, above `high_m` never."""

    low_m: float
    high_m: float
    while_s: float
    citation: str

    def allows(self, altitude_m: float, above_s: float) -> bool:
        """Tell whether crew may fly so high without oxygen, `above_s` being the time above `low_m`."""
        if altitude_m <= self.low_m + 0.5:
            return True
        return altitude_m <= self.high_m + 0.5 and above_s <= self.while_s


LIMITS: dict[OxygenRule, Limits] = {
    "US": Limits(12_500 * ft, 14_000 * ft, 30 * minute, "14 CFR 91.211(a)(1) and (2)"),
    "European": Limits(
        10_000 * ft,
        13_000 * ft,
        30 * minute,
        "Regulation (EU) No 965/2012, Annex VII, NCO.OP.190(b) and NCO.IDE.A.155 (opened second-hand)",
    ),
}
"""By rule; the cabin of an airplane without pressurisation is taken to be at its pressure altitude."""


def is_fitted(provided: Iterable[str]) -> bool:
    """Tell whether some of the equipment provides oxygen."""
    return any(FITTED in word.casefold().split() for word in provided)
