"""The table of units against a general library, and its errors."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core import units

REGISTRY = pint.UnitRegistry()
# our label: the library's expression
PINT = {
    "m": "meter",
    "km": "kilometer",
    "cm": "centimeter",
    "mm": "millimeter",
    "ft": "foot",
    "in": "inch",
    "nmi": "nautical_mile",
    "mi": "mile",
    "m²": "meter**2",
    "ft²": "foot**2",
    "m³": "meter**3",
    "ft³": "foot**3",
    "cu in": "inch**3",
    "L": "liter",
    "cm³": "cm**3",
    "US gal": "gallon",
    "imp gal": "imperial_gallon",
    "kg": "kilogram",
    "g": "gram",
    "lb": "pound",
    "kt": "knot",
    "km/h": "km/hour",
    "mph": "mile/hour",
    "m/s": "meter/second",
    "ft/min": "foot/minute",
    "ft/s": "foot/second",
    "°C": "degC",
    "°F": "degF",
    "K": "kelvin",
    "Δ°C": "delta_degC",
    "Δ°F": "delta_degF",
    "Pa": "pascal",
    "hPa": "hectopascal",
    "kPa": "kilopascal",
    "bar": "bar",
    "inHg": "inHg",
    "psi": "psi",
    "W": "watt",
    "kW": "kilowatt",
    "hp": "horsepower",
    "PS": "metric_horsepower",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "ms": "millisecond",
    "rpm": "1/minute",
    "Hz": "1/second",
    "US gal/h": "gallon/hour",
    "imp gal/h": "imperial_gallon/hour",
    "L/h": "liter/hour",
    "kg/h": "kilogram/hour",
    "lb/h": "pound/hour",
    "kg/s": "kilogram/second",
    "lb/hp/h": "pound/horsepower/hour",
    "g/kWh": "gram/kilowatt/hour",
    "kg/m³": "kg/meter**3",
    "kg/L": "kg/liter",
    "lb/US gal": "pound/gallon",
    "nmi/US gal": "nautical_mile/gallon",
    "km/L": "km/liter",
    "nmi/L": "nautical_mile/liter",
    "nmi/lb": "nautical_mile/pound",
    "km/kg": "km/kilogram",
    "rad": "radian",
    "°": "degree",
    "%": "percent",
    "N": "newton",
    "lbf": "pound_force",
    "kg m": "kilogram*meter",
    "lb in": "pound*inch",
}
MONEY = {f"{code}{per}" for code in units.CURRENCIES for per in ("", "/h", "/nmi", "/km")}
NOT_IN_THE_LIBRARY = {"dB(A)", *MONEY}
ALL = [(dimension, label) for dimension in units.DIMENSIONS for label in units.units_of(dimension)]


@pytest.mark.parametrize(("dimension", "label"), [pair for pair in ALL if pair[1] in PINT])
def test_against_pint(dimension, label):
    ours = units.find_unit(label, dimension)
    for number in (0.0, 1.0, 37.5):
        theirs = REGISTRY.Quantity(number, PINT[label]).to_base_units().magnitude
        # the conventional inch of mercury is rounded to seven figures here and to nine there
        assert ours.to_si(number) == pytest.approx(theirs, rel=1e-6 if label == "inHg" else 1e-9, abs=1e-12)


def test_no_unit_is_left_out_of_the_comparison():
    left = {label for _, label in ALL} - PINT.keys() - NOT_IN_THE_LIBRARY
    assert {label for label in left if units.find_unit(label).dimension != "count"} == set()


@given(st.sampled_from(ALL), st.floats(-1e6, 1e6))
def test_there_and_back(pair, number):
    unit = units.find_unit(pair[1], pair[0])
    assert unit.from_si(unit.to_si(number)) == pytest.approx(number, rel=1e-9, abs=1e-9)


def test_arrays_and_named_temperatures():
    np.testing.assert_allclose(units.celsius(np.array([0.0, 15.0])), [273.15, 288.15])
    assert units.fahrenheit(59.0) == pytest.approx(288.15)
    assert units.find_unit("degF", "temperature").to_si(59.0) == pytest.approx(288.15)
    assert units.find_unit("°C", "temperature_difference").to_si(10.0) == 10.0


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("knotts", "speed", "unknown unit 'knotts'; expected a unit of speed (did you mean 'knots'?)"),
        ("ft", "mass", "unknown unit 'ft'; expected a unit of mass, one of kg, g, lb"),
    ],
)
def test_errors(text, dimension, message):
    with pytest.raises(units.UnknownUnit) as caught:
        units.find_unit(text, dimension)
    assert str(caught.value) == message
