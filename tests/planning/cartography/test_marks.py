"""Marks that merge, and labels that have room."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.distance import pdist

from nursery.planning.cartography.clustering import clusters
from nursery.planning.cartography.labelling import box_around, labels
from nursery.planning.cartography.spreading import spread


def test_marks_on_each_other_become_one_and_others_stay() -> None:
    assert clusters([10, 12, 300, 11, 500], [10, 11, 20, 9, 20], 24).tolist() == [0, 0, 1, 0, 2]


def test_marks_beside_the_edge_of_a_square_become_one_too() -> None:
    assert clusters([23.9, 24.1], [5, 5], 24).tolist() == [0, 0]


def test_without_marks_there_are_no_clusters() -> None:
    assert clusters([], [], 24).tolist() == []


def test_thousands_of_marks_become_few_enough_to_touch() -> None:
    chance = np.random.default_rng(7)
    x, y = chance.uniform(0, 960, 20_000), chance.uniform(0, 720, 20_000)
    found = clusters(x, y, 24)
    counts = np.bincount(found)
    middles = np.column_stack([np.bincount(found, x) / counts, np.bincount(found, y) / counts])

    assert (counts.min() > 0, counts.sum()) == (True, 20_000)
    assert len(counts) <= (960 / 24) * (720 / 24)
    assert float(np.quantile(pdist(middles), 0.001)) > 12


def test_labels_never_cover_each_other_or_a_mark_and_stay_on_the_sheet() -> None:
    x, y, texts = [100.0, 104.0, 955.0], [50.0, 52.0, 50.0], ["Corvenda", "Taralda", "Nispura"]
    marks = [box_around(left, top, 6) for left, top in zip(x, y, strict=True)]

    found = labels(x, y, texts, 14, 10, marks, (960, 720))

    boxes = [label.box for label in found if label] + marks
    over = [
        (a, b)
        for at, a in enumerate(boxes)
        for b in boxes[at + 1 : 6 if at < 3 else at]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
    assert ([label.anchor for label in found if label], over) == (["start", "end", "end"], [])


def test_a_label_without_room_or_without_words_is_left_out() -> None:
    assert labels([100], [50], ["Corvenda"], 14, 10, [(0.0, 0.0, 960.0, 720.0)]) == [None]
    assert labels([100], [50], [""], 14, 10) == [None]


def test_marks_at_one_place_are_set_apart_and_the_others_stay() -> None:
    x, y = spread([100, 100, 300], [50, 50, 50], 20, 12)

    assert np.hypot(x[0] - x[1], y[0] - y[1]) == pytest.approx(20, abs=0.01)
    assert (x[2], y[2], x[0] < x[1], y[0] < y[1]) == (300, 50, True, True)


def test_no_mark_is_moved_farther_than_allowed() -> None:
    chance = np.random.default_rng(3)
    start_x, start_y = chance.uniform(0, 50, 200), chance.uniform(0, 50, 200)

    x, y = spread(start_x, start_y, 20, 12)

    assert float(np.hypot(x - start_x, y - start_y).max()) <= 12 + 1e-9
    assert [axis.tolist() for axis in spread([7], [8], 20, 12)] == [[7], [8]]
