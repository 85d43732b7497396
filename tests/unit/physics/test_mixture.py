"""Mixtures among each other, and a name that is none."""

import pytest

from flyoff.physics import mixture


def test_leaning_burns_less_for_each_power_down_to_lean_of_peak():
    ratios = [mixture.consumption_ratio(name) for name in mixture.MIXTURES]
    assert ratios == sorted(ratios, reverse=True)
    assert mixture.consumption_ratio("best power", over="best power") == 1.0
    with pytest.raises(ValueError, match="mixture must be one of full rich"):
        mixture.power_ratio("thin")
