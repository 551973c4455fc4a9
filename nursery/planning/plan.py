"""The plan: from targets back to lots, sowing dates, seeds and trays, all lines at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.plan_allocation import Effort, Sharing
from nursery.planning.plan_covering import covered_days, with_growing
from nursery.planning.plan_dates import Dating, choose_days
from nursery.planning.plan_growing import still_wanted
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_lots import judgement_of
from nursery.planning.plan_mix import mixes
from nursery.planning.plan_needs import CollectionNeeds, collection_needs
from nursery.planning.plan_problems import find_problems
from nursery.planning.plan_relief import find_relief
from nursery.planning.plan_seed import SeedPlan, plan_seed
from nursery.planning.quantities import grams_of_seeds
from nursery.planning.rounding import whole

#: Version of the calculation, kept with each plan: raise it whenever a number may change.
ENGINE = "4"
DRAW_COLUMNS = (
    "line", "lot", "seeds", "milligrams", "grams", "units", "viability", "distance_m", "source", "verdict", "site",
    "decision_id", "reasons",
)  # fmt: skip


@dataclass(frozen=True)
class PlanResult:
    """Tables of the plan; ``line`` and ``lot`` are positions in the inputs.

    ``lines``: one row per input line. ``draws``: the columns of `DRAW_COLUMNS`; ``verdict`` is a level,
    ``reasons`` those of the rules. ``collecting``: what to collect, and what of it for which line.
    ``problems``: ``line, code`` and values. ``mixes``: a row a line, see `plan_mix.mixes`. ``relief``: what
    holds a shortfall, see `plan_relief.find_relief`. ``sharing``: how the lots were shared out.
    """

    lines: pd.DataFrame
    draws: pd.DataFrame
    collecting: CollectionNeeds
    problems: pd.DataFrame
    mixes: pd.DataFrame
    relief: pd.DataFrame
    sharing: Sharing
    dating: Dating

    @property
    def needs(self) -> pd.DataFrame:
        """What to collect, see `plan_needs.CollectionNeeds`."""
        return self.collecting.needs

    @property
    def need_parts(self) -> pd.DataFrame:
        """What of each need is for which line."""
        return self.collecting.parts


def make_plan(inputs: PlanInputs, effort: Effort = Effort()) -> PlanResult:  # noqa: B008 -- frozen
    """Work every target backward (DESIGN, "What the calculations mean").

    Parameters
    ----------
    inputs : PlanInputs
        Lines in the order in which they are served when a lot is short.
    effort : Effort
        What sharing the lots out may take. Where its time runs out the best found so far is used.

    Returns
    -------
    PlanResult
        Never draws more of a lot than it holds. Deterministic: equal inputs give equal results.
    """
    row = inputs.lines["protocol_row"].to_numpy()
    dating = choose_days(inputs, row)
    plants, ready = _plants(inputs, row)
    wanted = still_wanted(inputs.growing, inputs.lines["assurance"].to_numpy(), whole(ready))
    covered = (wanted == 0) & (whole(ready) > 0)
    if inputs.growing is not None:
        dating = covered_days(inputs.growing, covered, dating, inputs.lines)
    seed = plan_seed(inputs, row, dating, wanted, effort)
    lines = _line_table(inputs, row, dating, seed, plants, ready, wanted)
    lines["is_covered"] = covered
    lines["status"] = _status(dating, seed, lines)
    draws = _draw_table(inputs, seed)
    held = draws.groupby("line")["grams"].sum().reindex(range(len(lines)), fill_value=0.0).to_numpy()
    lines["grams"] = np.where(lines["is_cuttings"], np.nan, held + lines["grams_missing"])
    mix = mixes(inputs, seed)
    needs = collection_needs(inputs, row, seed, lines, mix)
    problems = find_problems(inputs, row, dating, seed, lines, mix)
    lacking = np.where(dating.in_time, np.ceil(seed.sown.missing_share * wanted - 1e-6), 0)
    relief = find_relief(inputs, seed, lacking.astype(np.int64))
    return PlanResult(lines, draws, needs, problems, mix, relief, seed.sharing, dating)


def _plants(inputs: PlanInputs, row: Ints) -> tuple[Floats, Floats]:
    """Plants to plant and ready plants, unrounded."""
    table, lines = inputs.protocols.table.iloc[row], inputs.lines
    year = lines["survival_year"].to_numpy()
    first, third = (table[f"field_survival_{n}_mean"].to_numpy() for n in (1, 3))
    plants = lines["wanted"].to_numpy() / np.where(year == 1, first, np.where(year == 3, third, 1.0))
    return plants, plants / (1 - table["handling_loss_mean"].to_numpy())


def _line_table(
    inputs: PlanInputs, row: Ints, dating: Dating, seed: SeedPlan, plants: Floats, ready: Floats, wanted: Ints
) -> pd.DataFrame:
    table, growth, sown = inputs.protocols.table.iloc[row], seed.growth, seed.sown
    drawn_seeds = np.bincount(seed.offers["line"], sown.drawn.seeds, len(row)).astype(np.int64)
    missing = sown.missing_seeds
    in_bed = growth.in_bed
    # What batches do not cover of the plants. A line that cannot be in time gets no more, whatever seed there is.
    rest = plants * np.divide(wanted, whole(ready), out=np.ones(len(row)), where=ready > 0)
    short = np.where(dating.in_time, rest * sown.missing_share, rest)
    outcome = with_growing(inputs.growing, seed.outcome, seed.stages, whole(ready))
    counts = dating.in_time | (False if inputs.growing is None else inputs.growing.some)
    return pd.DataFrame(
        {
            "plants_to_plant": whole(plants),
            "ready_plants": whole(ready),
            "method": growth.method,
            "is_cuttings": table["is_cuttings"].to_numpy(),
            "seeds_per_cell": growth.seeds_per_cell,
            "cells": np.where(in_bed, 0, seed.units_needed),
            "trays": np.where(
                in_bed | (inputs.lines["cells_per_tray"] < 1), 0, whole(sown.units / growth.per_tray)
            ),
            "cells_sown": np.where(in_bed, 0, sown.units),
            "seeds": drawn_seeds + missing,
            "seeds_missing": missing,
            "grams_missing": grams_of_seeds(missing, table["tsw_g"].to_numpy(), table["purity"].to_numpy()),
            "pretreat_on": dating.start,
            "sow_on": dating.sow_on,
            "ready_on": dating.ready_on,
            "plant_on": dating.plant_on,
            "expected": outcome.expected,
            "p10": outcome.p10,
            "p90": outcome.p90,
            "probability": np.where(counts, outcome.probability, 0.0),
            "shortfall": whole(short),
            "collect_from": seed.new.opens_on,
            "collect_by": np.where(missing > 0, seed.new.closes_on, np.datetime64("NaT", "D")),
            "germination": sown.germination,
            "reference_germination": seed.reference,
            "new_germination": seed.new.germination,
            "units_needed": seed.units_needed,
            "cells_from_lots": sown.drawn.line_units,
        }
    )


def _status(dating: Dating, seed: SeedPlan, lines: pd.DataFrame) -> pd.Series:
    missing = lines["seeds_missing"].to_numpy() > 0
    status = np.where(missing, np.where(seed.new.possible, "collect", "short"), "on-track")
    status = np.where(lines["plants_to_plant"] < 1, "short", status)
    return pd.Series(np.where(dating.in_time, status, "late"))


def _draw_table(inputs: PlanInputs, seed: SeedPlan) -> pd.DataFrame:
    table = seed.offers.assign(units=seed.sown.drawn.units, seeds=seed.sown.drawn.seeds)
    table = table[table["seeds"] > 0].reset_index(drop=True)
    lots = inputs.lots.iloc[table["lot"]]
    cuttings = lots["is_cuttings"].to_numpy()
    exact = grams_of_seeds(table["seeds"], np.where(cuttings, 0.0, lots["tsw_g"]), lots["purity"].to_numpy())
    # Rounded down, so that the milligrams of all draws together stay within the lot.
    milligrams = np.floor(exact * 1000 + 1e-6)
    table["milligrams"] = np.where(cuttings, np.nan, milligrams)
    table["grams"] = np.where(cuttings, 0.0, milligrams / 1000)
    judged = judgement_of(inputs, table["line"].to_numpy(), table["lot"].to_numpy())
    table["reasons"] = pd.Series(judged.reasons_of(np.arange(len(table))), dtype=object)
    return table[list(DRAW_COLUMNS)]
