"""Uncertainty by drawing: every uncertain input is a named stream of random numbers.

The name of an input decides its draws. Two figures that rest on the same
input therefore share them, and their difference keeps the correlation: a
shared assumption moves all airplanes together (JCGM 101:2008, 5 and 7). The
draw axis is always the last one.
"""

import hashlib
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from flyoff.core.quantity import Quantity
from flyoff.core.typing import Array

COVERAGE_95 = 1.959963984540054
"""Standard deviations in the half-width of a 95 % interval of a normal distribution."""


_REMEMBERED = 256
"""Streams that many figures rest on are drawn once."""


def _generator(seed: str, name: str) -> np.random.Generator:
    digest = hashlib.sha256(f"{seed}\0{name}".encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:16], "big"))


@lru_cache(_REMEMBERED)
def _normal(seed: str, name: str, count: int) -> Array:
    return _kept(_generator(seed, name).standard_normal(count))


@lru_cache(_REMEMBERED)
def _rectangular(seed: str, name: str, count: int) -> Array:
    return _kept(_generator(seed, name).uniform(-1.0, 1.0, count))


def _kept(drawn: Array) -> Array:
    drawn.setflags(write=False)
    return drawn


@dataclass(frozen=True)
class Draws:
    """Named, reproducible streams of `count` draws each."""

    count: int = 2000
    seed: str = "flyoff"

    def normal(self, name: str) -> Array:
        """Return standard normal draws of the input `name`, shape (count,), not to be written to."""
        return _normal(self.seed, name, self.count)

    def rectangular(self, name: str) -> Array:
        """Return draws of the input `name`, uniform in [-1, 1], shape (count,), not to be written to."""
        return _rectangular(self.seed, name, self.count)

    def of(self, quantity: Quantity, *, rounded: bool = True) -> Array:
        """Return draws of a written quantity, shape (count,).

        Its stated 95 % interval is taken as normal; where it has none and
        `rounded`, half of its last digit as rectangular (JCGM 100:2008, F.2.2.1).
        Its key path in its file is its name, so that a comment above it moves nothing.
        """
        name = f"{quantity.place.file}#{quantity.place.field}"
        if quantity.u95_si is not None:
            return quantity.si + quantity.u95_si / COVERAGE_95 * self.normal(name)
        if rounded:
            return quantity.si + quantity.half_digit_si * self.rectangular(name)
        return np.full(self.count, quantity.si)

    def sample(self, quantity: Quantity, *, rounded: bool = True) -> Array:
        """Return a written quantity as a sample: its value first, its draws after, shape (count + 1,)."""
        return np.concatenate([[quantity.si], self.of(quantity, rounded=rounded)])

    def exact(self, si: float) -> Array:
        """Return a value without doubt as a sample, shape (count + 1,)."""
        return np.full(self.count + 1, si)

    def about(self, name: str, si: float, u95: float) -> Array:
        """Return a normal value as a sample, from its 95 % half-width, shape (count + 1,)."""
        return np.concatenate([[si], si + u95 / COVERAGE_95 * self.normal(name)])


class Nominal(Draws):
    """Draws that do not stray: one each, and it is the nominal value."""

    def __init__(self) -> None:
        super().__init__(count=1)

    def normal(self, name: str) -> Array:  # noqa: ARG002
        """Return no deviation, whatever the input, shape (1,)."""
        return np.zeros(1)

    def rectangular(self, name: str) -> Array:  # noqa: ARG002
        """Return no deviation, whatever the input, shape (1,)."""
        return np.zeros(1)


def half_width_95(draws: Array, about: float) -> float:
    """Return the half-width of the interval about a value that holds 95 % of draws.

    Symmetric about the printed value, which need not be the middle of the
    draws where a limit cuts them off (JCGM 101:2008, 7.7 allows any interval
    of the stated coverage). Draws without an answer, NaN, are left out.
    """
    known = draws[np.isfinite(draws)]
    return float(np.quantile(np.abs(known - about), 0.95)) if known.size else float("nan")
