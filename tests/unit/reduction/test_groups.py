"""Legs that belong together are put together: in rough air by what they stray, not by a fixed band alone."""

import numpy as np
import pytest

from flyoff.core.units import ft, inhg, kt
from flyoff.flights.steady import Condition
from flyoff.reduction.groups import find_groups
from flyoff.reduction.readings import Readings
from flyoff.reduction.statistics import Estimate


def leg(number, ias_kt, stray_kt=0.0, pressure_inhg=22.0, altitude_ft=4000.0, heading=None):
    course = np.radians(120.0 * number if heading is None else heading)
    means = {
        "indicated_airspeed": Estimate(ias_kt * kt, 0.05 * kt, 50.0),
        "pressure_altitude": Estimate(altitude_ft * ft, 1.0, 50.0),
        "manifold_pressure": Estimate(pressure_inhg * inhg, 10.0, 50.0),
    }
    ground = ias_kt * kt * np.array([np.cos(course), np.sin(course)])
    return Readings(
        Condition("level", 200.0 * number, 200.0 * number + 90), "log.csv", (1, 2), means, None,
        ground, np.eye(2) * (0.1 * kt) ** 2, 50.0, airspeed_stray_m_s=stray_kt * kt,
    )  # fmt: skip


def members(legs):
    return [group.members for group in find_groups(legs, {})]


@pytest.mark.parametrize(("stray_kt", "together"), [(0.2, False), (1.0, True)])
def test_airspeeds_apart_by_what_rough_air_strays_are_one_group(stray_kt, together):
    legs = [leg(i, ias, stray_kt) for i, ias in enumerate((103.7, 100.0, 104.0, 105.5))]
    legs.append(leg(4, 103.0, stray_kt, heading=240.0))
    assert (members(legs) == [(0, 1, 2, 3, 4)]) == together


def test_a_manifold_pressure_that_the_airspeed_asks_for_is_no_other_power():
    # 3 x 2 kt of 140 kt: 4 % of 20 inHg, 0.9 inHg
    assert members([leg(i, v, 0.5, p) for i, (v, p) in enumerate([(142, 20.9), (140, 20), (140, 20)])])
    assert not members([leg(i, 140, 0.5, p) for i, p in enumerate((20.9, 20, 20))])


@pytest.mark.parametrize("change", [{"altitude_ft": 4300.0}, {"ias_kt": 112.0}])
def test_another_level_or_airspeed_is_another_group(change):
    legs = [leg(0, 104.0, 1.0), leg(1, 104.0, 1.0), leg(2, **{"ias_kt": 104.0, **change}, stray_kt=1.0)]
    assert members(legs) == []
