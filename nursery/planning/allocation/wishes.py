"""What a strategy wishes of the mix of a line, as rows with slack: shares, populations, caps, mothers."""

from __future__ import annotations

import numpy as np

from nursery.planning.allocation.model import Written
from nursery.planning.arrays import Floats, Ints


def share_wishes(written: Written) -> Floats | None:
    """Rows for shares, least populations and caps; the cost of missing them, None where nothing is wished.

    A miss counts as a share of the line's plants; a population too few counts as its part of those asked for.
    """
    slack = [
        *_shares(written),
        *_caps(written),
        *_populations(written),
    ]
    if not slack:
        return None
    cost = np.zeros(written.model.size)
    for columns, value in slack:
        cost[columns] = value
    return cost


def _shares(written: Written) -> list[tuple[Ints, float]]:
    """Within its tolerance of the plants filled, each source has its share."""
    needs, pairs, model = written.problem.needs, written.problem.pairs, written.model
    lines = np.flatnonzero(~np.isnan(needs.shares).any(axis=1))
    if not lines.size:
        return []
    sources = needs.shares.shape[1]
    slack = model.variables(np.ones(lines.size * sources))
    row_of = np.full(len(needs), -1)
    row_of[lines] = np.arange(lines.size) * sources
    at = np.flatnonzero(row_of[pairs.line] >= 0)
    every = np.arange(slack.size)
    # One row a source: a pair counts whole in the row of its own, and by the share in all of its line.
    row = (row_of[pairs.line[at], None] + np.arange(sources)).ravel()
    column = np.repeat(written.plants[at], sources)
    share = needs.shares[pairs.line[at]]
    own = pairs.source[at, None] == np.arange(sources)
    room = needs.tolerance[pairs.line[at], None]
    model.rows(-np.inf, 0.0, (row, column, (own - share - room).ravel()), (every, slack, -1.0))
    model.rows(-np.inf, 0.0, (row, column, (share - own - room).ravel()), (every, slack, -1.0))
    return [(slack, 1.0)]


def _groups(written: Written, at: Ints) -> tuple[Ints, Ints]:
    """Population groups of the pairs ``at``: the group of each, and the line of each group."""
    pairs, holdings = written.problem.pairs, written.problem.holdings
    keys = np.stack([pairs.line[at], holdings.population[pairs.lot[at]]], axis=1)
    groups, of_pair = np.unique(keys, axis=0, return_inverse=True)
    return of_pair.astype(np.int64), groups[:, 0]


def _caps(written: Written) -> list[tuple[Ints, float]]:
    """No population, and no family, is more than its cap of the plants filled."""
    needs, pairs, holdings = written.problem.needs, written.problem.pairs, written.problem.holdings
    found: list[tuple[Ints, float]] = []
    at = np.flatnonzero(~np.isnan(needs.population_cap[pairs.line]))
    if at.size:
        group, line_of = _groups(written, at)
        found.append((_capped(written, at, group, np.ones(at.size), line_of, needs.population_cap[line_of]), 1.0))
    family = holdings.largest_family[pairs.lot]
    at = np.flatnonzero(~np.isnan(needs.family_cap[pairs.line]) & ~np.isnan(family))
    if at.size:
        each, line_of = _lots_of_lines(written, at)
        found.append((_capped(written, at, each, family[at], line_of, needs.family_cap[line_of]), 1.0))
    return found


def _lots_of_lines(written: Written, at: Ints) -> tuple[Ints, Ints]:
    """Number of the lot of each of the pairs ``at`` within its line, and the line of each number.

    Seed in store and plants in the nursery of one lot are one, since they have the same mothers.
    """
    pairs = written.problem.pairs
    keys = np.stack([pairs.line[at], written.problem.holdings.kin[pairs.lot[at]]], axis=1)
    groups, first, of_pair = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    # Numbered as they come, so that where no two are one nothing is turned round.
    order = np.argsort(first, kind="stable")
    number = np.empty(len(groups), np.int64)
    number[order] = np.arange(len(groups))
    return number[of_pair], groups[order, 0]


def _capped(written: Written, at: Ints, row: Ints, weight: Floats, line_of: Ints, cap: Floats) -> Ints:
    """Rows ``Σ weight·plants − cap·(plants of the line) ≤ slack``."""
    pairs, model = written.problem.pairs, written.model
    slack = model.variables(np.ones(len(line_of)))
    # All pairs of a line count in each of its rows.
    order = np.argsort(pairs.line, kind="stable")
    first = np.searchsorted(pairs.line[order], line_of)
    count = np.searchsorted(pairs.line[order], line_of, side="right") - first
    rows = np.repeat(np.arange(len(line_of)), count)
    within = np.arange(len(rows)) - np.repeat(np.cumsum(count) - count, count)
    everyone = order[np.repeat(first, count) + within]
    model.rows(
        -np.inf, 0.0,
        (row, written.plants[at], weight),
        (rows, written.plants[everyone], -np.repeat(cap, count)),
        (np.arange(len(line_of)), slack, -1.0),
    )  # fmt: skip
    return slack


def _populations(written: Written) -> list[tuple[Ints, float]]:
    """At least so many populations in the mix of a line."""
    needs, pairs, model = written.problem.needs, written.problem.pairs, written.model
    at = np.flatnonzero(needs.least_populations[pairs.line] > 1)
    if not at.size:
        return []
    group, line_of = _groups(written, at)
    present = model.variables(np.ones(len(line_of)))
    every = np.arange(len(line_of))
    model.rows(-np.inf, 0.0, (every, present, 1.0), (group, written.used[at], -1.0))
    # A trace of a population is none: it counts in full from one plant on.
    plant = np.minimum(1.0 / needs.plants[line_of], 1.0)
    model.rows(-np.inf, 0.0, (every, present, plant), (group, written.plants[at], -1.0))
    lines, row = np.unique(line_of, return_inverse=True)
    asked = needs.least_populations[lines].astype(np.float64)
    missing = model.variables(np.ones(len(lines)))
    model.rows(1.0, np.inf, (row, present, 1.0 / asked[row]), (np.arange(len(lines)), missing, 1.0))
    return [(missing, 1.0)]


class MotherWishes:
    """Effective mothers of each mix: √(Σ plants²/N) ≤ Σ plants / √least, written cut by cut.

    1/N = Σ w²/N_k of unrelated lots (after group coancestry, `planning.mothers`) makes the wish a cone. Its
    tangent at a solution that misses it is a row that cuts this solution off and no mix that keeps the wish.
    """

    #: Effective mothers short of this share of those asked for are no miss.
    CLOSE = 1e-3

    def __init__(self, written: Written) -> None:
        """Slack for every line that asks for mothers."""
        needs, pairs = written.problem.needs, written.problem.pairs
        self.written = written
        self.lines = np.unique(pairs.line[~np.isnan(needs.least_mothers[pairs.line])])
        self.slack = written.model.variables(np.ones(self.lines.size))
        known = written.problem.holdings.effective_mothers[pairs.lot]
        #: A lot of unknown balance counts as one mother.
        self.mothers = np.where(known >= 1, known, 1.0)
        self.lot, self.line_of = _lots_of_lines(written, np.arange(len(pairs)))
        #: How far the sum of misses may slip when it is held: what `cut` lets pass.
        self.slip = float((2 * self.CLOSE / np.sqrt(needs.least_mothers[self.lines])).sum())

    def cost(self) -> Floats:
        """What is missed, over all lines."""
        return self.written.cost(self.slack, 1.0)

    def cut(self, solution: Floats) -> bool:
        """Add a row for every line whose mix misses the wish by more than its slack; whether there was one."""
        pairs, needs, model = self.written.problem.pairs, self.written.problem.needs, self.written.model
        share = solution[self.written.plants]
        count = len(needs)
        # Of all that one lot gives to the line, be it sown already or not.
        of_lot = np.bincount(self.lot, share, len(self.line_of))[self.lot]
        length = np.sqrt(np.bincount(pairs.line, share * of_lot / self.mothers, count))
        filled = np.bincount(pairs.line, share, count)
        least = needs.least_mothers[self.lines]
        over = length[self.lines] - filled[self.lines] / np.sqrt(least) - solution[self.slack]
        wrong = np.flatnonzero(over > self.CLOSE * np.maximum(filled[self.lines], 1e-9) / np.sqrt(least))
        if not wrong.size:
            return False
        row_of = np.full(count, -1)
        row_of[self.lines[wrong]] = np.arange(wrong.size)
        at = np.flatnonzero(row_of[pairs.line] >= 0)
        line = pairs.line[at]
        slope = of_lot[at] / (self.mothers[at] * length[line])
        model.rows(
            -np.inf, 0.0,
            (row_of[line], self.written.plants[at], slope - 1 / np.sqrt(needs.least_mothers[line])),
            (np.arange(wrong.size), self.slack[wrong], -1.0),
        )  # fmt: skip
        return True
