"""Costs and answers of the invented comparison."""

from collections.abc import Callable

from flyoff.comparison.results import BreakEven, Standing, Swing, Verdict
from flyoff.comparison.terms import Ownership
from flyoff.core.figure import Figure
from flyoff.core.quantity import Quantity, parse_quantity
from flyoff.core.units import hour

Make = Callable[..., Figure]
"""Return a figure from key, label, unit, dimension, numbers and basis."""


def _quantity(text: str, dimension: str) -> Quantity:
    return parse_quantity(text, dimension)


OWNERSHIP = Ownership(
    hours=_quantity("120 h", "time"), years=8, hangar_per_year=_quantity("4,800 EUR", "money")
)
_HOURS = {"lomvi": (590.0, 40.0), "tjaldur": (660.0, 35.0)}
_MOVES = (("value_lost", "value lost each year", 70.0), ("hangar", "hangar, a year", 10.0))


def swings(figures: dict[str, Figure], figure: Make) -> tuple[Swing, ...]:
    """Return what moves the cost of an hour of two airplanes, adding the figures."""
    found = []
    for key, numbers in _HOURS.items():
        cost = figure(f"{key}.cost_per_hour", "Cost per hour", "EUR/h", "money_per_time", numbers, "declared")
        figures[cost.key] = cost
        for name, label, half in _MOVES:
            moved = f"{key}.cost_per_hour.swing.{name}"
            figures[moved] = figure(moved, label, "EUR/h", "money_per_time", (2 * half, 0.0), "declared")
            ends = ((numbers[0] - half) / hour, (numbers[0] + half) / hour)
            found.append(Swing(key, label, moved, *ends))
    return tuple(found)


def answers(figures: dict[str, Figure], figure: Make) -> tuple[Verdict, ...]:
    """Return an answer that is too close to call, adding its figures."""
    base = "verdict.cheapest-by-the-hour"
    for part, share in (
        ("first.lomvi", 88.0),
        ("first.tjaldur", 12.0),
        ("lomvi-tjaldur", 88.0),
        ("probability", 88.0),
    ):
        figures[f"{base}.{part}"] = figure(
            f"{base}.{part}", f"Share: {part}", "%", "ratio", (share, 0.3), "declared"
        )
    hours = f"{base}.below.hours"
    figures[hours] = figure(hours, "Hours flown a year, below", "", "count", (88.0, 12.0), "declared")
    ranked = tuple(Standing(key, f"{key}.cost_per_hour", f"{base}.first.{key}") for key in _HOURS)
    return (
        Verdict(
            "Cheapest by the hour", "cost_per_hour", "Cost per hour", "less", "",
            "too close to call between Lomvi 4 and Tjaldur Six: less than 95 % sure", True, ranked,
            (("rita", "no figure: no price is published"),), f"{base}.probability",
            {("lomvi", "tjaldur"): f"{base}.lomvi-tjaldur"},
            (BreakEven("hours flown a year", "below", hours, "Tjaldur Six comes first"),),
            ("years kept from 1 to 25",),
        ),
    )  # fmt: skip
