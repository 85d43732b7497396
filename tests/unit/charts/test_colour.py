"""Contrast and colour difference, and the palettes held against them."""

import numpy as np
import pytest

from flyoff.charts.colour import VISIONS, contrast, distance, lab, nearest
from flyoff.charts.house import APART, LEGIBLE
from flyoff.charts.style import DARK, FILM, FILM_LIGHT, LIGHT, THEMES, Theme


def test_contrast_as_published() -> None:
    """WCAG 2.2, Understanding 1.4.3: black on white is 21; #777777 on white is 4.47, and fails."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert round(contrast("#777777", "#ffffff"), 2) in (4.47, 4.48)


def test_lab_as_published() -> None:
    """CIE L*a*b* of the sRGB primaries under D65 (IEC 61966-2-1; Lindbloom's tables, to 0.1)."""
    for colour, expected in {
        "#ff0000": (53.24, 80.09, 67.20),
        "#00ff00": (87.73, -86.18, 83.18),
        "#0000ff": (32.30, 79.19, -107.86),
        "#ffffff": (100.0, 0.0, 0.0),
    }.items():
        np.testing.assert_allclose(lab(colour), expected, atol=0.15)


@pytest.mark.parametrize("vision", VISIONS)
def test_greys_look_the_same_to_any_eyes(vision: str) -> None:
    """Machado et al. (2009) keep the achromatic axis."""
    np.testing.assert_allclose(lab("#808080", vision), lab("#808080"), atol=0.1)  # type: ignore[arg-type]


def test_red_and_green_come_near_to_those_who_confuse_them() -> None:
    assert distance("#b04a20", "#6b7a20", "deutan") < 0.35 * distance("#b04a20", "#6b7a20")


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_no_two_airplanes_look_alike_to_any_eyes(theme: Theme) -> None:
    least, pair, vision = nearest(theme.series)
    assert least >= APART, (pair, vision)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_words_are_legible_on_their_ground_or_their_edge(theme: Theme) -> None:
    ground = theme.ground or theme.halo
    assert ground is not None
    for colour in (theme.ink, theme.quiet, *theme.series):
        assert contrast(colour, ground) >= LEGIBLE, colour


def test_film_is_lighter_than_a_dark_page() -> None:
    for film, page in zip(FILM.series, DARK.series, strict=True):
        assert lab(film)[0] > lab(page)[0] - 0.5
    assert FILM.ground is None and FILM_LIGHT.ground is None and LIGHT.halo is None
