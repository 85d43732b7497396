"""Altitudes: the one that suits a flight best, and what keeps an airplane from it."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from flyoff.comparison.case import Case
from flyoff.comparison.evidence import Evidence, Evidences
from flyoff.comparison.oxygen import LIMITS, is_fitted
from flyoff.core.draws import Nominal
from flyoff.core.figure import format_number
from flyoff.core.units import ft
from flyoff.model.fit import Fit
from flyoff.model.handbook import Handbook


@dataclass(frozen=True)
class Choice:
    """An altitude chosen for a flight, and in words what it was chosen from and what was left out."""

    altitude_m: float | None
    words: str


def nominal(case: Case) -> Case:
    """Return a case with one draw, the nominal value: enough to choose by, at a fraction of the work."""
    one = Nominal()

    def thin(evidence: Evidence) -> Evidence:
        return replace(evidence, draws=one) if isinstance(evidence, Fit) else evidence

    old = case.evidences
    handbook = replace(old.handbook, draws=one) if isinstance(old.handbook, Handbook) else old.handbook
    evidences = Evidences(handbook, thin(old.measured), thin(old.fitted), old.flights, old.remarks)
    return replace(case, evidences=evidences, draws=one)


def has_oxygen(case: Case) -> bool:
    """Tell whether an airplane as compared carries oxygen."""
    provided = [word for option in case.fit.options for word in option.provides]
    return is_fitted((*case.airplane.standard_equipment, *provided))


def oxygen_words(case: Case, altitude_m: float, above_s: float) -> str:
    """Return in words why people may not be flown so high without oxygen; empty where they may."""
    rule = case.terms.oxygen_rule
    if rule is None or has_oxygen(case) or LIMITS[rule].allows(altitude_m, above_s):
        return ""
    citation = LIMITS[rule].citation
    return f"{_feet(altitude_m)} is above what {citation} allows without oxygen, which is not fitted"


def best_altitude(
    case: Case, candidates_m: Sequence[float], lowest_m: float, cost: Callable[[float], tuple[float, float]]
) -> Choice:
    """Return the candidate of least cost that the airplane can fly at and people may be flown at.

    `cost` returns of an altitude what it costs, NaN where there is no evidence
    or no way, and how long one flight stays there [s].
    """
    best, least = None, np.inf
    barred = False
    for altitude_m in sorted(candidates_m):
        if altitude_m <= lowest_m:
            continue
        price, above_s = cost(altitude_m)
        if not np.isfinite(price):
            continue
        if oxygen_words(case, altitude_m, above_s):
            barred = True
            continue
        if price < least:
            best, least = altitude_m, price
    rule = case.terms.oxygen_rule
    words = f"chosen among {_listed(candidates_m)}"
    if barred and rule is not None:
        words += f"; no higher than {LIMITS[rule].citation} allows without oxygen, which is not fitted"
    return Choice(best, words)


def _listed(candidates_m: Iterable[float]) -> str:
    rising = sorted(candidates_m)
    return f"{len(rising)} altitudes from {_feet(rising[0])} to {_feet(rising[-1])}"


def _feet(altitude_m: float) -> str:
    return f"{format_number(altitude_m / ft, 0)} ft"
