"""Direct labels that neither overlap one another nor leave the picture."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from flyoff.core.typing import Array

# Where a label may lie from its anchor, nearest first preferred: right, above, below, left, corners.
_DIRECTIONS = ((1, 0), (0, -1), (1, -1), (1, 1), (0, 1), (-1, 0), (-1, -1), (-1, 1))
_RINGS = 9
_STEPS = 12
"""Pixels looked at on the way from a label to its point."""


@dataclass(frozen=True)
class Anchor:
    """A text of known size, and the points (in pixels) it may be attached to, the best first."""

    text: str
    width: float
    height: float
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Label:
    """A placed text: its middle, and the point it belongs to."""

    text: str
    x: float
    y: float
    width: float
    height: float
    point: tuple[float, float]

    @property
    def distance(self) -> float:
        """How far its nearest edge is from its point."""
        across = max(0.0, abs(self.x - self.point[0]) - self.width / 2)
        down = max(0.0, abs(self.y - self.point[1]) - self.height / 2)
        return math.hypot(across, down)

    @property
    def edge(self) -> tuple[float, float]:
        """The point of its outline nearest to the point it belongs to."""
        x = min(max(self.point[0], self.x - self.width / 2), self.x + self.width / 2)
        y = min(max(self.point[1], self.y - self.height / 2), self.y + self.height / 2)
        return x, y

    def overlaps(self, other: "Label", gap: float = 1.0) -> bool:
        """Tell whether two labels touch."""
        return (
            abs(self.x - other.x) < (self.width + other.width) / 2 + gap
            and abs(self.y - other.y) < (self.height + other.height) / 2 + gap
        )


def place(
    anchors: Sequence[Anchor], lines: Sequence[Array], width: float, height: float, gap: float
) -> tuple[Label, ...]:
    """Return one label for each anchor, inside ``width`` by ``height``.

    ``lines[i]``, shape (n, 2), are the pixels that anchor i's own line covers:
    a label had better cover no line, and reach its own across no other. A
    label never overlaps another as long as there is room.
    """
    placed: dict[int, Label] = {}
    for i in sorted(range(len(anchors)), key=lambda i: anchors[i].points[0][1]):
        others = [line for k, line in enumerate(lines) if k != i]
        others += [_way(label) for label in placed.values()]
        foreign = np.vstack(others) if others else np.empty((0, 2))
        candidates = _candidates(anchors[i], gap)
        inside = [c for c in candidates if _inside(c[1], width, height)] or candidates
        apart = [c for c in inside if not any(c[1].overlaps(p) for p in placed.values())]
        if not apart:
            everywhere = _everywhere(anchors[i], width, height, gap)
            apart = [c for c in everywhere if not any(c[1].overlaps(p) for p in placed.values())] or inside
        free = _uncrossed(apart, placed.values()) or apart
        placed[i] = _cheapest(free, foreign, lines[i], gap)
    return tuple(placed[i] for i in range(len(anchors)))


def _cheapest(candidates: list[tuple[float, Label]], foreign: Array, own: Array, gap: float) -> Label:
    """Return the candidate of least cost; the dear part is worked out only for those that may win."""
    priced = [
        (cost + 3.0 * _covered(label, foreign, gap / 2) + 2.5 * _covered(label, own, gap / 3), label)
        for cost, label in candidates
    ]
    best, winner = math.inf, candidates[0][1]
    for cost, label in sorted(priced, key=lambda pair: pair[0]):
        if cost >= best:
            break
        whole = cost + 2.0 * _crossed(label, foreign, gap / 2)
        if whole < best:
            best, winner = whole, label
    return winner


def _way(label: Label) -> Array:
    """Return pixels on the way from a label to its point."""
    return np.linspace(label.edge, label.point, _STEPS)


def _uncrossed(candidates: list[tuple[float, Label]], placed: Iterable[Label]) -> list[tuple[float, Label]]:
    """Return the candidates whose way runs through no placed label, and that lie on no placed one's way."""
    labels = [label for _, label in candidates]
    middle = np.array([(label.x, label.y) for label in labels])
    reach = np.array([(label.width, label.height) for label in labels]) / 2 + 1.0
    ways = np.linspace([label.edge for label in labels], [label.point for label in labels], _STEPS)
    free = np.ones(len(labels), dtype=bool)
    for other in placed:
        through = np.abs(ways - (other.x, other.y)) < np.array([other.width, other.height]) / 2 + 1.0
        below = np.abs(_way(other)[:, None, :] - middle) < reach
        free &= ~(through.all(axis=2) | below.all(axis=2)).any(axis=0)
    return [candidate for candidate, is_free in zip(candidates, free, strict=True) if is_free]


def _candidates(anchor: Anchor, gap: float) -> list[tuple[float, Label]]:
    found = []
    for rank, (x, y) in enumerate(anchor.points):
        for ring in range(_RINGS):
            for order, (across, down) in enumerate(_DIRECTIONS):
                reach = gap * (1 + 1.6 * ring)
                label = Label(
                    anchor.text,
                    x + across * (anchor.width / 2 + reach),
                    y + down * (anchor.height / 2 + reach * 0.8),
                    anchor.width,
                    anchor.height,
                    (x, y),
                )
                found.append((0.6 * rank + 1.5 * ring + 0.15 * order, label))
    return found


def _everywhere(anchor: Anchor, width: float, height: float, gap: float) -> list[tuple[float, Label]]:
    """Return candidates all over the picture, the dearer the farther: for when it is crowded."""
    x, y = anchor.points[0]
    across = np.arange(anchor.width / 2, width - anchor.width / 2 + 1e-9, anchor.width / 4)
    down = np.arange(anchor.height / 2, height - anchor.height / 2 + 1e-9, anchor.height / 2)
    middles = [(float(a), float(d)) for a in across for d in down]
    return [
        (math.hypot(a - x, d - y) / gap, Label(anchor.text, a, d, anchor.width, anchor.height, (x, y)))
        for a, d in middles
    ]


def _inside(label: Label, width: float, height: float) -> bool:
    return (
        label.width / 2 <= label.x <= width - label.width / 2
        and label.height / 2 <= label.y <= height - label.height / 2
    )


def _covered(label: Label, obstacles: Array, gap: float) -> int:
    if not len(obstacles):
        return 0
    across = np.abs(obstacles[:, 0] - label.x) < label.width / 2 + gap
    down = np.abs(obstacles[:, 1] - label.y) < label.height / 2 + gap
    return int(np.count_nonzero(across & down))


def _crossed(label: Label, pixels: Array, gap: float) -> int:
    """Return how many foreign pixels lie near the way from a label to its point."""
    if not len(pixels):
        return 0
    distance = np.hypot(*(pixels[:, None, :] - _way(label)[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    return int(np.count_nonzero(distance < gap))


def along(pixels: Array, spacing: float) -> Array:
    """Return pixels along a broken line, shape (n, 2), no further apart than `spacing`."""
    steps = np.hypot(*np.diff(pixels, axis=0).T)
    length = np.concatenate([[0.0], np.cumsum(steps)])
    if length[-1] == 0:
        return pixels[:1]
    at = np.linspace(0.0, length[-1], max(2, math.ceil(length[-1] / spacing) + 1))
    return np.column_stack([np.interp(at, length, pixels[:, 0]), np.interp(at, length, pixels[:, 1])])
