"""From the offers of a plan to the optimisation, and back: how many ready plants each lot gives each line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nursery.planning.allocation import Holdings, Needs, Pairs, Problem, Progress, allocate
from nursery.planning.allocation.relief import seed_worth
from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.drawing import TINY
from nursery.planning.heavy import pd
from nursery.planning.plan_fixed import with_fixed
from nursery.planning.plan_growing import PART_COLUMNS
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_marks import Marks, part_marks
from nursery.planning.plan_origin import ROUNDING, line_terms
from nursery.planning.plan_yields import Growth

#: A draw is worth while from a tray on, or from this part of the line's need where that is less. Own convention,
#: no source.
LEAST_DRAW = 0.1
#: A need that changes by less does not share the lots out anew.
SAME_NEED = 0.01


@dataclass(frozen=True)
class Effort:
    """What the optimisation may take, and whom it tells how far it is."""

    seconds: float = 60.0
    report: Callable[[Progress], None] | None = None


@dataclass
class Sharing:
    """The allocation of a plan while its needs are settled: lots are shared out anew only where a need changed."""

    inputs: PlanInputs
    offers: pd.DataFrame
    effort: Effort
    need: Floats
    plants: Floats
    part: Ints
    gap: Floats
    #: What the plan stays near, by offer, and the mark of each line's part.
    before: Floats
    marks: Marks
    seconds: float = 0.0

    @classmethod
    def begin(cls, inputs: PlanInputs, row: Ints, offers: pd.DataFrame, effort: Effort) -> Sharing:
        """Nothing shared out yet.

        Where a part is what it was when the plan in force was made, it stays near what that plan stayed near, and
        so comes out the same.
        """
        count, marks = len(offers), part_marks(inputs, row, offers)
        kept = inputs.lines[["target_id"]].merge(inputs.origin.marks, how="left", on="target_id")["mark"]
        same = np.array([str(mark) for mark in marks.tolist()], object) == kept.fillna("").to_numpy(object)
        before = np.where(same[offers["line"].to_numpy()], offers["before_that"], offers["before"])
        nothing, no_part = np.zeros(count), np.zeros(count, np.int64)
        none = np.zeros(len(inputs.lines))
        return cls(inputs, offers, effort, none, nothing, no_part, nothing, before, marks)

    def share_out(self, need: Floats, growth: Growth) -> Floats:
        """Ready plants that each offer gives, for the ``need`` of each line."""
        changed = np.abs(need - self.need) > SAME_NEED * np.maximum(self.need, TINY)
        if changed.any():
            self.need = np.where(changed, need, self.need)
            problem = self.problem(growth)
            usable = (problem.pairs.plants_per_seed > 0) & (self.need[problem.pairs.line] > TINY)
            at = np.flatnonzero(usable & _touched(problem, changed))
            found = allocate(
                problem.part(at), seconds=max(self.effort.seconds - self.seconds, 0.0), report=self.effort.report
            )
            self.seconds += found.seconds
            self.plants, self.gap, self.part = self.plants.copy(), self.gap.copy(), self.part.copy()
            # What grows already comes last and stays as it is.
            drawn = at < len(self.offers)
            at, part = at[drawn], found.part[drawn]
            self.plants[at], self.gap[at] = found.plants[drawn], found.gap[part] if at.size else 0.0
            self.part[at] = part
        return self.plants

    @property
    def growing(self) -> pd.DataFrame:
        """What grows already for lines that need more, see `PlanGrowing.parts`."""
        known = self.inputs.growing
        if known is None:
            return pd.DataFrame(columns=list(PART_COLUMNS), dtype=np.int64)
        wanted: pd.DataFrame = known.parts[self.need[known.parts["line"].to_numpy(np.int64)] > TINY]
        return wanted

    @property
    def all_plants(self) -> Floats:
        """Plants of all pairs of `problem`: of the offers, and what grows already."""
        return np.concatenate([self.plants, self.growing["plants"].to_numpy(np.float64)])

    def worth(self, growth: Growth) -> Floats:
        """Plants that one seed more of each lot would give."""
        return seed_worth(self.problem(growth), self.all_plants)

    def problem(self, growth: Growth) -> Problem:
        """Needs, lots and offers as the optimisation takes them; what grows already comes last."""
        offers, origin, terms = self.offers, self.inputs.origin, line_terms(self.inputs.origin)
        line, lot = offers["line"].to_numpy(), offers["lot"].to_numpy()
        viability = offers["viability"].to_numpy()
        per_unit = growth.ready_per_unit(viability, line)
        seeds = growth.seeds_per_unit(viability, line)
        known = origin.lots["effective_mothers"].to_numpy(np.float64)
        most = origin.lots["most_mothers"].to_numpy(np.float64)
        needs = Needs(
            plants=self.need,
            turn=turns(self.inputs),
            shares=terms.shares,
            # Whole cells and trays come on top.
            tolerance=np.maximum(terms.tolerance - ROUNDING, 0.0),
            least_populations=terms.least_populations,
            population_cap=terms.population_cap,
            family_cap=terms.family_cap,
            least_mothers=terms.least_mothers,
        )
        holdings = Holdings(
            seeds=self.inputs.lots["seeds"].to_numpy(np.float64),
            population=origin.lots["population_id"].to_numpy(np.int64),
            # Of a pooled lot only a bound is known: no more mothers than plants were sampled.
            effective_mothers=np.where(np.isnan(known), most, known),
            largest_family=origin.lots["largest_family"].to_numpy(np.float64),
            kin=self.inputs.lots["lot_id"].to_numpy(np.int64),
        )
        each = per_unit / seeds
        pairs = Pairs(
            line=line,
            lot=lot,
            plants_per_seed=each,
            least=np.minimum(growth.per_tray[line] * per_unit, LEAST_DRAW * self.need[line]),
            source=offers["source"].to_numpy(),
            cautions=offers["cautions"].to_numpy(),
            perishable=offers["perishable"].to_numpy(),
            distance_m=offers["distance_m"].to_numpy(),
            pinned=offers["pinned"].to_numpy(),
            before=self.before,
            fixed=np.zeros(len(line), np.bool_),
        )
        return with_fixed(Problem(needs, holdings, pairs), self.inputs, self.growing)


def _touched(problem: Problem, changed: Bools) -> Bools:
    """Pairs of every part that has a line whose need changed."""
    from nursery.planning.allocation.parts import labels  # noqa: PLC0415 -- scipy is slow to import

    line, lot = problem.pairs.line, problem.pairs.lot
    label = labels(line, lot, len(changed), len(problem.holdings))
    return np.isin(label, np.unique(label[changed[line]]))


def turns(inputs: PlanInputs) -> Ints:
    """Lines are served by priority, then by season; lines of one turn share lot by lot."""
    return np.asarray(inputs.lines["priority"].to_numpy() * 10_000 + inputs.lines["season"].to_numpy())
