"""What is to be shared out: the needs of lines, what lots hold, and the pairs that may meet."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.origin.words import Source

#: Sources of a strategy in the order of the columns of ``Needs.shares``.
SOURCES = tuple(Source)


@dataclass(frozen=True)
class Needs:
    """Lines, one row each.

    ``plants``: ready plants to secure, above 0. ``turn``: earlier turns are filled first. ``shares``: shape
    (lines, sources), 0–1, NaN in a row without shares; ``tolerance`` by how much one may miss.
    ``population_cap``, ``family_cap``: largest share of one population, and of one mother's family; NaN for none.
    ``least_mothers``: effective mothers asked of the mix; NaN for none.
    """

    plants: Floats
    turn: Ints
    shares: Floats
    tolerance: Floats
    least_populations: Ints
    population_cap: Floats
    family_cap: Floats
    least_mothers: Floats

    def __len__(self) -> int:
        """Number of lines."""
        return len(self.plants)


@dataclass(frozen=True)
class Holdings:
    """Lots, one row each: seeds to give, population, effective mothers, share of the largest family.

    These two are NaN where the balance of the mothers is not known. ``kin``: rows of one number are one lot, seed
    in store and plants in the nursery, whose mothers and families are the same.
    """

    seeds: Floats
    population: Ints
    effective_mothers: Floats
    largest_family: Floats
    kin: Ints

    def __len__(self) -> int:
        """Number of lots."""
        return len(self.seeds)


@dataclass(frozen=True)
class Pairs:
    """Lots that may serve lines, one row a pair; ``line`` and ``lot`` are positions.

    ``plants_per_seed``: ready plants of one seed sown for that line. ``least``: plants below which a draw is not
    worth its tray. ``source``: position in `SOURCES`. ``cautions``: how many rules call for caution.
    ``perishable``: the lot will not live another year. ``pinned``, ``before``: plants that a person asked for, and
    that the plan in force draws. ``fixed``: plants of the lot that grow for the line already: all of them count,
    and nothing moves them.
    """

    line: Ints
    lot: Ints
    plants_per_seed: Floats
    least: Floats
    source: Ints
    cautions: Ints
    perishable: Bools
    distance_m: Floats
    pinned: Floats
    before: Floats
    fixed: Bools

    def __len__(self) -> int:
        """Number of pairs."""
        return len(self.line)

    def take(self, at: Ints) -> Pairs:
        """Some of the pairs."""
        return Pairs(**{column.name: getattr(self, column.name)[at] for column in fields(self)})


@dataclass(frozen=True)
class Problem:
    """Needs, holdings and pairs that belong together."""

    needs: Needs
    holdings: Holdings
    pairs: Pairs

    def part(self, at: Ints) -> Problem:
        """The problem of some pairs alone, with lines and lots counted anew in their order."""
        pairs = self.pairs.take(at)
        lines, line = np.unique(pairs.line, return_inverse=True)
        lots, lot = np.unique(pairs.lot, return_inverse=True)
        needs = Needs(**{column.name: getattr(self.needs, column.name)[lines] for column in fields(Needs)})
        holdings = Holdings(
            **{column.name: getattr(self.holdings, column.name)[lots] for column in fields(Holdings)}
        )
        return Problem(needs, holdings, replace(pairs, line=line.astype(np.int64), lot=lot.astype(np.int64)))

    def most(self) -> Floats:
        """The most plants of each pair, whatever the others take: no more than is needed or the lot can give."""
        seeds, need = self.holdings.seeds[self.pairs.lot], self.needs.plants[self.pairs.line]
        return np.asarray(np.minimum(need, seeds * self.pairs.plants_per_seed))
