import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.physics import propeller


@given(st.floats(1e3, 3e5), st.floats(0.4, 1.3), st.floats(1.0, 120.0), st.floats(1.5, 2.5))
def test_ideal_efficiency_solves_its_cubic(power, density, speed, diameter):
    eta = propeller.ideal_efficiency(power, density, speed, diameter)
    loading = power / (2 * density * np.pi / 4 * diameter**2 * speed**3)
    assert 0 < eta < 1
    assert 1 - eta == pytest.approx(loading * eta**3, rel=1e-9, abs=1e-9)


def test_ideal_efficiency_at_its_ends():
    np.testing.assert_allclose(
        propeller.ideal_efficiency(1e5, 1.2, np.array([0.0, 1e6]), 1.9), [0.0, 1.0], atol=1e-9
    )
    assert propeller.ideal_efficiency(0.0, 1.2, 50.0, 1.9) == pytest.approx(1.0)
    assert np.isnan(propeller.ideal_efficiency(np.nan, 1.2, 50.0, 1.9))
    # thrust at low speed tends to the static thrust of the same disc
    slow = propeller.thrust(1e5, propeller.ideal_efficiency(1e5, 1.2, 0.01, 1.9), 0.01)
    assert slow == pytest.approx(float(propeller.ideal_static_thrust(1e5, 1.2, 1.9)), rel=1e-3)


@pytest.mark.parametrize(
    ("advance", "cp", "eta", "ct", "ideal"),
    [
        (0.641, 0.0287, 0.776, None, 0.942),
        (0.837, 0.0421, 0.832, None, 0.960),
        (1.041, 0.0613, 0.846, None, 0.969),
        (1.260, 0.0860, 0.853, None, 0.975),
        (0.7, 0.0622, 0.793, 0.0704, None),
        (1.0, 0.0696, 0.842, 0.0586, None),
    ],
)
def test_measured_blades_stay_below_the_ideal(advance, cp, eta, ct, ideal):
    """Constructed from NACA Report 640's charts; ideal efficiency and thrust coefficient by another hand."""
    limit = propeller.ideal_efficiency(cp, 1.0, advance, 1.0)
    assert eta < limit
    if ideal:
        assert limit == pytest.approx(ideal, abs=6e-4)
    if ct:
        assert propeller.efficiency(advance, ct, cp) == pytest.approx(eta, abs=1.5e-3)


def test_coefficients_come_back():
    density, n, diameter, speed = 1.1, 40.0, 1.9, 60.0
    thrust = propeller.thrust(1e5, 0.8, speed)
    eta = propeller.efficiency(
        propeller.advance_ratio(speed, n, diameter),
        propeller.thrust_coefficient(thrust, density, n, diameter),
        propeller.power_coefficient(1e5, density, n, diameter),
    )
    assert eta == pytest.approx(0.8)
    assert propeller.static_thrust(1e5, n, diameter, 2.0) == pytest.approx(2 * 1e5 / (n * diameter))


def test_errors():
    with pytest.raises(ValueError, match=r"figure_of_merit must not exceed 1; got 1\.2"):
        propeller.constant_speed_efficiency(1e5, 1.2, 50.0, 1.9, 1.2)
    with pytest.raises(ValueError, match="true_airspeed_m_s must be above 0"):
        propeller.thrust(1e5, 0.8, 0.0)
    with pytest.raises(ValueError, match="diameter_m must be above 0"):
        propeller.advance_ratio(50.0, 40.0, 0.0)
