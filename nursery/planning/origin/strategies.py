"""How a site mixes its sources: the five kinds with their usual terms, and what each accepts.

Usual terms and their sources: `PRESETS`. A site without a strategy takes its own region of provenance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.origin.words import Source, StrategyKind

#: Sources by their number in arrays.
SOURCES = tuple(Source)
KINDS = tuple(StrategyKind)
LOCAL, NEAR, FAR, CLIMATE = range(len(SOURCES))
#: Kinds whose shares let other regions and basins in, planted side by side and never as mixed seed.
CROSSING = frozenset({StrategyKind.COMPOSITE, StrategyKind.CLIMATE})


@dataclass(frozen=True)
class Terms:
    """What a strategy asks of the plants of one species at a site; shares and caps are fractions of those."""

    kind: StrategyKind = StrategyKind.REGION
    #: By value of `Source`; empty asks for no shares.
    shares: Mapping[str, float] = field(default_factory=dict)
    tolerance: float = 0.05
    least_populations: int = 1
    population_cap: float | None = None
    family_cap: float | None = None
    least_mothers: float | None = None


#: Usual terms. Composite: Broadhurst et al. 2008, from memory; climate: Prober et al. 2015, from memory; the
#: admixture of at least three populations: Bucharova et al. 2019, Conserv. Genet. 20:7–17 (the caps are own
#: convention, no source); strict and region: common practice.
PRESETS: Mapping[StrategyKind, Terms] = {
    StrategyKind.STRICT: Terms(StrategyKind.STRICT, {Source.LOCAL.value: 1.0}),
    StrategyKind.REGION: Terms(),
    StrategyKind.ADMIXTURE: Terms(StrategyKind.ADMIXTURE, least_populations=3, population_cap=0.4),
    StrategyKind.COMPOSITE: Terms(
        StrategyKind.COMPOSITE, {Source.LOCAL.value: 0.6, Source.NEAR.value: 0.3, Source.FAR.value: 0.1}
    ),
    StrategyKind.CLIMATE: Terms(
        StrategyKind.CLIMATE, {Source.LOCAL.value: 0.5, Source.NEAR.value: 0.3, Source.CLIMATE.value: 0.2}
    ),
}


@dataclass(frozen=True)
class Strategies:
    """Strategies of all sites: ``kind`` (sites,) as positions in `KINDS`, ``shares`` (sites, sources)."""

    kind: Ints
    shares: Floats

    @classmethod
    def of(cls, terms: Sequence[Terms | None]) -> Strategies:
        """Of sites in their order; None is a site without a strategy."""
        known = [each or Terms() for each in terms]
        shares = [[each.shares.get(source.value, 0.0) for source in SOURCES] for each in known]
        return cls(
            np.array([KINDS.index(each.kind) for each in known], np.int64),
            np.array(shares, np.float64).reshape(len(known), len(SOURCES)),
        )

    @classmethod
    def none(cls, sites: int) -> Strategies:
        """Of as many sites without one."""
        return cls.of([None] * sites)

    @property
    def crosses(self) -> Bools:
        """Sites whose shares let other regions in."""
        return np.isin(self.kind, [KINDS.index(kind) for kind in CROSSING])

    @property
    def is_strict(self) -> Bools:
        """Sites that take local material only."""
        strict: Bools = self.kind == KINDS.index(StrategyKind.STRICT)
        return strict

    def accepts(self, site: Ints, source: Ints) -> Bools:
        """Whether the shares of each pair's site let its source in from another region or basin."""
        accepted: Bools = self.crosses[site] & (self.shares[site, source] > 0)
        return accepted
