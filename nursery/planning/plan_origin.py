"""What a plan must know of origins: what the rules look at, the sites' strategies, and what people decided."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.rule_table import RuleTable
from nursery.planning.origin.strategies import SOURCES, Strategies, Terms

#: Shares are sought this much nearer than a strategy tolerates, as a part of a line's plants, and a miss by no
#: more than this is no miss: it is rounding to whole cells and trays. Own convention, no source.
ROUNDING = 0.02
#: Columns of `PlanOrigin.decisions`: ids, ``target_id`` 0 where it is of the site as a whole, ``plants`` NaN for
#: as many as the lot can give.
DECISION_COLUMNS = ("decision_id", "kind", "lot_id", "site_id", "target_id", "plants")
#: Columns of `PlanOrigin.before`: ready plants that the plan in force shares out, before trays are filled.
BEFORE_COLUMNS = ("target_id", "lot_id", "plants")
#: Columns of `PlanOrigin.marks`.
MARK_COLUMNS = ("target_id", "mark")


@dataclass(frozen=True)
class PlanOrigin:
    """Origins of a plan's lots and sites.

    ``lots``: a row for each lot of the plan, in its order, with the columns of `origin.rules.judge` and
    ``population_id``. ``sites``: a row a site, with ``site_id``. ``site``: the row of each line's site. ``rules``,
    ``accepts``, ``terms``: versions that sites follow, and their strategies, None for none.
    """

    lots: pd.DataFrame
    sites: pd.DataFrame
    site: Ints
    rules: RuleTable
    terms: Sequence[Terms | None]
    decisions: pd.DataFrame
    before: pd.DataFrame
    #: What the plan in force itself stayed near, and the marks (`plan_marks`) of its lines: ``target_id, mark``.
    before_that: pd.DataFrame
    marks: pd.DataFrame

    @property
    def accepts(self) -> Strategies:
        """Strategies as the rules take them."""
        return Strategies.of(self.terms)

    def only(self, which: Ints) -> PlanOrigin:
        """The same for some of the lines."""
        return replace(self, site=self.site[which])


@dataclass(frozen=True)
class LineTerms:
    """What strategies ask of each line; NaN where nothing is asked."""

    shares: Floats
    tolerance: Floats
    least_populations: Ints
    population_cap: Floats
    family_cap: Floats
    least_mothers: Floats

    @property
    def asks(self) -> np.ndarray:
        """Lines of which something is asked."""
        caps = ~np.isnan(np.column_stack([self.population_cap, self.family_cap, self.least_mothers]))
        return np.asarray(~np.isnan(self.shares).any(1) | (self.least_populations > 1) | caps.any(1))


def line_terms(origin: PlanOrigin) -> LineTerms:
    """Terms of each line's site. Only shares of strategies that let other regions in bind the mix."""
    known = [each or Terms() for each in origin.terms]
    crosses = origin.accepts.crosses
    shares = np.array([[each.shares.get(source.value, 0.0) for source in SOURCES] for each in known], np.float64)
    shares = np.where(crosses[:, None], shares.reshape(len(known), len(SOURCES)), np.nan)

    def column(name: str) -> Floats:
        values = [getattr(each, name) for each in known]
        return np.array([np.nan if value is None else value for value in values], np.float64)[origin.site]

    return LineTerms(
        shares[origin.site],
        column("tolerance"),
        column("least_populations").astype(np.int64),
        column("population_cap"),
        column("family_cap"),
        column("least_mothers"),
    )
