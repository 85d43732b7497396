"""The house style: legible on its ground, and colour never the only code."""

import itertools

import pytest

from flyoff.charts.style import (
    DARK,
    DASHES,
    LIGHT,
    SCREEN,
    SHAPES,
    Setting,
    Theme,
    looks,
    shortened,
    text_width,
    wrapped,
)
from helpers import comparison_fixture

# WCAG 2.2, success criterion 1.4.3: text needs a contrast of 4.5, and 1.4.11: graphics need 3.
TEXT, GRAPHICS = 4.5, 3.0


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definitions."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_words_are_legible(theme: Theme) -> None:
    assert theme.ground is not None
    for colour in (theme.ink, theme.quiet, *theme.series):
        assert contrast(colour, theme.ground) >= TEXT, colour
    assert contrast(theme.rule, theme.ground) >= GRAPHICS - 0.05


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_every_colour_serves_one_thing(theme: Theme) -> None:
    """The page turns light charts dark by their colours, so none may stand for two things."""
    used = [theme.ground, theme.ink, theme.quiet, theme.grid, theme.rule, *theme.series]
    assert len(set(used)) == len(used)


def test_line_and_point_tell_airplanes_apart_without_colour() -> None:
    assert len(LIGHT.series) == len(DARK.series) == len(DASHES) == len(SHAPES)
    assert len(set(DASHES)) == len(DASHES)
    assert len(set(SHAPES)) == len(SHAPES)
    found = looks(comparison_fixture.comparison(), Setting(DARK, SCREEN))
    assert [look.name for look in found.values()] == [e.name for e in comparison_fixture.ENTRIES]
    for a, b in itertools.combinations(found.values(), 2):
        assert a.dash != b.dash
        assert a.shape != b.shape


def test_texts_are_wrapped_and_cut_to_their_room() -> None:
    text = "True airspeed at 65 % power, standard temperature; bands hold 95 %"
    lines = wrapped(text, 200.0, 13.0)
    assert " ".join(lines) == text
    assert all(text_width(line, 13.0) <= 200.0 for line in lines)
    assert shortened("short", 200.0, 13.0) == "short"
    cut = shortened(text, 120.0, 13.0)
    assert cut.endswith("…")
    assert text_width(cut, 13.0) <= 120.0
