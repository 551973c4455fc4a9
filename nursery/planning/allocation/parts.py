"""Splitting a problem into parts that share neither line nor lot."""

from __future__ import annotations

import numpy as np

from nursery.planning.allocation.problem import Problem
from nursery.planning.arrays import Ints


def connected_parts(problem: Problem) -> list[Ints]:
    """Positions of the pairs of each connected component of lines and lots, in the order of their first pair."""
    from scipy.sparse import coo_array  # noqa: PLC0415 -- slow import
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415 -- slow import

    pairs, lines = problem.pairs, len(problem.needs)
    if not len(pairs):
        return []
    size = lines + len(problem.holdings)
    edges = coo_array((np.ones(len(pairs)), (pairs.line, lines + pairs.lot)), shape=(size, size))
    _count, label = connected_components(edges, directed=False)
    of_pair = label[pairs.line]
    order = np.argsort(of_pair, kind="stable")
    found = np.split(order, np.flatnonzero(np.diff(of_pair[order])) + 1)
    return sorted(found, key=lambda part: int(part[0]))
