"""Splitting a problem into parts that share neither line nor lot."""

from __future__ import annotations

import numpy as np

from nursery.planning.allocation.problem import Problem
from nursery.planning.arrays import Ints


def connected_parts(problem: Problem) -> list[Ints]:
    """Positions of the pairs of each connected component of lines and lots, in the order of their first pair."""
    pairs = problem.pairs
    if not len(pairs):
        return []
    of_pair = labels(pairs.line, pairs.lot, len(problem.needs), len(problem.holdings))
    order = np.argsort(of_pair, kind="stable")
    found = np.split(order, np.flatnonzero(np.diff(of_pair[order])) + 1)
    return sorted(found, key=lambda part: int(part[0]))


def labels(line: Ints, lot: Ints, lines: int, lots: int) -> Ints:
    """The number of the component that each pair belongs to."""
    from scipy.sparse import coo_array  # noqa: PLC0415 -- slow import
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415 -- slow import

    size = lines + lots
    edges = coo_array((np.ones(len(line)), (line, lines + lot)), shape=(size, size))
    _count, label = connected_components(edges, directed=False)
    return np.asarray(label[line], np.int64)
