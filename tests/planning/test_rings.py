"""Outlines that cross themselves or each other, and where."""

from __future__ import annotations

import time

import numpy as np
import pytest

from nursery.planning.rings import Crossing, crosses_itself, first_crossing

SQUARE = [[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]]
HOLE = [[1, 1], [1, 2], [2, 2], [2, 1], [1, 1]]


@pytest.mark.parametrize(
    ("ring", "expected"),
    [
        (SQUARE, False),
        (HOLE, False),
        ([[0, 0], [2, 2], [2, 0], [0, 2], [0, 0]], True),  # a bow tie
        ([[0, 0], [4, 0], [2, 0], [2, 3], [0, 0]], True),  # back over its own edge
        ([[0, 0], [4, 0], [4, 4], [2, 0], [0, 4], [0, 0]], True),  # touches its own edge
        ([[0, 0], [2, 0], [4, 0], [4, 4], [0, 0]], False),  # a vertex on a straight edge
        ([[0, 0], [1, 0], [2, 0], [0, 0]], True),  # flat
    ],
)
def test_an_outline_that_crosses_itself_is_known(ring: list[list[float]], expected: bool) -> None:
    assert crosses_itself(np.array(ring, float)) is expected


def test_the_crossing_is_told_by_its_edges_and_its_place() -> None:
    bow_tie = np.array([[0, 0], [2, 2], [2, 0], [0, 2], [0, 0]], float)

    assert first_crossing([bow_tie]) == Crossing(0, 0, 0, 2, (1.0, 1.0))


def test_a_hole_may_touch_the_outline_and_not_cross_it() -> None:
    square = np.array(SQUARE, float)
    touching = np.array([[0, 2], [1, 1], [1, 3], [0, 2]], float)
    crossing = np.array([[3, 1], [5, 1], [5, 2], [3, 2], [3, 1]], float)

    assert first_crossing([square, touching]) is None
    assert first_crossing([square, crossing]) == Crossing(0, 1, 1, 0, (4.0, 1.0))


def test_a_large_outline_takes_a_moment() -> None:
    around = np.linspace(0, 2 * np.pi, 40_001)
    wavy = 1 + 0.1 * np.sin(60 * around)
    ring = np.column_stack([wavy * np.cos(around), wavy * np.sin(around)])
    ring[-1] = ring[0]

    begun = time.perf_counter()
    assert crosses_itself(ring) is False
    assert time.perf_counter() - begun < 5
