"""How many wrong statements are found for the right reason, and how many right ones are accused.

The held-out half was written before there was code, and nothing was tuned on it: its statements that
fail were never looked at, only counted.
"""

import json
from collections.abc import Iterable

import pytest

from flyoff.core.units import find_unit
from flyoff.draft.check import check_draft
from flyoff.draft.claims import Known, Records
from flyoff.draft.findings import ACCUSED, Finding
from flyoff.draft.markdown import markdown_blocks
from flyoff.draft.text import Draft
from helpers.draft_corpus import FOLDER, FURTHER, Item, items, items_of


def records() -> Records:
    data = json.loads((FOLDER / "figures.json").read_text("utf-8"))
    figures = {}
    for key, label, value, unit, dimension, terms in data["figures"]:
        si = find_unit(unit, dimension).to_si(value)
        figures[key] = Known(key, label, si, dimension, unit, printed=f"{value:,} {unit}", terms=terms)
    return Records(data["airplanes"], figures)


RECORDS = records()


def accused(item: Item, known: Records = RECORDS) -> list[Finding]:
    checked = check_draft(Draft("corpus.md", markdown_blocks(item.text)), known)
    return [finding for finding in checked.findings if finding.verdict in ACCUSED]


def rightly(item: Item, known: Records = RECORDS) -> bool:
    """Whether an item is accused by its own word and for one of its own reasons."""
    return any(
        finding.verdict == item.verdict and finding.relation.startswith(item.reasons)
        for finding in accused(item, known)
    )


def score(statements: Iterable[Item]) -> tuple[float, float]:
    """Return the share of wrong statements found, and of right ones accused."""
    statements = list(statements)
    wrong = [rightly(item) for item in statements if item.wrong]
    right = [bool(accused(item)) for item in statements if not item.wrong]
    return sum(wrong) / len(wrong), sum(right) / len(right)


def test_the_corpus_is_large_and_about_half_wrong():
    both = [*items(held_out=False), *items(held_out=True)]
    assert len(both) >= 300
    assert 0.4 < sum(item.wrong for item in both) / len(both) < 0.6
    assert {item.style for item in both} == {"article", "letter", "speech"}
    assert len({item.text for item in both}) == len(both)


def test_held_out_half():
    found, blamed = score(items(held_out=True))
    assert found >= 0.95
    assert blamed <= 0.03


@pytest.mark.parametrize("statements", [list(items(held_out=False)), list(items_of(FURTHER))])
def test_what_was_tuned_on(statements):
    found, blamed = score(statements)
    assert found >= 0.97
    assert blamed <= 0.01


def test_the_impossible_needs_no_study():
    impossible = [item for item in items(held_out=False) if item.verdict == "impossible"]
    found = [rightly(item, Records()) for item in impossible]
    assert sum(found) / len(found) >= 0.95
