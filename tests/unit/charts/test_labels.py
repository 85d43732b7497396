"""Direct labels: apart from one another, inside, near their lines."""

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from flyoff.charts.labels import Anchor, along, place

WIDTH, HEIGHT = 600.0, 400.0
ends = st.tuples(st.floats(0, WIDTH), st.floats(0, HEIGHT))


@settings(max_examples=25, deadline=None)
@given(st.lists(ends, min_size=1, max_size=6))
def test_labels_neither_overlap_nor_leave_the_picture(points: list[tuple[float, float]]) -> None:
    anchors = [Anchor(f"airplane {i}", 80.0, 15.0, (point,)) for i, point in enumerate(points)]
    lines = [along(np.array([[0.0, 0.0], point]), 5.0) for point in points]
    labels = place(anchors, lines, WIDTH, HEIGHT, 8.0)
    assert [label.text for label in labels] == [anchor.text for anchor in anchors]
    for a, b in itertools.combinations(labels, 2):
        assert not a.overlaps(b, gap=0.0)
    for label in labels:
        assert label.width / 2 <= label.x <= WIDTH - label.width / 2
        assert label.height / 2 <= label.y <= HEIGHT - label.height / 2


def test_six_lines_that_end_in_one_point_keep_six_labels_apart() -> None:
    anchors = [Anchor(str(i), 90.0, 15.0, ((300.0, 200.0),)) for i in range(6)]
    lines = [np.array([[300.0, 200.0]])] * 6
    labels = place(anchors, lines, WIDTH, HEIGHT, 8.0)
    assert not any(a.overlaps(b) for a, b in itertools.combinations(labels, 2))


def test_a_lone_label_stands_right_of_its_end() -> None:
    (label,) = place([Anchor("x", 40.0, 15.0, ((100.0, 100.0),))], [np.array([[100.0, 100.0]])], 600, 400, 8)
    assert label.x - label.width / 2 > 100
    assert label.distance < 15


def test_a_label_avoids_another_line() -> None:
    wall = along(np.array([[130.0, 0.0], [130.0, 400.0]]), 4.0)
    own = np.array([[100.0, 200.0]])
    anchors = [Anchor("mine", 60.0, 15.0, ((100.0, 200.0),)), Anchor("wall", 60.0, 15.0, ((130.0, 0.0),))]
    label = place(anchors, [own, wall], 600, 400, 8)[0]
    assert label.x + label.width / 2 < 130


def test_along_keeps_ends_and_spacing() -> None:
    points = along(np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 40.0]]), 7.0)
    assert points[0].tolist() == [0.0, 0.0]
    assert points[-1].tolist() == [30.0, 40.0]
    assert np.hypot(*np.diff(points, axis=0).T).max() <= 7.0 + 1e-9
    assert along(np.array([[5.0, 5.0], [5.0, 5.0]]), 7.0).tolist() == [[5.0, 5.0]]
