"""Ratings are held to their scale, and to the decisions written with them."""

from pathlib import Path

import pytest

from flyoff.core.problems import Problems
from flyoff.flights.cooper_harper import SCALE, contradictions, improvement, meaning
from flyoff.flights.read import parse_flight

CARD = """date = "2026-06-02"
[[points]]
start = "10:00"
end = "10:02"
[[handling]]
task = "steep turn"
rating = 4
pilot = "A pilot"
adequate = true
satisfactory = false
[[remarks]]
about = "landing"
text = "Sits down firmly."
[[noise]]
start = "10:00:10"
end = "10:01:00"
place = "ear height"
levels = ["82.0 dB(A)", "83.0 dB(A)"]
"""


def test_a_card_with_notes_is_read() -> None:
    card = parse_flight(CARD, "day.toml", Path()).card
    assert (card.handling[0].rating, card.remarks[0].about, len(card.noise[0].levels)) == (4, "landing", 2)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("rating = 4", "rating = 11", "handling.0.rating: found 11"),
        ("rating = 4", "rating = 0", "handling.0.rating: found 0"),
        ("rating = 4", "rating = 4.5", "handling.0.rating"),
        ("rating = 4", "rating = 3", "satisfactory = false with a rating of 3"),
        ("rating = 4", "rating = 7", "adequate = true with a rating of 7"),
        ("adequate = true", "controllable = false", "controllable = false with a rating of 4"),
        ('about = "landing"', 'about = "taste"', "remarks.0.about"),
        ('end = "10:01:00"', 'end = "09:01:00"', "noise.0.end"),
        ('"82.0 dB(A)"', '"82.0"', "noise.0.levels.0"),
        ('levels = ["82.0 dB(A)", "83.0 dB(A)"]', "levels = []", "noise.0.levels"),
    ],
)
def test_a_fault_is_named(old: str, new: str, said: str) -> None:
    with pytest.raises(Problems) as caught:
        parse_flight(CARD.replace(old, new, 1), "day.toml", Path())
    assert said in str(caught.value)
    assert "day.toml:" in str(caught.value)


def test_each_rating_agrees_with_its_own_decisions_alone() -> None:
    for rating in SCALE:
        own = {"controllable": rating <= 9, "adequate": rating <= 6, "satisfactory": rating <= 3}
        assert list(contradictions(rating, **own)) == []
        for name, answer in own.items():
            assert [found for found, _ in contradictions(rating, **{**own, name: not answer})] == [name]


def test_every_rating_has_words() -> None:
    assert list(SCALE) == list(range(1, 11))
    assert meaning(5).startswith("moderately objectionable")
    assert [improvement(rating)[:12] for rating in (3, 4, 7, 10)] == [
        "satisfactory", "deficiencies", "deficiencies", "improvement "
    ]  # fmt: skip
