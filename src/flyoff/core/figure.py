"""A figure: a value fit to be published, with all that a reader may ask of it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, TypeAlias

import numpy as np

from flyoff.core.draws import half_width_95
from flyoff.core.precision import decimals_in
from flyoff.core.sources import Place
from flyoff.core.typing import Array
from flyoff.core.units import find_unit

Basis: TypeAlias = Literal["measured", "fitted", "handbook", "declared"]
AGAINST = " against "
_BASES: tuple[Basis, ...] = ("measured", "fitted", "handbook", "declared")


def slug(name: str) -> str:
    """Return a name as a part of a figure's key: small letters and digits, joined by hyphens."""
    kept = "".join(c.lower() if c.isalnum() else "-" for c in name)
    return "-".join(part for part in kept.split("-") if part)


@dataclass(frozen=True)
class Input:
    """One thing a figure rests on: a written value in a file, or another figure."""

    label: str
    text: str
    place: Place | None = None
    source: str | None = None
    figure: str | None = None


@dataclass(frozen=True)
class Trace:
    """How a figure came about: the method with its source, and what went in."""

    method: str
    source: str
    inputs: tuple[Input, ...] = ()


@dataclass(frozen=True)
class Figure:
    """A value, its unit and uncertainty, its terms, basis and trace.

    `si` is None where the evidence is missing; `missing` then says why.
    `draws` are in SI, shape (n,); None where the value is exact.
    `terms` holds only what differs from the study's terms. `grain_si` is how
    finely an exact value was declared (`core.precision`); 0 where it is as exact as it stands.
    """

    key: str
    label: str
    unit_label: str
    dimension: str
    si: float | None
    basis: Basis
    trace: Trace
    draws: Array | None = None
    terms: Mapping[str, str] = field(default_factory=dict)
    extrapolated: bool = False
    missing: str = ""
    remarks: tuple[str, ...] = ()
    grain_si: float = 0.0

    @property
    def value(self) -> float | None:
        """The value in the trade unit."""
        return None if self.si is None else find_unit(self.unit_label, self.dimension).from_si(self.si)

    @cached_property
    def u95(self) -> float | None:
        """The half-width of the 95 % interval in the trade unit; 0 where the value is exact."""
        if self.si is None:
            return None
        if self.draws is None:
            return 0.0
        return half_width_95(self.draws, self.si) / find_unit(self.unit_label, self.dimension).factor

    @property
    def unequal_terms(self) -> tuple[str, ...]:
        """Where a difference sets one term against another; nothing can be favoured there."""
        return tuple(f"{name} {text}" for name, text in self.terms.items() if AGAINST in text)

    @property
    def decimals(self) -> int:
        """The decimals that the uncertainty supports (JCGM 100:2008, 7.2.6); none of what is counted."""
        value, u95 = self.value, self.u95
        if value is None or u95 is None or self._is_counted:
            return 0
        if u95 == 0 and self.grain_si:
            return decimals_in(value, self.grain_si / find_unit(self.unit_label, self.dimension).factor)
        return supported_decimals(value, u95)

    @cached_property
    def _is_counted(self) -> bool:
        """Whether it is a whole number in every draw, as fuel stops are."""
        if self.dimension != "count" or self.si is None or self.draws is None:
            return False
        every = np.append(self.draws[np.isfinite(self.draws)], self.si)
        return bool(np.all(every == np.rint(every)))

    @property
    def number(self) -> str:
        """The value and its uncertainty without the unit, as printed: ``1,093 ± 21``, ``3:42 ± 0:05``."""
        value, u95 = self.value, self.u95
        if value is None or u95 is None:
            return "missing"
        if (self.unit_label, self.dimension) == ("h", "time"):
            return hours_and_minutes(value, u95)
        if u95 == 0:
            return format_number(value, self.decimals)
        return f"{format_number(value, self.decimals)} ± {format_number(u95, self.decimals)}"

    def __str__(self) -> str:
        """Return the figure as it is printed: ``1,093 ± 21 nmi``."""
        if self.si is None:
            return f"missing: {self.missing}"
        return f"{self.number} {self.unit_label}".rstrip()


def supported_decimals(value: float, u95: float) -> int:
    """Return how many decimals to print of a value known to ± u95; negative for tens and more.

    The expanded uncertainty keeps one significant digit, two where its first
    is 1 or 2; an exact value keeps as many digits as it has, at most two
    decimals. Never finer than the uncertainty.
    """
    if u95 <= 0:
        return next((d for d in range(3) if math.isclose(round(value, d), value, abs_tol=1e-9)), 2)
    exponent = math.floor(math.log10(u95))
    leading = u95 / 10.0**exponent
    return min(-exponent + (1 if leading < 2.95 else 0), 6)


def hours_and_minutes(value_h: float, u95_h: float) -> str:
    """Return hours with their uncertainty as a clock shows them; never finer than minutes.

    >>> hours_and_minutes(3.7, 0.08), hours_and_minutes(-0.25, 0.0)
    ('3:42 ± 0:05', '−0:15')
    """
    text = _clock(value_h)
    return f"{text} ± {_clock(max(u95_h, 1 / 60))}" if u95_h > 0 else text


def _clock(value_h: float) -> str:
    minutes = round(abs(value_h) * 60)
    sign = "−" if value_h < 0 and minutes else ""
    return f"{sign}{minutes // 60:,}:{minutes % 60:02d}"


def format_number(number: float, decimals: int) -> str:
    """Return a number with thousands commas and a true minus sign; negative decimals round to tens."""
    text = f"{round(number, decimals):,.{max(decimals, 0)}f}"
    if float(text.replace(",", "")) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def difference(key: str, label: str, a: Figure, b: Figure) -> Figure:
    """Return the figure a − b, drawn jointly so that shared inputs cancel.

    Missing where either is missing.
    """
    inputs = tuple(Input(f.label, str(f), figure=f.key) for f in (a, b))
    trace = Trace(f"{a.key} − {b.key}, draw by draw", "JCGM 101:2008, 7", inputs)
    basis = max(a.basis, b.basis, key=_BASES.index)  # no better than the weaker evidence
    if a.si is None or b.si is None:
        gone = ", ".join(f.key for f in (a, b) if f.si is None)
        return Figure(key, label, a.unit_label, a.dimension, None, basis, trace, missing=f"no {gone}")
    draws = None
    if a.draws is not None or b.draws is not None:
        count = max(d.shape[-1] for d in (a.draws, b.draws) if d is not None)
        draws = np.broadcast_to(a.si if a.draws is None else a.draws, (count,)) - (
            b.si if b.draws is None else b.draws
        )
    one, other = _apart(a.key, b.key)
    unequal = () if a.basis == b.basis else (f"unequal evidence: {one} {a.basis}, {other} {b.basis}",)
    told = (f"{name}: {remark}" for name, f in ((one, a), (other, b)) for remark in f.remarks)
    dimension = "temperature_difference" if a.dimension == "temperature" else a.dimension
    return Figure(
        key,
        label,
        a.unit_label,
        dimension,
        a.si - b.si,
        basis,
        trace,
        draws,
        _terms_of_both(a, b),
        a.extrapolated or b.extrapolated,
        remarks=(*unequal, *told),
        grain_si=max(a.grain_si, b.grain_si),
    )


def _apart(a: str, b: str) -> tuple[str, str]:
    """Return the shortest parts that tell two keys apart, the airplanes' where those differ.

    >>> _apart("tern.range", "skua.range"), _apart("tern.flown.3.corrected", "tern.flown.3.handbook")
    (('tern', 'skua'), ('corrected', 'handbook'))
    """
    ends = ((key.partition(".")[0], key.rpartition(".")[2]) for key in (a, b))
    heads, tails = zip(*ends, strict=True)
    return next((names for names in (heads, tails) if names[0] != names[1]), (a, b))


def _terms_of_both(a: Figure, b: Figure) -> dict[str, str]:
    """Return the terms of a difference: said once where both have them, else one against the other."""
    terms = {}
    for name in dict.fromkeys((*a.terms, *b.terms)):
        sides = [figure.terms.get(name, "as the terms") for figure in (a, b)]
        terms[name] = sides[0] if sides[0] == sides[1] else AGAINST.join(sides)
    return terms
