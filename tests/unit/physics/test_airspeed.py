import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.units import ft, kt
from flyoff.physics import airspeed, atmosphere, mach

# the domain of light airplanes: 0 to 300 kt, −1,000 to 25,000 ft, ISA −40 to +40
speeds = st.floats(0.0, 300.0)
levels = st.floats(-1000.0, 25000.0)
deviations = st.floats(-40.0, 40.0)


@given(speeds, levels, deviations)
def test_true_airspeed_comes_back_within_a_hundredth_of_a_knot(calibrated_kt, level_ft, deviation_k):
    temperature = atmosphere.temperature_at_altitude(level_ft * ft, deviation_k)
    true = airspeed.true_airspeed(
        calibrated_airspeed_m_s=calibrated_kt * kt,
        pressure_altitude_m=level_ft * ft,
        temperature_k=temperature,
    )
    back = airspeed.calibrated_airspeed(
        true_airspeed_m_s=true, pressure_altitude_m=level_ft * ft, temperature_k=temperature
    )
    assert abs(back / kt - calibrated_kt) < 1e-6


@given(speeds, levels)
def test_equivalent_airspeed_comes_back(calibrated_kt, level_ft):
    equivalent = airspeed.equivalent_airspeed(
        calibrated_airspeed_m_s=calibrated_kt * kt, pressure_altitude_m=level_ft * ft
    )
    back = airspeed.calibrated_airspeed_at_equivalent(
        equivalent_airspeed_m_s=equivalent, pressure_altitude_m=level_ft * ft
    )
    assert abs(back / kt - calibrated_kt) < 1e-6


@given(st.floats(1.0, 300.0), levels, deviations)
def test_the_two_ways_to_true_airspeed_agree(calibrated_kt, level_ft, deviation_k):
    temperature = atmosphere.temperature_at_altitude(level_ft * ft, deviation_k)
    case = {"calibrated_airspeed_m_s": calibrated_kt * kt, "pressure_altitude_m": level_ft * ft}
    direct = airspeed.true_airspeed(**case, temperature_k=temperature)
    density = atmosphere.density_at_altitude(level_ft * ft, deviation_k)
    by_density = airspeed.true_airspeed_at_equivalent(airspeed.equivalent_airspeed(**case), density)
    assert by_density == pytest.approx(direct, rel=1e-12)
    assert airspeed.equivalent_airspeed_at_true(direct, density) == pytest.approx(
        airspeed.equivalent_airspeed(**case)
    )


@given(st.floats(0.0, 0.95), st.floats(220.0, 320.0), st.floats(0.0, 1.0))
def test_probe_temperature_comes_back(number, temperature_k, recovery):
    probe = mach.probe_temperature(temperature_k, number, recovery)
    assert probe >= temperature_k
    assert mach.static_temperature(probe, number, recovery) == pytest.approx(temperature_k, abs=1e-9)


@pytest.mark.parametrize(
    ("calibrated_kt", "level_ft", "number", "equivalent_kt", "true_kt"),
    [
        (100, 5000, 0.1656, 99.94, 107.67),
        (120, 5000, 0.1987, 119.90, 129.17),
        (120, 8000, 0.2102, 119.83, 135.16),
        (100, 10000, 0.1821, 99.87, 116.22),
        (150, 10000, 0.2727, 149.57, 174.05),
        (200, 20000, 0.4404, 197.47, 270.53),
        (250, 10000, 0.4523, 248.10, None),
    ],
)
def test_constructed_grid(calibrated_kt, level_ft, number, equivalent_kt, true_kt):
    """Constructed from the published equations by another hand, standard day."""
    case = {"calibrated_airspeed_m_s": calibrated_kt * kt, "pressure_altitude_m": level_ft * ft}
    temperature = atmosphere.temperature_at_altitude(level_ft * ft)
    assert airspeed.mach_number(**case) == pytest.approx(number, abs=5e-5)
    assert airspeed.equivalent_airspeed(**case) / kt == pytest.approx(equivalent_kt, abs=0.005)
    if true_kt:
        assert airspeed.true_airspeed(**case, temperature_k=temperature) / kt == pytest.approx(
            true_kt, abs=0.005
        )


def test_compressibility_series():
    for number in (0.1, 0.3, 0.4):
        series = 1 + number**2 / 4 + number**4 / 40 + number**6 / 1600
        ratio = mach.impact_pressure_at_mach(number, 1000.0) / (0.7 * 1000.0 * number**2)
        assert ratio == pytest.approx(series, abs=1e-6)


def test_shapes_and_missing_values():
    result = airspeed.true_airspeed(
        calibrated_airspeed_m_s=np.array([[50.0], [np.nan]]),
        pressure_altitude_m=1000.0,
        temperature_k=np.full(3, 280.0),
    )
    assert result.shape == (2, 3)
    assert np.isnan(result[1]).all()


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: airspeed.impact_pressure(-1.0),
            "calibrated_airspeed_m_s must not be below 0 m/s; got -1 m/s",
        ),
        (lambda: airspeed.impact_pressure(400.0), "calibrated_airspeed_m_s must be below 340.29"),
        (lambda: mach.mach_at_impact_pressure(1e6, 1e5), "mach must be below 1"),
        (lambda: mach.static_temperature(280.0, 0.2, 1.1), "recovery_factor must not exceed 1; got 1.1"),
        (lambda: mach.true_airspeed_at_mach(0.2, 15.0), "temperature_k must not be below 150 K"),
        (lambda: airspeed.true_airspeed_at_equivalent(50.0, 0.0), "density_kg_m3 must be above 0"),
    ],
)
def test_errors(call, message):
    with pytest.raises(ValueError, match=message):
        call()
