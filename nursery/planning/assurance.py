"""How many to start so that enough plants are ready, with the chance that was asked for.

Stages are independent Beta(mean·weight, (1 − mean)·weight); counting adds its own chance. For one stage this is
the beta-binomial distribution. Deterministic: nothing is drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nursery.planning.arrays import Bools, Floats, Ints, amount, counts, fraction
from nursery.planning.chains import Chain, chain_of
from nursery.planning.heavy import special
from nursery.planning.searching import first_reaching

#: No start beyond this is looked for.
MAX_START = 1_000_000_000


@dataclass(frozen=True)
class Assured:
    """One element per line; ``p10`` and ``p90`` are quantiles of the ready count, counting chance included.

    Where no start up to `MAX_START` reaches the assurance, ``reachable`` is False and the rest is 0.
    """

    start: Ints
    expected: Floats
    p10: Ints
    p90: Ints
    probability: Floats
    reachable: Bools

    def with_lines(self, which: Ints, other: Assured) -> Assured:
        """The same with the lines ``which`` replaced by those of ``other``."""
        columns = {}
        for name, old in vars(self).items():
            column = old.copy()
            column[which] = getattr(other, name)
            columns[name] = column
        return Assured(**columns)


def smallest_start(
    wanted: ArrayLike,
    assurance: ArrayLike,
    mean: ArrayLike,
    weight: ArrayLike,
    *,
    seeds_per_cell: ArrayLike = 1,
    step: ArrayLike = 1,
) -> Assured:
    """Smallest start, in multiples of ``step``, with P(ready ≥ wanted) ≥ assurance.

    Parameters
    ----------
    wanted : array_like of int, shape (lines,)
        Ready plants wanted, 0 or more.
    assurance : array_like, shape (lines,)
        Chance asked for, above 0 and below 1.
    mean, weight : array_like, shape (lines, stages) or (stages,)
        Stage means 0–1 and the trials they are worth (above 0, may be infinite). A line with fewer stages is
        padded with mean 1.
    seeds_per_cell : array_like of int, shape (lines,)
        k: the first stage g counts as 1 − (1 − g)^k per cell; a start is then a cell.
    step : array_like of int, shape (lines,)
        Starts come in multiples of this, as cells do in trays.

    Returns
    -------
    Assured
        Probability within 0.005 of the exact value; for one stage the start is the exact smallest.

    Raises
    ------
    ValueError
        For values outside those ranges.
    """
    asked = fraction("assurance", assurance, positive=True)
    if np.any(asked >= 1):
        raise ValueError("assurance must be below 1: nothing living is certain")
    chain, (want, steps) = _prepared(
        mean, weight, seeds_per_cell, counts("wanted", wanted), counts("step", step, least=1), size=asked.shape
    )
    sure = np.broadcast_to(asked, want.shape)
    rows = np.arange(len(want))
    spread = _spread(chain, np.maximum(want, 1))
    with np.errstate(divide="ignore"):
        guess = np.where(chain.mean > 0, want / chain.mean, MAX_START) * np.exp(special.ndtri(sure) * spread)
    limit = np.maximum(MAX_START // steps, 1)
    least = -(-want // steps)

    def reached(active: Ints, units: Ints) -> Floats:
        return chain.chance(active, units * steps[active], want[active])

    units = first_reaching(reached, target=sure, low=least - 1, limit=limit, guess=guess / steps, spread=spread)
    units = np.where(want == 0, 0, units)
    result = _judged(chain, rows, units * steps, want)
    fine = (units <= limit) & (chain.mean > 0) | (want == 0)
    zero = np.int64(0)
    return Assured(
        np.where(fine, result.start, zero),
        np.where(fine, result.expected, 0.0),
        np.where(fine, result.p10, zero),
        np.where(fine, result.p90, zero),
        np.where(fine, result.probability, 0.0),
        fine,
    )


def evaluate(
    start: ArrayLike,
    wanted: ArrayLike,
    mean: ArrayLike,
    weight: ArrayLike,
    *,
    seeds_per_cell: ArrayLike = 1,
) -> Assured:
    """What a given start leads to; parameters and result as for `smallest_start`."""
    begun, want = counts("start", start), counts("wanted", wanted)
    chain, (begun, want) = _prepared(mean, weight, seeds_per_cell, begun, want)
    return _judged(chain, np.arange(len(want)), begun, want)


def chance(
    start: ArrayLike,
    wanted: ArrayLike,
    mean: ArrayLike,
    weight: ArrayLike,
    *,
    seeds_per_cell: ArrayLike = 1,
) -> Floats:
    """P(ready ≥ wanted) alone, as `evaluate` has it."""
    begun, want = counts("start", start), counts("wanted", wanted)
    chain, (begun, want) = _prepared(mean, weight, seeds_per_cell, begun, want)
    return chain.chance(np.arange(len(want)), begun, want)


def _prepared(
    mean: ArrayLike, weight: ArrayLike, k: ArrayLike, *lines: Ints, size: tuple[int, ...] = ()
) -> tuple[Chain, list[Ints]]:
    means = fraction("mean", mean)
    weights = amount("weight", weight, positive=True)
    seeds = counts("seeds_per_cell", k, least=1)
    stages = np.broadcast_shapes(means.shape, weights.shape)
    if not stages or not stages[-1]:
        raise ValueError("mean and weight must hold at least one stage")
    shape = np.broadcast_shapes((1,), size, stages[:-1], seeds.shape, *(line.shape for line in lines))
    full = (*shape, stages[-1])
    chain = chain_of(
        np.broadcast_to(means, full).copy(), np.broadcast_to(weights, full).copy(), np.broadcast_to(seeds, shape)
    )
    return chain, [np.broadcast_to(line, shape) for line in lines]


def _spread(chain: Chain, count: Ints | Floats) -> Floats:
    """Relative spread of the ready count around a count."""
    return np.sqrt(np.log1p(chain.squared_cv) + (1 - np.minimum(chain.mean, 1)) / np.maximum(count, 1) + 1e-12)


def _judged(chain: Chain, rows: Ints, start: Ints, wanted: Ints) -> Assured:
    expected = start * chain.mean
    spread = _spread(chain, expected)

    def at_most(active: Ints, count: Ints) -> Floats:
        return 1 - chain.chance(active, start[active], count + 1)

    low, high = (
        first_reaching(
            at_most,
            target=np.full(len(rows), q),
            low=np.full(len(rows), -1),
            limit=start,
            guess=expected * np.exp(special.ndtri(q) * spread),
            spread=spread,
        )
        for q in (0.1, 0.9)
    )
    probability = chain.chance(rows, start, wanted)
    return Assured(start, expected, low, high, probability, np.ones(len(rows), np.bool_))
