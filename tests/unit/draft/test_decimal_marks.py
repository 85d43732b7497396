"""Expected values are printed with the marks that the draft itself has."""

import pytest

from flyoff.draft.check import check_draft
from flyoff.draft.claims import Records
from flyoff.draft.findings import ACCUSED
from flyoff.draft.markdown import markdown_blocks
from flyoff.draft.text import Draft


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Empty weight 745,5 kg, takeoff weight 1.850,5 kg: a useful load of 1.304,0 kg.", "1.105,0 kg"),
        ("Empty weight 745.5 kg, takeoff weight 1,850.5 kg: a useful load of 1,304.0 kg.", "1,105.0 kg"),
        (
            "The base price is 385.000 euros, options cost 42.500 euros, the total is 477.500 euros.",
            "427.500",
        ),
    ],
)
def test_marks_of_the_draft(text, expected):
    found = check_draft(Draft("a.md", markdown_blocks(text)), Records()).findings
    accused = [finding for finding in found if finding.verdict in ACCUSED]
    assert [expected in finding.expected for finding in accused] == [True]


def test_a_speaker_who_thinks_aloud_is_read_as_one_who_does_not():
    text = "fifty gallons of avgas so thats um three hundred uh and sixty pounds"
    (accused,) = (
        finding
        for finding in check_draft(Draft("a.md", markdown_blocks(text)), Records()).findings
        if finding.verdict in ACCUSED
    )
    assert accused.relation == "fuel_weight"
