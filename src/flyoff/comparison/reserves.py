"""Reserves by rule: how long the fuel must last after landing, and whether an alternate is counted."""

from dataclasses import dataclass

from flyoff.core.problems import near_miss
from flyoff.core.quantity import Quantity
from flyoff.core.units import minute


@dataclass(frozen=True)
class ReserveRule:
    """One published reserve: minutes at normal cruise, after an alternate where one is required."""

    name: str
    minutes: int
    alternate: bool
    citation: str
    words: str


_FAR_VISUAL = "14 CFR 91.151(a)"
_FAR_INSTRUMENT = "14 CFR 91.167(a)"
_ICAO = "ICAO Annex 6 Part II, 2.2.3.6 (opened second-hand)"
_EU = "Regulation (EU) No 965/2012, Annex VII, NCO.OP.125"
_AFTER = "to the first point of intended landing and after that for at least {} at normal cruising speed"
_LEVEL = "to the aerodrome of intended landing and thereafter for at least {} at normal cruising altitude"
_BEYOND = "to the destination, from there to the alternate, and after that for at least 45 minutes at {}"

RULES: tuple[ReserveRule, ...] = (
    ReserveRule("US visual by day", 30, False, f"{_FAR_VISUAL}(1)", _AFTER.format("30 minutes")),
    ReserveRule("US visual by night", 45, False, f"{_FAR_VISUAL}(2)", _AFTER.format("45 minutes")),
    ReserveRule("US instrument", 45, True, _FAR_INSTRUMENT, _BEYOND.format("normal cruising speed")),
    ReserveRule("ICAO visual by day", 30, False, _ICAO, _LEVEL.format("30 minutes")),
    ReserveRule("ICAO visual by night", 45, False, _ICAO, _LEVEL.format("45 minutes")),
    ReserveRule("ICAO instrument", 45, True, _ICAO, _BEYOND.format("normal cruising altitude")),
    ReserveRule(
        "European visual, aerodrome in sight", 10, False, f"{_EU}, by day (from memory)",
        "the intended route, the aerodrome always in sight, and thereafter for at least 10 minutes",
    ),
    ReserveRule(
        "European visual by day", 30, False, f"{_EU}, by day (opened second-hand)",
        _LEVEL.format("30 minutes"),
    ),
    ReserveRule(
        "European visual by night", 45, False, f"{_EU}, by night (opened second-hand)",
        _LEVEL.format("45 minutes"),
    ),
    ReserveRule(
        "European instrument", 45, True, f"{_EU}, instrument flight (opened second-hand)",
        _BEYOND.format("normal cruising altitude"),
    ),
)  # fmt: skip
"""Every rule that terms may name; one with an alternate counts it where the terms give one."""

_BY_NAME = {rule.name.casefold(): rule for rule in RULES}


def find_rule(text: str) -> ReserveRule | None:
    """Return the rule of that name, or None where it is words of the reader's own.

    >>> find_rule("US visual by day").minutes
    30
    """
    return _BY_NAME.get(" ".join(text.split()).casefold())


def rule_fault(text: str, reserve: Quantity) -> tuple[str, str] | None:
    """Return what is wrong with a named rule beside the reserve that is kept: found and expected."""
    rule = find_rule(text)
    if rule is None:
        hint = near_miss(" ".join(text.split()), [r.name for r in RULES]) if text else ""
        names = ", ".join(f"'{r.name}'" for r in RULES)
        return (
            (f"'{text}' is nearly a rule's name", f"expected one of {names}, or other words{hint}")
            if (hint and len(text) < 45)
            else None
        )
    if abs(reserve.si - rule.minutes * minute) > 0.5:
        return (
            f"'{rule.name}' beside a reserve of {reserve}",
            f"expected {rule.minutes} min, as {rule.citation} has it, or words of your own",
        )
    return None
