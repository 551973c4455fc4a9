"""Seed for each line: drawn from lots, and what is left to collect."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Bools, Dates, Floats, Ints
from nursery.planning.assurance import Assured, evaluate, smallest_start
from nursery.planning.drawing import TINY, Drawn, Offers, draw, whole_trays
from nursery.planning.heavy import pd
from nursery.planning.plan_allocation import Effort, Sharing, turns
from nursery.planning.plan_dates import Dating, collecting_season
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_lots import LEAST_SHARE_ALIVE, judged_pairs, ranked_offers
from nursery.planning.plan_origin import line_terms
from nursery.planning.plan_yields import Growth, Stages, growth_of, stages_of
from nursery.planning.storage import life_viability

#: How often a line is reckoned again by the germination of the lots it was given, and when that is close enough.
ROUNDS = 3
SAME_GERMINATION = 0.01
#: How often a need is raised by `STEP` where mixed lots leave a line just under its assurance.
RAISES = 12
STEP = 1.02


@dataclass(frozen=True)
class NewSeed:
    """Seed that would still have to be collected, per line; ``possible`` where that can be in time."""

    opens_on: Dates
    closes_on: Dates
    germination: Floats
    alive: Bools
    possible: Bools


@dataclass(frozen=True)
class Sown:
    """Per line: units (cells, or seeds in a bed), those whose seed is missing, and the seed's mean germination."""

    drawn: Drawn
    units: Ints
    missing_units: Ints
    missing_seeds: Ints
    #: Share 0–1 of the need that no lot covers.
    missing_share: Floats
    germination: Floats


@dataclass(frozen=True)
class SeedPlan:
    """The answer: how much is needed, what is sown of which lot, and what that gives."""

    growth: Growth
    new: NewSeed
    #: All pairs of line and lot (`plan_lots.judged_pairs`), those that may be drawn, and how they were shared out.
    pairs: pd.DataFrame
    offers: pd.DataFrame
    sharing: Sharing
    units_needed: Ints
    #: Germination by which the seeds per cell were chosen.
    reference: Floats
    sown: Sown
    #: Of what is sown, and the rates by which that was judged.
    outcome: Assured
    stages: Stages


def new_seed(inputs: PlanInputs, row: Ints, dating: Dating) -> NewSeed:
    """When seed for each line could be collected, and what it would be worth at sowing."""
    table = inputs.protocols.table.iloc[row]
    season = collecting_season(inputs, row, dating.start)
    fresh = table["germination_mean"].to_numpy()
    kept = (dating.sow_on - season.closes_on).astype(np.float64)
    germination = life_viability(fresh, np.nan_to_num(kept), table["life_days"].to_numpy())
    alive = germination >= LEAST_SHARE_ALIVE * fresh
    possible = dating.in_time & alive & (season.closes_on >= inputs.today)
    return NewSeed(season.opens_on, season.closes_on, germination, alive, possible)


def plan_seed(inputs: PlanInputs, row: Ints, dating: Dating, ready: Ints, effort: Effort) -> SeedPlan:
    """Decide units and seeds of every line, share out and draw the lots, and judge the outcome.

    Parameters
    ----------
    inputs : PlanInputs
    row : ndarray of int, shape (lines,)
        Protocol rows.
    dating : Dating
    ready : ndarray of int, shape (lines,)
        Ready plants that are to be sown for.
    effort : Effort
    """
    new, pairs = new_seed(inputs, row, dating), judged_pairs(inputs, row, dating)
    offers = ranked_offers(pairs)
    sharing = Sharing.begin(inputs, row, offers, effort)
    offers = _in_order(inputs, offers, sharing.plants)
    reference, tested = _reference(inputs, offers, new)
    growth = growth_of(inputs, row, reference)
    assurance = inputs.lines["assurance"].to_numpy()
    start, need, germination = np.zeros(len(row)), np.zeros(len(row)), reference.copy()
    reachable, again = np.zeros(len(row), np.bool_), ready > 0
    for _ in range(ROUNDS):
        if not again.any():
            break
        at = np.flatnonzero(again)
        stages = stages_of(inputs, row, growth, germination, tested).only(at)
        asked = smallest_start(
            ready[at], assurance[at], stages.mean, stages.weight, seeds_per_cell=stages.seeds_per_cell
        )
        gives = growth.ready_per_unit(germination[at], at)
        # An assurance out of reach of any number of cells leaves the plain expectation to plan by.
        start[at] = np.where(asked.reachable, asked.start, ready[at] / gives)
        reachable[at], need[at] = asked.reachable, start[at] * gives
        offers = _in_order(inputs, offers, sharing.share_out(need, growth))
        sown = _sow(inputs, new, offers, growth, need, germination)
        # Where several lots are mixed the line is reckoned again by the germination of the mix; half a step at a
        # time, since a smaller need may do without the second lot and so change the mix back.
        again = (ready > 0) & (np.abs(sown.germination - germination) > SAME_GERMINATION)
        germination = np.where(again, (germination + sown.germination) / 2, germination)
    outcome, judged = evaluate(np.zeros(len(row), np.int64), ready, [1.0], [1.0]), np.full((2, len(row)), -1.0)
    for _ in range(RAISES):
        sown = _sow(inputs, new, offers, growth, need, germination)
        # Seed that cannot be collected in time does not count. Only what changed is judged again.
        sown_for_sure = np.array([np.where(new.possible, sown.units, sown.drawn.line_units), sown.germination])
        at = np.flatnonzero((sown_for_sure != judged).any(axis=0))
        stages = stages_of(inputs, row, growth, sown.germination, tested).only(at)
        found = evaluate(
            sown_for_sure[0, at].astype(np.int64), ready[at], stages.mean, stages.weight,
            seeds_per_cell=stages.seeds_per_cell,
        )  # fmt: skip
        outcome, judged = outcome.with_lines(at, found), sown_for_sure
        covered = (new.possible | (sown.missing_units == 0)) & dating.in_time & (ready > 0)
        low = covered & reachable & (outcome.probability < assurance)
        if not low.any():
            break
        need = np.where(low, need * STEP, need)
    needed = np.ceil(start - TINY).astype(np.int64)
    last = stages_of(inputs, row, growth, sown.germination, tested)
    return SeedPlan(growth, new, pairs, offers, sharing, needed, reference, sown, outcome, last)


def _in_order(inputs: PlanInputs, offers: pd.DataFrame, plants: Floats) -> pd.DataFrame:
    """Lots that a line was given come first, the larger share before the smaller.

    Where a strategy asks something of the mix, the line takes nothing beyond what was shared out to it.
    """
    line = offers["line"].to_numpy()
    order = np.lexsort((offers["rank"].to_numpy(), -plants, line))
    rank = np.empty(len(offers), np.int64)
    rank[order] = np.arange(len(offers)) - np.searchsorted(line, line[order])
    is_open = (plants > TINY) | ~line_terms(inputs.origin).asks[line]
    return offers.assign(plants=plants, turn_at=rank, is_open=is_open)


def _reference(inputs: PlanInputs, offers: pd.DataFrame, new: NewSeed) -> tuple[Floats, Bools]:
    """Germination of the first lot each line would ask, else that of newly collected seed; and whether tested."""
    reference, tested = new.germination.copy(), np.zeros(len(new.germination), np.bool_)
    first = offers[offers["rank"] == 0]
    reference[first["line"].to_numpy()] = first["viability"].to_numpy()
    tested[first["line"].to_numpy()] = inputs.lots["is_tested"].to_numpy()[first["lot"].to_numpy()]
    return reference, tested


def _sow(
    inputs: PlanInputs, new: NewSeed, table: pd.DataFrame, growth: Growth, need: Floats, reference: Floats
) -> Sown:
    line, viability = table["line"].to_numpy(), table["viability"].to_numpy()
    offers = Offers(
        line=line,
        lot=table["lot"].to_numpy(),
        rank=table["turn_at"].to_numpy(),
        plants=table["plants"].to_numpy(),
        ready_per_unit=np.where(table["is_open"], growth.ready_per_unit(viability, line), 0.0),
        seeds_per_unit=growth.seeds_per_unit(viability, line),
    )
    spare = np.where(growth.in_bed, 0, inputs.spare_trays * growth.per_tray)
    drawn = draw(need, growth.per_tray, spare, turns(inputs), offers, inputs.lots["seeds"].to_numpy())
    every = np.arange(len(need))
    short = drawn.left > TINY
    more = np.where(short, drawn.left / growth.ready_per_unit(new.germination, every), 0.0)
    units = np.where(
        short, whole_trays(drawn.line_units.astype(np.float64) + more, growth.per_tray) + spare, drawn.line_units
    )
    missing = units - drawn.line_units
    counted = np.where(new.possible, missing, 0)
    total = drawn.line_units + counted
    weighted = np.bincount(line, drawn.units * viability, len(need)) + counted * new.germination
    return Sown(
        drawn=drawn,
        units=units,
        missing_units=missing,
        missing_seeds=np.ceil(missing * growth.seeds_per_unit(new.germination, every) - TINY).astype(np.int64),
        missing_share=np.divide(drawn.left, need, out=np.zeros(len(need)), where=need > 0),
        germination=np.where(total > 0, weighted / np.maximum(total, 1), reference),
    )
