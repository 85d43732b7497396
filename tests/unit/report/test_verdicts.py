"""What the report says of answers and money, from the fixture's figures."""

from flyoff.charts import swings as chart
from flyoff.core.caution import CAUTION
from flyoff.report.blocks import Items, Table, Text
from flyoff.report.document import build_document
from flyoff.report.terms import terms_table
from helpers.comparison_fixture import comparison

WHOLE = comparison()
DOCUMENT = build_document(WHOLE, {})


def part(anchor):
    return next(part for part in DOCUMENT.parts if part.anchor == anchor)


def tables(anchor):
    return {block.caption: block for block in part(anchor).blocks if isinstance(block, Table)}


def test_the_answers_come_first_with_the_caution():
    assert DOCUMENT.parts[0].anchor == "verdict"
    assert part("verdict").blocks[0] == Text(CAUTION, "caution")
    told = next(block for block in part("verdict").blocks if isinstance(block, Items))
    assert told.items[0].startswith("Cheapest by the hour: too close to call")


def test_a_ranking_shows_its_odds_and_who_is_left_out():
    group = tables("verdict")["Each question, the airplanes in their order"].groups[0]
    assert [row.head for row in group.rows] == ["Lomvi 4", "Tjaldur Six", "The whole order", "Rita RG"]
    assert group.rows[0].cells[1].figure.value == 88.0
    assert group.rows[-1].cells[0].text == "not ranked"
    assert "no price is published" in group.rows[-1].cells[0].note


def test_a_break_even_is_told_with_what_lies_beyond():
    row = tables("verdict")["What would change an answer, one term at a time"].groups[0].rows[0]
    assert row.head == "Hours flown a year, below"
    assert row.cells[1].text == "Tjaldur Six comes first"
    unmoved = [block for block in part("verdict").blocks if isinstance(block, Items)][-1]
    assert unmoved.items == ("Cheapest by the hour: nothing changes with years kept from 1 to 25.",)


def test_every_assumption_stands_in_the_terms():
    heads = [row.head for group in terms_table(WHOLE, {}).groups for row in group.rows]
    assert {"Hours flown a year", "Years kept", "Hangar, a year"} <= set(heads)


def test_the_trace_of_a_probability_is_found_under_the_answers():
    names = [name for name, _ in DOCUMENT.index]
    assert "The answers" in names


def test_the_chart_of_swings_says_its_numbers():
    assert "Lomvi 4, 590 ± 80 EUR/h" in chart.alt(WHOLE)
    assert "value lost each year ±70 EUR/h" in chart.alt(WHOLE)
    assert "no evidence for Rita RG" in chart.subtitle(WHOLE)
