import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.physics import wind

angles = st.floats(0.0, 2 * math.pi)


@given(angles, st.floats(40.0, 100.0), angles, st.floats(0.0, 35.0))
def test_heading_and_ground_speed_make_the_course(course, airspeed, wind_from, wind_speed):
    heading = wind.heading(course, airspeed, wind_from, wind_speed)
    ground, track = wind.ground_vector(heading, airspeed, wind_from, wind_speed)
    assert ground == pytest.approx(wind.ground_speed(course, airspeed, wind_from, wind_speed), abs=1e-9)
    assert math.cos(track - course) == pytest.approx(1.0, abs=1e-12)
    speed, back_from = wind.wind_vector(heading, airspeed, track, ground)
    assert speed == pytest.approx(wind_speed, abs=1e-9)
    if wind_speed > 0.1:
        assert math.cos(back_from - wind_from) == pytest.approx(1.0, abs=1e-9)


def test_too_strong_a_wind_is_no_number():
    assert np.isnan(wind.heading(0.0, 20.0, math.pi / 2, 25.0))
    assert np.isnan(wind.ground_speed(0.0, 20.0, 0.0, 25.0))
    result = wind.ground_speed(0.0, 50.0, 0.0, np.array([10.0, np.nan]))
    assert result[0] == pytest.approx(40.0)
    assert np.isnan(result[1])


def test_errors():
    with pytest.raises(ValueError, match="wind_speed_m_s must not be below 0 m/s; got -5 m/s"):
        wind.head_wind(0.0, 0.0, -5.0)
    with pytest.raises(ValueError, match="true_airspeed_m_s must be above 0 m/s"):
        wind.heading(0.0, 0.0, 0.0, 5.0)
    with pytest.raises(ValueError, match="angle_rad must be above 0 rad"):
        wind.wind_speed_at_cross_wind(5.0, 0.0)
