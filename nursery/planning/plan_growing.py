"""Batches that grow for lines already: what of each line they cover, and whom the plants come from.

What a line can count on is the number that its batches reach with the chance that was asked for: at an assurance
of 80 % the number that they pass in four cases of five. The rest is sown anew with the same assurance. Batches
and new sowings of a line share their species' rates and are taken to do well or badly together, so that quantiles
add up and the whole line holds with the chance asked for. Plants sent out count in full.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from nursery.planning.arrays import Bools, Dates, Floats, Ints
from nursery.planning.growing.forecast import Together
from nursery.planning.heavy import pd

#: A line is not topped up where its batches miss the chance asked for by less than this: what was sown for a
#: chance is reckoned with other decimals once it is sown. Own convention, no source.
CLOSE = 0.01
#: Columns of `PlanGrowing.parts`.
PART_COLUMNS = ("line", "lot", "plants")


@dataclass(frozen=True)
class PlanGrowing:
    """What grows for each line of a plan.

    ``parts``: expected ready plants of each lot for each line, those sent out among them; ``lot`` is a row of
    ``lots``, which has the columns of `PlanOrigin.lots` and ``lot_id``. ``expected``, shape (lines,), and
    ``levels``, shape (lines, `LEVELS`): ready plants of all batches of a line, as in `growing.forecast.Together`.
    ``sown_on``, ``ready_on``: of its first and its last batch; NaT for a line without any.
    """

    parts: pd.DataFrame
    lots: pd.DataFrame
    expected: Floats
    levels: Ints
    sown_on: Dates
    ready_on: Dates

    @property
    def some(self) -> Bools:
        """Lines for which something grows, or was sent out."""
        return np.asarray(self.levels[:, -1] > 0)

    @property
    def together(self) -> Together:
        """The batches of each line added up."""
        return Together(self.expected, self.levels)

    def secured(self, assurance: Floats) -> Ints:
        """Ready plants that each line can count on."""
        return self.together.at(np.clip(1 - assurance + CLOSE, 0.0, 1.0))

    def only(self, which: Ints) -> PlanGrowing:
        """The same for some of the lines, in the order given."""
        now = pd.Series(np.arange(len(which)), index=which).reindex(self.parts["line"]).to_numpy(np.float64)
        parts = self.parts[~np.isnan(now)].assign(line=now[~np.isnan(now)].astype(np.int64))
        return replace(
            self,
            parts=parts.reset_index(drop=True),
            expected=self.expected[which],
            levels=self.levels[which],
            sown_on=self.sown_on[which],
            ready_on=self.ready_on[which],
        )


def still_wanted(growing: PlanGrowing | None, assurance: Floats, ready: Ints) -> Ints:
    """Ready plants of each line that batches cannot be counted on for."""
    return ready if growing is None else np.maximum(ready - growing.secured(assurance), 0)
