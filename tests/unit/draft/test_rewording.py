"""New words for an old quantity keep its author's unit, precision and manner, and are read so."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flyoff.core.units import find_unit
from flyoff.draft.bound import as_bound, is_end
from flyoff.draft.claims import Known, agrees
from flyoff.draft.manner import in_words
from flyoff.draft.quantities import mentions_of
from flyoff.draft.rewording import reworded
from flyoff.draft.text import Link
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


TIMES = (
    ("two hours and twenty minutes", 2.66, "two hours and forty minutes"),
    ("two hours and twenty minutes", 2.71, "two hours and forty five minutes"),
    ("two hours and twenty-one minutes", 2.71, "two hours and forty-three minutes"),
    ("two hours and twenty minutes", 2.1, "two hours and six minutes"),
    ("two hours and twenty minutes", 1.26, "one hour and fifteen minutes"),
    ("two hours and twenty minutes", 3.01, "three hours"),
    ("two hours and twenty minutes", 0.5, "thirty minutes"),
    ("an hour and ten minutes", 1.42, "an hour and twenty five minutes"),
    ("an hour and ten minutes", 2.42, "two hours and twenty five minutes"),
    ("an hour and 10 minutes", 2.42, "two hours and 25 minutes"),
    ("an hour and a half", 1.26, "an hour and a quarter"),
    ("an hour and a half", 2.52, "two and a half hours"),
    ("an hour and a half", 1.37, "1.4 hours"),
    ("1 hour, 20 minutes", 2.017, "2 hours"),
    ("1 hour, 21 minutes", 2.017, "2 hours, 1 minute"),
    ("2 h 20 min", 2.66, "2 h 40 min"),
    ("2 h 21 min", 3.1, "3 h 6 min"),
    ("2 h 05 min", 3.1, "3 h 06 min"),
    ("2h20", 3.08, "3h05"),
    ("2h20", 3.0, "3h00"),
    ("2:20 hours", 2.66, "2:40 hours"),
    ("2:20", 2.66, "2:40"),
    ("2:20", 10.02, "10:01"),
    ("2:20:30 h", 2.66, "2:39:36 h"),
    ("twenty minutes and thirty seconds", 0.2, "twelve minutes"),
)
RANGES = (
    ("140 to 145 knots", 147, "kt", "145 to 150 knots"),
    ("140-145 kt", 153.1, "kt", "150-155 kt"),
    ("140–145-knot", 131.0, "kt", "130–135-knot"),
    ("141 to 145 knots", 149.2, "kt", "147 to 151 knots"),
    ("145 to 140 knots", 147, "kt", "150 to 145 knots"),
    ("140 kt to 145 kt", 151, "kt", "150 kt to 155 kt"),
    ("between 8 and 9 gph", 9.8, "US gal/h", "9 and 10 gph"),
    ("8 or 9 gph", 9.8, "US gal/h", "9 or 10 gph"),
    ("between eight and nine gallons an hour", 9.8, "US gal/h", "nine and ten gallons an hour"),
    ("8 to 9.5 gph", 10.4, "US gal/h", "9.5 to 11.0 gph"),
    ("8.2 to 8.6 gph", 9.73, "US gal/h", "9.5 to 9.9 gph"),
    ("1,000 to 1,100 nm", 1123, "nmi", "1,100 to 1,200 nm"),
    ("about 1,000 to 1,100 nm", 1323, "nmi", "1,300 to 1,400 nm"),
    ("five to six hundred pounds", 652, "lb", "six to seven hundred pounds"),
    ("$540K to $560K", 582_400, "USD", "$570K to $590K"),
    ("$540,000–$560,000", 582_400, "USD", "$570,000–$590,000"),
    ("€540,000–560,000", 582_400, "EUR", "€570,000–590,000"),
    ("$540–560K", 582_400, "USD", "$570–590K"),
    ("two to two and a half hours", 2.9, "h", "two and a half to three hours"),
    ("2 to 2½ hours", 2.9, "h", "2½ to 3 hours"),
    ("20 to 25 minutes", 0.5, "h", "30 to 35 minutes"),
    ("2 h 10 min to 2 h 20 min", 2.66, "h", "2 h 30 min to 2 h 40 min"),
    ("50 minutes to an hour and ten minutes", 1.5, "h", "80 minutes to an hour and forty minutes"),
    ("1:30 to 2:00 hours", 2.25, "h", "2:00 to 2:30 hours"),
    ("0 to 10 lb", 13.2, "lb", "10 to 20 lb"),
    ("2 to 10 gph", 0.3, "US gal/h", "0 to 8 gph"),
)


def as_one(text, figure):
    """Read a text whose only quantities are bound to one figure."""
    (mention,) = as_bound(text, mentions_of(tokens_of(text)), figure)
    return mention


def after(text, figure):
    """Return a text with its quantity brought up to date, having read again what it says."""
    mention = as_one(text, figure)
    words = reworded(text, mention, figure)
    assert words is not None
    new = text[: mention.start] + words + text[mention.end :]
    assert agrees(as_one(new, figure), figure)
    return words


@pytest.mark.parametrize(("text", "value", "new"), TIMES)
def test_a_duration_in_parts_keeps_its_parts(text, value, new):
    assert after(f"The trip takes {text}.", known(value, "h")) == new


@pytest.mark.parametrize(("text", "value", "unit", "new"), RANGES)
def test_a_range_keeps_its_width_and_goes_around_the_figure(text, value, unit, new):
    assert after(f"It is {text} here.", known(value, unit)) == new


@pytest.mark.parametrize("value", [140, 142.2, 145])
def test_a_range_agrees_with_what_lies_in_it(value):
    figure = known(value, "kt")
    assert agrees(as_one("does 140 to 145 knots", figure), figure)


def test_an_end_of_what_is_not_read_as_a_range_is_known_for_one():
    for text, ends in (("one hour to lunch", True), ("about an hour", False), ("1,090 nm (2,019 km)", False)):
        link = Link(0, len(text), "figure:a.b")
        mentions = mentions_of(tokens_of(f"takes {text}"))
        moved = [replace(m, start=m.start - 6, end=m.end - 6) for m in mentions]
        assert [is_end(text, link, m) for m in moved][:1] == [ends]


def test_a_range_of_which_one_end_is_misread_is_left():
    figure = known(700, "kt")
    text = "does 1 to 560 knots"
    assert reworded(text, as_one(text, figure), figure) is None


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


@pytest.mark.parametrize(("low", "high"), [(200, 210), (1000, 1001)])
def test_two_numbers_in_words_with_and_between_are_two(low, high):
    spelled = [in_words(number, "a hundred and one") for number in (low, high)]
    found = mentions_of(tokens_of(f"between {' and '.join(spelled)} feet"))
    assert [mention.number for mention in found] == [low, high]


@given(st.integers(0, 9999))
def test_numbers_in_words_are_read_back(number):
    (mention,) = mentions_of(tokens_of(f"{in_words(number, 'a hundred and one')} knots"))
    assert mention.number == number


@given(
    st.sampled_from(
        ["{0} hours and {1} minutes", "{0} h {1} min", "{0}h{1:02d}", "{0}:{1:02d}", "{0}:{1:02d} hours",
         "{2} hours and {3} minutes", "{0} hours, {3} minutes"]
    ),
    st.integers(2, 30), st.integers(1, 59), st.floats(0.1, 40.0),
)  # fmt: skip
def test_any_duration_in_parts_is_rewritten_and_read_as_the_figure(form, hours, minutes, new):
    text = form.format(hours, minutes, in_words(hours), in_words(minutes, "a-b"))
    figure = known(new, "h")
    words = after(f"The leg takes {text} in all.", figure)
    fives = minutes % 5 == 0
    written = as_one(f"The leg takes {words} in all.", figure).readings[0].si
    assert abs(written - figure.si) <= (150.0 if fives else 30.0) + 1e-6


@given(
    st.sampled_from(["{0} to {1} knots", "between {0} and {1} kt", "{0}–{1} kt", "{0} kt to {1} kt",
                     "between {2} and {3} knots", "{2} to {3} knots"]),
    st.integers(20, 900), st.integers(1, 60), st.integers(20, 1500),
)  # fmt: skip
def test_any_range_is_rewritten_with_its_width_and_read_as_the_figure(form, low, width, new):
    text = form.format(
        low, low + width, in_words(low, "a hundred and one"), in_words(low + width, "a hundred and one")
    )
    figure = known(new, "kt")
    words = after(f"The Tern does {text} in cruise.", figure)
    first, last = mentions_of(tokens_of(f"between {words}"))
    assert last.number - first.number == width
