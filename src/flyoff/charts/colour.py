"""Whether colours can be read and told apart, by everyone."""

import itertools
from collections.abc import Iterable
from typing import Literal, TypeAlias

import numpy as np

from flyoff.core.typing import Array

Vision: TypeAlias = Literal["normal", "protan", "deutan", "tritan"]

# Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of Color Vision
# Deficiency", IEEE Transactions on Visualization and Computer Graphics 15 (2009), severity 1.0;
# on linear red, green and blue.
_SEEN: dict[Vision, tuple[tuple[float, float, float], ...]] = {
    "normal": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritan": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
VISIONS: tuple[Vision, ...] = tuple(_SEEN)

# IEC 61966-2-1: linear sRGB to CIE XYZ, white D65.
_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
_WHITE = np.array([0.9505, 1.0, 1.0890])


def _linear(colour: str) -> Array:
    """Return a colour ``#rrggbb`` as linear red, green and blue (IEC 61966-2-1)."""
    channels = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    """Return the relative luminance (WCAG 2.2, definitions)."""
    return float(_XYZ[1] @ _linear(colour))


def contrast(a: str, b: str) -> float:
    """Return the contrast ratio of two colours (WCAG 2.2, definitions), from 1 to 21.

    >>> round(contrast("#000000", "#ffffff"), 6)
    21.0
    """
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(colour: str, vision: Vision = "normal") -> Array:
    """Return a colour as CIE 1976 L*a*b* (CIE 15:2004, 8.2.1), as eyes of one kind see it."""
    seen = np.clip(np.array(_SEEN[vision]) @ _linear(colour), 0.0, 1.0)
    relative = _XYZ @ seen / _WHITE
    cut = (6 / 29) ** 3
    f = np.where(relative > cut, np.cbrt(relative), relative / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(a: str, b: str, vision: Vision = "normal") -> float:
    """Return the colour difference ΔE*ab (CIE 15:2004, 8.2.1) as eyes of one kind see it."""
    return float(np.linalg.norm(lab(a, vision) - lab(b, vision)))


def nearest(colours: Iterable[str]) -> tuple[float, tuple[str, str], Vision]:
    """Return the least difference of any two colours for any eyes, between which, and for whom.

    Raises
    ------
    ValueError
        If there are fewer than two colours.
    """
    pairs = list(itertools.combinations(colours, 2))
    if not pairs:
        raise ValueError("fewer than two colours")
    return min((distance(*pair, vision), pair, vision) for pair in pairs for vision in VISIONS)
