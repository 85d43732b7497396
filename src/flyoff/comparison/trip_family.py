"""How often trips are flown nonstop, given how the wind along their track varies."""

from dataclasses import replace

import numpy as np
from scipy.special import ndtr

from flyoff.comparison.aloft import Along, WindSpread
from flyoff.comparison.case import Case
from flyoff.comparison.profile import Flown, profile, reach
from flyoff.core.figure import Input
from flyoff.core.typing import Array

_DIGITS = 3
"""Decimals of a share: nobody knows a spread of winds well enough to say more."""


def strongest_head_wind(
    case: Case, payload_kg: float, fuel_kg: Array, flown: Flown, distance_m: float
) -> Array:
    """Return the head wind that a distance is just flown nonstop against, a sample.

    Fuel settles how long an airplane is in the air and how far through the
    air it comes; a steady wind along the track carries it off meanwhile.
    """
    still = replace(flown, air=_still(flown))
    reached = reach(case, profile(case, payload_kg, still), fuel_kg)
    if reached.range_m is None or reached.endurance_s is None:
        return case.draws.exact(np.nan)
    return np.asarray((reached.range_m - distance_m) / reached.endurance_s)


def _still(flown: Flown) -> Along:
    air = flown.air
    return replace(air, head_m_s=np.zeros_like(air.head_m_s), cross_m_s=np.zeros_like(air.cross_m_s))


def share_nonstop(spread: WindSpread, strongest_m_s: Array, *, back: bool) -> Array:
    """Return how often the wind is no stronger than that, a sample; on the way back it turns about."""
    sign = -1.0 if back else 1.0
    if spread.table:
        winds = sign * np.array([wind.si for wind in spread.table])
        return np.asarray(np.mean(winds[:, None] <= strongest_m_s[None, :], axis=0))
    assert spread.mean is not None  # read with both or a table
    assert spread.deviation is not None
    share = ndtr((strongest_m_s - sign * spread.mean.si) / spread.deviation.si)
    return np.asarray(np.round(share, _DIGITS))


def spread_inputs(spread: WindSpread) -> tuple[Input, ...]:
    """Return what a spread of winds rests on."""
    if spread.table:
        return tuple(
            Input("head wind as likely as the next", str(w), w.place, w.source) for w in spread.table
        )
    named = (("mean head wind", spread.mean), ("its standard deviation", spread.deviation))
    return tuple(Input(label, str(q), q.place, q.source) for label, q in named if q is not None)
