"""What must hold of any comparison, whatever the numbers."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flyoff.study.run import load
from helpers.study_files import write_study

slow = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def figure(folder, key, **changes):
    return load(write_study(folder, **changes)).figures()[key].si


@slow
@given(st.integers(60, 190), st.integers(1, 60))
def test_more_fuel_never_shortens_the_range(tmp_path, litres, more):
    tanks = ((f'usable = "{amount} L"') for amount in (litres, litres + more))
    near, far = (figure(tmp_path, "plain.range", plain=('usable = "200 L"', tank)) for tank in tanks)
    assert far >= near


@slow
@given(st.integers(0, 50), st.integers(1, 40))
def test_more_head_wind_never_speeds_a_trip(tmp_path, wind, more):
    key = "plain.trip.over-the-water.time"
    winds = (f'wind = "{speed} kt"' for speed in (wind, wind + more))
    slow_s, slower_s = (figure(tmp_path, key, study=('wind = "0 kt"', w)) for w in winds)
    assert slower_s >= slow_s


@slow
@given(st.integers(1, 60), st.integers(1, 60))
def test_a_heavier_option_never_raises_the_payload(tmp_path, weight, more):
    key = "plain.payload_full_tanks"
    weights = (f'weight = "{kg} kg"' for kg in (weight, weight + more))
    light, heavy = (figure(tmp_path, key, plain=('weight = "25 kg"', w)) for w in weights)
    assert heavy < light


@slow
@given(st.integers(0, 49), st.integers(50, 120))
def test_bags_beyond_the_compartment_are_said(tmp_path, fits, too_much):
    with_room = figure(tmp_path, "plain.fuel_occupants", study=('bags = "20 kg"', f'bags = "{fits} kg"'))
    assert with_room is not None
    without = figure(
        tmp_path, "plain.fuel_occupants", study=('bags = "20 kg"', f'bags = "{too_much + 1} kg"')
    )
    assert without is None


@slow
@given(st.integers(5, 300))
def test_reserve_and_cruise_share_the_fuel(tmp_path, minutes):
    endurance = figure(tmp_path, "plain.endurance", study=('"45 min"', f'"{minutes} min"'))
    assert endurance + minutes * 60 == pytest.approx((200 - 4 - 8) / 30 * 3600 + 11 * 60)
