"""Positions held against the recorded ground velocity."""

import numpy as np
import pytest

from flyoff.flights.derive import position_scale
from flyoff.flights.geodetic import radii_m
from helpers.flights import made_log

COUNT = 1800


def flown(stretched: float = 1.0):
    """Return a log of circles whose positions run `stretched` times as far as its ground speed says."""
    rng = np.random.default_rng(4)
    course = 2 * np.pi * np.arange(COUNT) / 600
    speed = 50 + rng.normal(0, 0.2, COUNT)
    meridian, parallel = radii_m(np.radians(47.0))
    north, east = (np.cumsum(speed * part) * stretched for part in (np.cos(course), np.sin(course)))
    return made_log(
        COUNT, latitude=np.radians(47) + north / meridian, longitude=0.1 + east / parallel,
        ground_speed=speed, ground_track=course % (2 * np.pi),
    )  # fmt: skip


@pytest.mark.parametrize("stretched", [1.0, 1.01])
def test_the_scale_of_positions_is_found(stretched):
    found = position_scale(flown(stretched))
    assert found is not None
    for scale, u in found:
        assert scale == pytest.approx(stretched, abs=0.001)
        assert u < 0.002


def test_a_gap_says_nothing_of_the_scale():
    log = flown()
    found = position_scale(log.where((np.arange(COUNT) < 700) | (np.arange(COUNT) > 1010)))
    assert found is not None
    for scale, u in found:
        assert scale == pytest.approx(1.0, abs=0.001)
        assert u < 0.002
