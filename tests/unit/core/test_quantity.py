import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core import units
from flyoff.core.quantity import QuantityError, example, parse_number, parse_quantity
from flyoff.core.sources import Place

# a count is written bare and has no unit to read
ALL = [(d, label) for d in units.DIMENSIONS if d != "count" for label in units.units_of(d)]


@given(st.sampled_from(ALL), st.decimals(-999999, 999999, allow_nan=False, places=2), st.booleans())
def test_what_is_written_is_what_is_read(pair, number, commas):
    dimension, label = pair
    text = f"{number:,} {label}" if commas else f"{number} {label}"
    quantity = parse_quantity(text, dimension)
    unit = units.find_unit(label, dimension)
    assert quantity.number == pytest.approx(float(number), rel=1e-9, abs=1e-8)
    assert quantity.half_digit_si == pytest.approx(0.005 * unit.factor)
    assert str(quantity) == text.strip()
    assert quantity.dimension == dimension


@pytest.mark.parametrize(
    ("text", "si", "half"),
    [
        ("6,000 ft", 1828.8, 0.1524),
        ("-5 °C", 268.15, 0.5),
        ("−5 °C", 268.15, 0.5),
        ("29.5 inHg", 29.5 * 3386.389, 0.05 * 3386.389),
        ("65%", 0.65, 0.005),
        (" 45  min ", 2700.0, 30.0),
    ],
)
def test_examples(text, si, half):
    dimension = {"ft": "length", "°C": "temperature", "inHg": "pressure", "%": "ratio", "min": "time"}[
        text.strip().lstrip("-−0123456789.,").strip()
    ]
    quantity = parse_quantity(text, dimension)
    assert quantity.si == pytest.approx(si)
    assert quantity.half_digit_si == pytest.approx(half)


@pytest.mark.parametrize(
    ("text", "dimension", "found", "expected"),
    [
        ("150", "speed", "'150' has no unit", "with its unit"),
        ("kt", "speed", "'kt' has no number", "a speed with its unit"),
        ("", "mass", "has no number", "a mass"),
        ("1,50 kt", "speed", "is not a number with a unit", "groups of three"),
        ("1.2.3 kt", "speed", "is not a number with a unit", "decimal point"),
        ("150 ft", "speed", "unknown unit 'ft' in '150 ft'", "a unit of speed"),
        ("nan kt", "speed", "has no number", "a speed"),
        ("1e5 ft", "length", "unknown unit 'e5 ft'", "a unit of length"),
        ("--5 kt", "speed", "has no number", "a speed"),
        ("5 kt kt", "speed", "unknown unit 'kt kt'", "a unit of speed"),
    ],
)
def test_bad_text(text, dimension, found, expected):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, dimension)
    assert found in caught.value.found
    assert expected in caught.value.expected


@given(st.text(max_size=30), st.sampled_from(units.DIMENSIONS))
def test_any_text_is_read_or_refused(text, dimension):
    try:
        quantity = parse_quantity(text, dimension)
    except QuantityError:
        return
    assert quantity.half_digit_si > 0


@given(st.text(max_size=40))
def test_any_number_is_read_or_refused(text):
    try:
        number, half = parse_number(text)
    except QuantityError:
        return
    assert number == number
    assert half > 0


def test_place_and_source():
    place = Place("a.toml", 3, "wing.span")
    quantity = parse_quantity("10 m", "length").at(place, "handbook")
    assert (quantity.place, quantity.source) == (place, "handbook")
    assert quantity.at(place, "other").source == "handbook"


@pytest.mark.parametrize("dimension", [d for d in units.DIMENSIONS if d != "count"])
def test_the_example_of_a_dimension_is_one(dimension):
    assert parse_quantity(example(dimension).strip('"'), dimension).dimension == dimension
