"""Shares of lots in lots, through any chain of splits and mixes, in as many steps as the longest chain is long."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Floats, Ints


@dataclass(frozen=True)
class Flows:
    """Splits and mixes as a graph; ``child`` and ``parent`` are positions in ``lots``."""

    #: Ids of the lots, ascending.
    lots: Ints
    child: Ints
    parent: Ints
    #: Share (0–1) of the child that came from the parent; sums to 1 over each child.
    share: Floats

    def at(self, ids: Iterable[int]) -> Ints:
        """Positions of ids that are all there."""
        return np.searchsorted(self.lots, np.fromiter(ids, np.int64))

    def weights(self, given: Mapping[int, float]) -> Floats:
        """Weights by id as an array by position."""
        found = np.zeros(len(self.lots))
        found[self.at(given)] = list(given.values())
        return found

    @property
    def is_collected(self) -> np.ndarray:
        """True, by position, for lots that nothing flowed into."""
        found = np.ones(len(self.lots), dtype=bool)
        found[self.child] = False
        return found

    def without_inflow(self, ids: Iterable[int]) -> Flows:
        """The same graph where nothing flows into these lots: what is in them is known better from themselves."""
        kept = ~np.isin(self.child, self.at(ids))
        return Flows(self.lots, self.child[kept], self.parent[kept], self.share[kept])


def link_flows(child: Ints, parent: Ints, amount: Floats, others: Iterable[int] = ()) -> Flows:
    """The graph of inflows.

    Parameters
    ----------
    child, parent : ndarray of int, shape (inflows,)
        Ids of the lots that seed came into and out of; a pair may come several times.
    amount : ndarray of float, shape (inflows,)
        What flowed, above 0; all of one child in the same unit.
    others
        Ids of lots that belong into the graph though nothing flowed.

    Returns
    -------
    Flows
        Shares are by mass (or count): conservation of what is mixed, no source.
    """
    lots, places = np.unique(
        np.concatenate([child, parent, np.fromiter(others, np.int64)]).astype(np.int64), return_inverse=True
    )
    into, out = places[: child.size], places[child.size : 2 * child.size]
    pairs, which = np.unique(np.stack([into, out]), axis=1, return_inverse=True)
    flowed = np.bincount(which.ravel(), amount, pairs.shape[1])
    totals = np.bincount(pairs[0], flowed, lots.size)
    return Flows(lots, pairs[0], pairs[1], flowed / totals[pairs[0]])


def walk_back(flows: Flows, weights: Floats) -> Floats:
    """What passed through each lot on its way into the lots that ``weights`` stand on.

    Parameters
    ----------
    flows : Flows
    weights : ndarray of float, shape (lots,)
        Share, plants or mass taken out of each lot.

    Returns
    -------
    ndarray, shape (lots,)
        In the unit of the weights; over the collected lots it sums to what the weights sum to.

    Raises
    ------
    ValueError
        When a lot flows into itself by way of others.
    """
    return _walk(flows, weights, flows.child, flows.parent)


def walk_on(flows: Flows, weights: Floats) -> Floats:
    """Share of what ``weights`` stand on in each lot.

    Parameters
    ----------
    flows : Flows
    weights : ndarray of float, shape (lots,)
        1 for a lot followed whole, a mother's share of it for a mother, 0 elsewhere.

    Returns
    -------
    ndarray, shape (lots,)
        Share of each lot, 0–1.

    Raises
    ------
    ValueError
        When a lot flows into itself by way of others.
    """
    return _walk(flows, weights, flows.parent, flows.child)


def _walk(flows: Flows, weights: Floats, source: Ints, target: Ints) -> Floats:
    total, step = weights.astype(float), weights.astype(float)
    for _length in range(len(flows.lots) + 1):
        step = np.bincount(target, step[source] * flows.share, len(flows.lots))
        if not step.any():
            return total
        total = total + step
    raise ValueError("a lot flows into itself")
