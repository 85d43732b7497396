r"""Many differences of one kind taken together, overall and by altitude, with what they share kept shared.

The overall difference is the mean over the conditions, draw by draw, so that a
calibration or a fuel flow's scale that all conditions share does not average
away. Conditions at one altitude that differ by more than their own doubts
explain show what the readings do not hold (rising air, a setting not quite
repeated); that excess variance is estimated from their scatter and counts in
the mean as a doubt of each condition's own:

.. math:: \tau^2 = \max\left(0, \frac{Q - E[Q]}{n - L}\right)

with Q the sum of squares about the mean of each of L altitudes and E[Q] that of
the draws. References: R. DerSimonian and N. Laird, Meta-analysis in clinical
trials, Controlled Clinical Trials 7 (1986) (from memory); JCGM 101:2008, 7.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.draws import Draws, half_width_95
from flyoff.core.typing import Array
from flyoff.core.units import ft

LEVEL_GAP_M = 500 * ft
"""Conditions further apart than this are of two altitudes; common practice, no source."""


@dataclass(frozen=True)
class Level:
    """The conditions at one altitude: their mean difference as a sample."""

    pressure_altitude_m: float
    members: tuple[int, ...]
    difference: Array


@dataclass(frozen=True)
class Overall:
    """The mean difference as a sample, that of each altitude, and the scatter that doubts do not explain."""

    difference: Array
    levels: tuple[Level, ...]
    excess_u: float

    @property
    def change(self) -> Array | None:
        """The difference at the highest altitude less that at the lowest; None where there is one alone."""
        if len(self.levels) < 2:
            return None
        return self.levels[-1].difference - self.levels[0].difference

    @property
    def is_changing(self) -> bool:
        """Whether the difference changes with altitude beyond its uncertainty."""
        change = self.change
        return change is not None and abs(change[0]) > half_width_95(change[1:], float(change[0]))


def taken_together(
    differences: Sequence[Array], altitudes_m: Sequence[float | None], name: str, draws: Draws
) -> Overall:
    """Return the mean of differences, overall and by altitude.

    Parameters
    ----------
    differences
        One sample for each condition, nominal first, in SI.
    altitudes_m
        The pressure altitude of each, None where it has none. [m]
    name
        What the draws of the excess are named by.
    draws
        The study's streams.
    """
    samples = np.stack(differences)
    groups = _groups(altitudes_m)
    every = [*groups, tuple(i for i, a in enumerate(altitudes_m) if a is None)]
    excess_u = _excess(samples, [group for group in every if group])
    if excess_u > 0:
        own = [draws.normal(f"{name}/excess/{i}") for i in range(len(samples))]
        samples = samples + excess_u * np.column_stack([np.zeros(len(samples)), np.stack(own)])
    levels = tuple(
        Level(_round(_mean(altitudes_m, group)), group, samples[list(group)].mean(axis=0)) for group in groups
    )
    return Overall(samples.mean(axis=0), levels, excess_u)


def _mean(altitudes_m: Sequence[float | None], group: Sequence[int]) -> float:
    return float(np.mean([a for i in group if (a := altitudes_m[i]) is not None]))


def _round(altitude_m: float) -> float:
    return math.floor(altitude_m / LEVEL_GAP_M + 0.5) * LEVEL_GAP_M


def _groups(altitudes_m: Sequence[float | None]) -> list[tuple[int, ...]]:
    known = sorted((a, i) for i, a in enumerate(altitudes_m) if a is not None)
    groups: list[list[int]] = []
    last = -math.inf
    for altitude, index in known:
        if altitude - last > LEVEL_GAP_M:
            groups.append([])
        groups[-1].append(index)
        last = altitude
    return [tuple(sorted(group)) for group in groups]


def _excess(samples: Array, groups: Sequence[tuple[int, ...]]) -> float:
    """Return the standard deviation of the scatter within altitudes beyond what the draws explain."""
    spare = len(samples) - len(groups)
    if spare < 1:
        return 0.0
    shown = expected = 0.0
    for group in groups:
        part = samples[list(group)]
        doubt = part[:, 1:] - part[:, :1]
        shown += float(np.square(part[:, 0] - part[:, 0].mean()).sum())
        expected += float(np.square(doubt - doubt.mean(axis=0)).sum(axis=0).mean())
    return math.sqrt(max(0.0, (shown - expected) / spare))
