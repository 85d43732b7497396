"""New words for an old quantity keep its author's unit, precision and manner, and are read so."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.units import find_unit
from flyoff.draft.claims import Known, agrees
from flyoff.draft.quantities import mentions_of
from flyoff.draft.rewording import in_words, reworded
from flyoff.draft.tokens import tokens_of

# Units: NIST SP 811 (2008), B.8; the values are our own.
CASES = (
    ("a range of 1,090 nm here", 1123, "nmi", "1,120 nm"),
    ("a range of 1090 nm here", 1123, "nmi", "1120 nm"),
    ("about 1,000 nautical miles", 1123, "nmi", "1,100 nautical miles"),
    ("nearly 1,100 nautical miles", 1122, "nmi", "1,120 nautical miles"),
    ("over 1,100 nautical miles", 1218, "nmi", "1,200 nautical miles"),
    ("a leg of 950 nm", 1004, "nmi", "1,000 nm"),
    ("it takes two and a quarter hours", 2.52, "h", "two and a half hours"),
    ("it takes 2½ hours", 3.24, "h", "3¼ hours"),
    ("it takes 2 1/2 hours", 3.76, "h", "3 3/4 hours"),
    ("it takes 2 1/2 hours", 2.61, "h", "2.6 hours"),
    ("it takes 3 hours 42 minutes", 3.95, "h", "3 hours 57 minutes"),
    ("it costs $540K as compared", 582_400, "USD", "$580K"),
    ("does a hundred and twenty one knots", 133, "kt", "a hundred and thirty three knots"),
    ("does one twenty one knots", 133, "kt", "one thirty three knots"),
    ("does ninety-one knots", 95, "kt", "ninety-five knots"),
    ("burns six point seven gallons an hour", 5.72, "US gal/h", "five point seven gallons an hour"),
    ("burns 6.7 gph", 5.72, "US gal/h", "5.7 gph"),
    ("burns 46,6 litres", 45.2, "L", "45,2 litres"),
    ("lies at 1'140 m", 1230, "m", "1'230 m"),
    ("takes 2:07 hours", 2.05, "h", "2:03 hours"),
    ("burns 9 gallons an hour", 12.2, "US gal/h", "12 gallons an hour"),
)


def known(value, unit):
    unit = find_unit(unit)
    return Known("a.b", "", unit.to_si(value), unit.dimension, unit.label)


@pytest.mark.parametrize(("text", "value", "unit", "new"), CASES)
def test_words_are_in_the_authors_manner(text, value, unit, new):
    figure = known(value, unit)
    (mention,) = [m for m in mentions_of(tokens_of(text)) if m.dimension == figure.dimension]
    assert reworded(text, mention, figure) == new


def test_no_finer_than_the_figure_supports():
    (mention,) = mentions_of(tokens_of("lifts 902 pounds"))
    pound = find_unit("lb")
    figure = Known(
        "a.b", "", pound.to_si(933.6), "mass", "lb", pound.to_si(30), "930 ± 30 lb", pound.to_si(10)
    )
    assert reworded("lifts 902 pounds", mention, figure) == "930 pounds"


@pytest.mark.parametrize("text", ["it takes an hour and a half", "two hours and twenty minutes"])
def test_what_is_not_sure_to_be_read_so_is_left(text):
    (mention,) = mentions_of(tokens_of(text))
    assert reworded(text, mention, known(1.26, "h")) is None


@given(
    st.sampled_from(
        ["{:,.0f} knots", "{:.1f} kt", "about {:,.0f} kt", "nearly {:,.0f} knots", "{:,.0f}-knot"]
    ),
    st.floats(20, 3000),
    st.floats(20, 3000),
)
def test_whatever_is_written_is_read_as_the_figure(form, old, new):
    text = f"The Tern does {form.format(old)} in cruise."
    (mention,) = [m for m in mentions_of(tokens_of(text)) if m.dimension == "speed"]
    figure = known(new, "kt")
    words = reworded(text, mention, figure)
    assert words is not None
    after = text[: mention.start] + words + text[mention.end :]
    (read,) = [m for m in mentions_of(tokens_of(after)) if m.dimension == "speed"]
    assert agrees(read, figure)
    assert read.hedge == mention.hedge


@given(st.integers(0, 9999))
def test_numbers_in_words_are_read_back(number):
    (mention,) = mentions_of(tokens_of(f"{in_words(number, 'a hundred and one')} knots"))
    assert mention.number == number
