"""A draft checked: figures, bound words, what is assumed, what is said, and the bounds of time."""

import json
import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flyoff.core.units import celsius, ft, kt
from flyoff.draft.check import check_draft
from flyoff.draft.claims import Known, Records
from flyoff.draft.markdown import markdown_blocks
from flyoff.draft.output import findings_data, lines, summary
from flyoff.draft.page import html_page
from flyoff.draft.relations import RELATIONS
from flyoff.draft.text import Draft
from flyoff.physics.airspeed import true_airspeed

FIGURES = {
    known.key: known
    for known in (
        Known("tern.cruise_speed", "Cruise", 147 * kt, "speed", "kt", 2 * kt, "147 ± 2 kt", kt),
        Known("tern.range", "Range", 1093 * 1852.0, "length", "nmi", 21 * 1852.0, "1,093 ± 21 nmi", 1852.0),
        Known("tern.range_full_tanks", "Range", 1200 * 1852.0, "length", "nmi"),
        Known("tern.price_as_compared", "Price", 512000, "money", "EUR", printed="512,000 EUR"),
    )
}
RECORDS = Records({"tern": "Tern 180"}, FIGURES)


def check(text, records=RECORDS):
    return check_draft(Draft("draft.md", markdown_blocks(text)), records)


def verdicts(text, records=RECORDS):
    return [(f.text, f.verdict) for f in check(text, records).findings]


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("The Tern cruises at 147 knots.", "supported"),
        ("The Tern cruises at 169 mph.", "supported"),
        ("The Tern cruises at 149 knots.", "contradicted"),
        ("The Tern, with four aboard, has a range of 1,090 nautical miles.", "supported"),
        ("The Tern costs $512,000.", "contradicted"),
        ("The Tern costs €512,000.", "supported"),
        ("The Tern stalls at 50 knots.", "unsupported"),
        ("At 10,000 feet the Tern cruises at 150 knots.", "unsupported"),
        ("On 14 May the Tern was 3 years old.", "not a figure"),
    ],
)
def test_five_words(text, verdict):
    assert verdict in [v for _, v in verdicts(text)]
    assert not {"supported", "contradicted"} - {verdict} & {v for _, v in verdicts(text)}


def test_a_contradiction_says_what_to_write():
    (finding,) = check("The Tern cruises at 155 knots.").findings
    assert (finding.line, finding.column, finding.figure) == (1, 21, "tern.cruise_speed")
    assert finding.expected == "147 kt"
    assert "8 kt more" in finding.why


def test_bound_words_are_held_to_exactly_their_figure():
    text = (
        "It goes [1,090 nm](figure:tern.range), or [1,090 nm](figure:tern.range_full_tanks),"
        " at [9 kt](figure:no)."
    )
    assert [v for _, v in verdicts(text)] == ["supported", "contradicted", "unsupported"]


def test_a_warm_day_is_no_error_but_is_told():
    warm = "At 8,000 feet 120 knots indicated was 143 knots true."
    (said,) = [f for f in check(warm).findings if f.text.startswith("143")]
    assert said.verdict == "unsupported"
    low, high = map(float, re.search(r"; (\d+) to (\d+) °C", said.why).groups())
    at_k = [
        true_airspeed(
            calibrated_airspeed_m_s=120 * kt, pressure_altitude_m=8000 * ft, temperature_k=celsius(t)
        )
        for t in (low, high)
    ]
    assert at_k[0] < 143 * kt < at_k[1]
    accused = check(warm.replace("143", "175")).findings[-1]
    assert accused.verdict == "impossible"
    assert "°C" in accused.why


def relation(key):
    return next(r for r in RELATIONS if r.key == key)


@pytest.mark.parametrize(
    ("key", "inputs", "expected", "tolerance"),
    [
        # E. Williams, Aviation Formulary V1.47, worked examples: 250 kt CAS, 10,000 ft, −6.72 °C is 287.7 kt.
        ("true_airspeed", (250 * kt, 10000 * ft, celsius(-6.72)), 287.7 * kt, 0.1 * kt),
        # E. Williams, Aviation Formulary V1.47: pressure altitude 8,000 ft, 18 °C is 10,145 ft.
        ("density_altitude", (8000 * ft, celsius(18.0)), 10145 * ft, 30 * ft),
    ],
)
def test_relations_against_published_values(key, inputs, expected, tolerance):
    assert float(relation(key).predict(*inputs)) == pytest.approx(expected, abs=tolerance)


def test_every_relation_has_a_source():
    assert all(r.source and r.says for r in RELATIONS)


@given(
    gross=st.integers(1500, 6000),
    empty=st.integers(800, 1400),
    error=st.sampled_from([0, 30, -30, 100, -100]),
)
@settings(max_examples=60)
def test_useful_load_whatever_the_airplane(gross, empty, error):
    text = (
        f"The maximum takeoff weight is {gross:,} pounds, the empty weight {empty:,} pounds,"
        f" the useful load {gross - empty + error:,} pounds."
    )
    accused = "impossible" in [v for _, v in verdicts(text, Records())]
    if error == 0:
        assert not accused
    elif abs(error) == 100 and (gross - empty + error) % 100:
        assert accused


def test_lines_and_data_say_the_same():
    checked = [check("It weighs 2,600 lb (1,279 kg) in 2026.")]
    shown = list(lines(checked, everything=False, figures=False))
    assert shown[0].startswith("draft.md:1:21: impossible: '1,279 kg': one quantity in two units")
    assert "1 impossible" in shown[-1]
    assert any("not a figure" in line for line in lines(checked, everything=True, figures=False))
    data = json.loads(json.dumps(findings_data(checked)))
    keys = {"file", "line", "column", "time", "text", "verdict", "why", "expected", "figure", "relation"}
    assert {frozenset(f) for f in data["findings"]} == {frozenset(keys)}


def test_what_the_text_does_not_tell_is_said():
    checked = [check("We saw " + ", ".join(f"{100 + i} knots" for i in range(20)) + " on 3 days.")]
    assert [f.verdict for f in checked[0].findings] == 20 * ["unsupported"] + ["not a figure"]
    assert summary(checked, figures=True).startswith("20 quantities: ")
    assert "; 1 other number claims nothing (--all)" in summary(checked, figures=False)


def test_the_page_marks_each_quantity_and_escapes_the_text():
    page = html_page([check("It is `<script>` & 2,600 lb (1,279 kg).\n\n# 5 kt `<b>`\n")], figures=True)
    assert "<script" not in page
    assert "&lt;b&gt;" in page
    for anchor in re.findall(r'href="#([^"]+)"', page):
        assert f'id="{anchor}"' in page
    assert page.count('class="q impossible" id=') == 1
    assert 'tabindex="0"' in page
    assert "Not for flight planning" in page
    assert "http://" not in page.replace("http://www.w3.org", "")


DENSE = " and ".join(
    f"{100 + i} knots at {1000 + 100 * i} feet for {i + 1} hours on {i + 5} gph with {i + 20} gallons and"
    f" {i + 100} nautical miles, {i + 1000} pounds of useful load and {i + 100} pounds of fuel"
    for i in range(20)
)


@pytest.mark.parametrize("text", [DENSE, "1," * 20000, "twenty " * 20000, "(" * 20000, "[1 kt](" * 5000])
def test_crowded_texts_take_bounded_time(text):
    start = time.process_time()
    check(text)
    assert time.process_time() - start < 8


def test_six_thousand_words_take_less_than_a_second():
    sentence = (
        "The Tern cruises at 147 knots on 9.1 gph, and at 8,000 feet 120 knots indicated was 135 knots true"
        " while nobody aboard had a word to say against the way that it rode the bumps of a long afternoon. "
    )
    text = "\n\n".join([sentence * 4] * 45)
    assert len(text.split()) > 6000
    start = time.process_time()
    found = check(text).findings
    assert time.process_time() - start < 1
    assert len(found) > 800


@given(st.text(max_size=200), st.text(max_size=200))
@settings(max_examples=50)
def test_any_text_is_checked(before, after):
    for finding in check(f"{before} 12 kt for 3 hours {after}").findings:
        assert finding.why
        assert finding.line >= 1
