"""Marks that merge, and labels that have room."""

from __future__ import annotations

import numpy as np
from scipy.spatial.distance import pdist

from nursery.planning.cartography.clustering import clusters
from nursery.planning.cartography.labelling import labels


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


def test_labels_never_cover_each_other_and_stay_on_the_sheet() -> None:
    found = labels([100, 104, 955], [50, 52, 50], ["Corvenda", "Taralda", "Nispura"], 14, 10, size=(960, 720))
    boxes = [
        (left, base - 0.8 * 14, left + len(text) * 14 * 0.52, base + 0.25 * 14)
        for (left, base), text in zip(
            [place for place in found if place], ["Corvenda", "Taralda", "Nispura"], strict=True
        )
    ]

    first, second, third = boxes
    assert (second[2] <= first[0] or second[1] >= first[3] or second[3] <= first[1]) is True
    assert third[2] <= 960


def test_a_label_without_room_is_left_out() -> None:
    wall = [(0.0, 0.0, 960.0, 720.0)]

    assert labels([100], [50], ["Corvenda"], 14, 10, wall) == [None]
