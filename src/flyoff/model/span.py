"""What evidence spans in power or altitude, and how far beyond it something lies."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from flyoff.core.typing import Array, Floats

LEAST_POWERS, LEAST_ALTITUDES_M = 0.1, 1000.0
"""Least length of a span: evidence at one power or one altitude is no scale; common practice, no source."""


class Span(NamedTuple):
    """The least and the greatest of what was seen, and the least length that it is taken to have."""

    low: float
    high: float
    least: float

    @classmethod
    def of(cls, seen: Sequence[float], least: float, *, unseen: float) -> "Span":
        """Return what is seen, or from 0 to `unseen` where nothing is."""
        return cls(min(seen), max(seen), least) if seen else cls(0.0, unseen, least)

    def beyond(self, asked: Floats) -> Array:
        """Return how far beyond it something is, in its lengths."""
        off = np.maximum(np.maximum(self.low - asked, np.asarray(asked) - self.high), 0.0)
        return np.asarray(off / max(self.high - self.low, self.least))
