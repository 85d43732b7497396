import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.constants import SEA_LEVEL_DENSITY_KG_M3
from flyoff.core.units import celsius, ft, hpa
from flyoff.physics import air, altimetry, atmosphere

altitudes = st.floats(-2000.0, 20000.0)


@given(altitudes)
def test_pressure_altitude_comes_back(altitude_m):
    back = atmosphere.altitude_at_pressure(atmosphere.pressure_at_altitude(altitude_m))
    assert back == pytest.approx(altitude_m, abs=1e-6)


@given(altitudes)
def test_density_altitude_is_pressure_altitude_on_a_standard_day(altitude_m):
    temperature = atmosphere.temperature_at_altitude(altitude_m)
    assert atmosphere.density_altitude(altitude_m, temperature) == pytest.approx(altitude_m, abs=1e-5)


@given(altitudes, st.floats(-60.0, 40.0))
def test_density_altitude_has_the_density(altitude_m, deviation_k):
    density = atmosphere.density_at_altitude(altitude_m, deviation_k)
    found = atmosphere.altitude_at_density(density) if density > 0.0881 else None
    if found is not None and found >= -2000:
        assert atmosphere.density_at_altitude(np.minimum(found, 20000.0)) == pytest.approx(density, rel=1e-6)


@given(altitudes, altitudes)
def test_pressure_falls_with_altitude(one, other):
    low, high = sorted((one, other))
    if high - low > 1e-6:
        assert atmosphere.pressure_at_altitude(low) > atmosphere.pressure_at_altitude(high)


def test_hydrostatic_balance():
    """An independent relation: dp/dh = -rho g, at every altitude and on both sides of the tropopause."""
    altitude_m = np.array([-1500.0, 0.0, 3000.0, 10990.0, 11010.0, 15000.0, 19000.0])
    step = 0.5
    slope = (
        atmosphere.pressure_at_altitude(altitude_m + step)
        - atmosphere.pressure_at_altitude(altitude_m - step)
    ) / 1.0
    np.testing.assert_allclose(slope, -atmosphere.density_at_altitude(altitude_m) * 9.80665, rtol=1e-7)


def test_geometric_height_is_not_taken_for_geopotential():
    assert atmosphere.temperature_at_altitude(5000.0) == pytest.approx(255.650, abs=5e-4)
    geometric = atmosphere.temperature_at_altitude(altimetry.geopotential_altitude(5000.0))
    assert geometric == pytest.approx(255.676, abs=5e-4)


@given(st.floats(-5000.0, 50000.0))
def test_geometric_altitude_comes_back(height_m):
    assert altimetry.geometric_altitude(altimetry.geopotential_altitude(height_m)) == pytest.approx(
        height_m, abs=1e-6
    )


@given(st.floats(-400.0, 6000.0), st.floats(950.0, 1050.0))
def test_altimeter_round_trip(altitude_m, setting_hpa):
    level = altimetry.pressure_altitude(altitude_m, setting_hpa * hpa)
    assert altimetry.indicated_altitude(level, setting_hpa * hpa) == pytest.approx(altitude_m, abs=1e-6)
    assert altimetry.altimeter_setting(altitude_m, level) == pytest.approx(setting_hpa * hpa, rel=1e-9)


@given(st.floats(0.0, 1.0), st.floats(0.0, 35.0))
def test_humidity_thins_the_air(humidity, temperature_c):
    dry = atmosphere.density_altitude(1000.0, celsius(temperature_c))
    assert atmosphere.density_altitude(1000.0, celsius(temperature_c), humidity) >= dry - 1e-9


def test_shapes_and_missing_values():
    altitude_m = np.array([[0.0, np.nan], [1000.0, 12000.0]])
    result = atmosphere.density_altitude(altitude_m, 280.0)
    assert result.shape == (2, 2)
    assert np.isnan(result[0, 1])
    assert np.isfinite(result[1]).all()
    assert atmosphere.temperature_at_altitude(np.zeros((3, 1)), np.zeros(4)).shape == (3, 4)
    assert atmosphere.density_altitude(np.zeros(3), np.full((2, 1), 280.0), 0.5).shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: atmosphere.pressure_at_altitude(20001.0),
            "pressure_altitude_m must not exceed 20000 m; got 20001 m",
        ),
        (lambda: atmosphere.temperature_at_altitude(-2001.0), "must not be below -2000 m; got -2001 m"),
        (lambda: atmosphere.altitude_at_pressure(1.0), "pressure_pa must not be below"),
        (lambda: air.air_density(1e5, 15.0), "temperature_k must not be below 150 K; got 15 K"),
        (lambda: air.air_density(-1.0, 288.0), "pressure_pa must not be below 0 Pa"),
        (
            lambda: atmosphere.density_altitude(0.0, 288.0, 60.0),
            "relative_humidity must not exceed 1; got 60",
        ),
        (
            lambda: altimetry.pressure_altitude(0.0, 29.92),
            "altimeter_setting_pa must not be below 87000 Pa; got 29.92 Pa",
        ),
        (lambda: atmosphere.altitude_at_density(0.0), "density_kg_m3 must be above 0 kg/m³"),
        (lambda: air.kinematic_viscosity(288.0, 0.0), "density_kg_m3 must be above 0"),
    ],
)
def test_errors(call, message):
    with pytest.raises(ValueError, match=message.replace("³", ".")):
        call()


def test_ratio_and_deviation():
    assert atmosphere.density_ratio(0.0, 288.15) == pytest.approx(1.0)
    assert atmosphere.temperature_deviation(6000 * ft, 276.263 + 10) == pytest.approx(10.0, abs=1e-3)
    assert air.air_density(101325.0, 288.15) == pytest.approx(SEA_LEVEL_DENSITY_KG_M3)
