"""Numbers and quantities as people write and say them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.draft.numerals import number_at
from flyoff.draft.quantities import mentions_of
from flyoff.draft.tokens import tokens_of


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1,090", 1090),
        ("0.43", 0.43),
        (".43", 0.43),
        ("540K", 540e3),
        ("1.2 million", 1.2e6),
        ("2½", 2.5),
        ("2 1/2", 2.5),
        ("two and a quarter", 2.25),
        ("three quarters", 0.75),
        ("nine point one", 9.1),
        ("point four three", 0.43),
        ("a hundred and forty seven", 147),
        ("one forty seven", 147),
        ("twenty four fifty", 2450),
        ("twenty-six hundred", 2600),
        ("sixteen hundred and forty", 1640),
        ("eight thousand five hundred", 8500),
    ],
)
def test_numbers(text, value):
    assert number_at(tokens_of(text), 0).value == pytest.approx(value)


SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
    " sixteen seventeen eighteen nineteen"
)
ROUND = "twenty thirty forty fifty sixty seventy eighty ninety"
WORDS, TENS = SMALL.split(), ROUND.split()


def in_words(number: int) -> str:
    if number < 20:
        return WORDS[number]
    if number < 100:
        return f"{TENS[number // 10 - 2]} {WORDS[number % 10]}" if number % 10 else TENS[number // 10 - 2]
    if number < 1000:
        rest = f" and {in_words(number % 100)}" if number % 100 else ""
        return f"{WORDS[number // 100]} hundred{rest}"
    rest = f" {in_words(number % 1000)}" if number % 1000 else ""
    return f"{in_words(number // 1000)} thousand{rest}"


@given(st.integers(1, 999_999))
def test_words_come_back_as_the_number(number):
    for text in (in_words(number), f"{number:,}", str(number)):
        tokens = tokens_of(f"{text} pounds")
        found = number_at(tokens, 0)
        assert found.value == number
        assert tokens.word(found.end) == "pounds"


@pytest.mark.parametrize(
    ("text", "dimension", "number", "label"),
    [
        ("980 miles", "length", 980, "mi"),
        ("two and a quarter hours", "time", 2.25, "h"),
        ("two hours and twenty minutes", "time", 2 + 1 / 3, "h"),
        ("an hour and a half", "time", 1.5, "h"),
        ("two hours and a half", "time", 2.5, "h"),
        ("three hours and a quarter", "time", 3.25, "h"),
        ("9.5 gallons of avgas an hour", "volume_flow", 9.5, "US gal/h"),
        ("half an hour", "time", 0.5, "h"),
        ("a three-hour leg", "time", 3, "h"),
        ("0.43 pounds per horsepower-hour", "specific_consumption", 0.43, "lb/hp·h"),
        ("$540K", "money", 540e3, "USD"),
        ("€410,000", "money", 410e3, "EUR"),
        ("14 gph", "volume_flow", 14, "US gal/h"),
        ("nine gallons an hour", "volume_flow", 9, "US gal/h"),
        ("11.4 nautical miles per gallon", "distance_per_volume", 11.4, "nmi/US gal"),
        ("fifteen miles to the gallon", "distance_per_volume", 15, "mi/US gal"),
        ("-9°C", "temperature", -9, "°C"),
        ("minus 4 Celsius", "temperature", -4, "°C"),
        ("16 pounds per square foot", "surface_load", 16, "lb/ft²"),
        ("500 feet a minute", "speed", 500, "ft/min"),
        ("10:1", "glide_ratio", 10, "to 1"),
        # Decimal marks and groups: ISO 80000-1:2022, 7.3.1 and 7.3.2; others common practice, no source.
        ("46,6 litres", "volume", 46.6, "L"),
        ("0,745 kg", "mass", 0.745, "kg"),
        ("1'140 m", "length", 1140, "m"),
        ("1’140 m", "length", 1140, "m"),
        ("1\u202f140 m", "length", 1140, "m"),
        ("1 000 m", "length", 1000, "m"),
        ("1.140,5 kg", "mass", 1140.5, "kg"),
        ("8.000 ft", "length", 8000, "ft"),
        ("2:07 hours", "time", 2 + 7 / 60, "h"),
        ("2 h 07", "time", 2 + 7 / 60, "h"),
        ("2h07", "time", 2 + 7 / 60, "h"),
        ("2h07m", "time", 2 + 7 / 60, "h"),
        ("an hour costs CHF 229", "money_per_time", 229, "CHF/h"),
        ("0.25 kg per kilowatt-hour", "specific_consumption", 0.25, "kg/kWh"),
        ("250 g/kWh", "specific_consumption", 250, "g/kWh"),
        ("it is (49 in)", "length", 49, "in"),
        ("it takes an hour", "time", 1, "h"),
        ("a flying hour is about 240 francs", "money_per_time", 240, "CHF/h"),
        ("we paid $5 every hour", "money_per_time", 5, "USD/h"),
        ("the new airplane is $500,000", "money", 500_000, "USD"),
    ],
)
def test_quantities(text, dimension, number, label):
    (mention,) = mentions_of(tokens_of(f"so {text}."))
    assert (mention.dimension, mention.measure.label) == (dimension, label)
    assert mention.number == pytest.approx(number)


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("1,140 m", [1140, 1.14]),
        ("1.140 m", [1.14, 1140]),
        ("1 140 m", [1140, 140]),
        ("1,140 m beside 46,6 m", [1.14, 1140]),
        ("1,140 m beside 9.1 m", [1140]),
        ("1,500 m", [1500]),
    ],
)
def test_where_a_mark_may_mean_two_things_both_are_read(text, numbers):
    mention = mentions_of(tokens_of(text))[0]
    assert [r.measure.from_si(r.si) for r in mention.readings] == pytest.approx(numbers)


def test_a_time_of_day_is_no_duration():
    assert mentions_of(tokens_of("We left at 10:30 hours."))[0].dimension == "count"


def test_a_shared_unit_is_shared():
    found = mentions_of(tokens_of("It cruises at 140 to 150 knots; 160 knots instead of 120."))
    assert [(m.number, m.dimension) for m in found] == [(n, "speed") for n in (140, 150, 160, 120)]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("147 knots", 146.5, 147.5),
        ("9.1 gph", 9.05, 9.15),
        ("1,090 nm", 1085, 1095),
        ("about 500 nm", 450, 550),
        ("nearly 150 knots", 142.5, 151.5),
        ("over 800 nm", 792, 850),
    ],
)
def test_the_interval_follows_precision_and_hedge(text, low, high):
    (mention,) = mentions_of(tokens_of(text))
    reading = mention.readings[0]
    assert reading.measure.from_si(reading.low) >= low - 1e-6
    assert reading.measure.from_si(reading.high) <= high + 1e-6


@pytest.mark.parametrize(
    "text", ["14 March 2026", "runway 09/27", "four airplanes with 12 people", "in 1987"]
)
def test_dates_and_counts_are_no_quantities(text):
    assert {m.dimension for m in mentions_of(tokens_of(text))} <= {"count"}


@given(st.text(max_size=300))
def test_any_text_is_read(text):
    for mention in mentions_of(tokens_of(text)):
        assert text[mention.start : mention.end] == mention.text
        assert all(reading.low <= reading.si <= reading.high for reading in mention.readings)
