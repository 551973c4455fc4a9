"""What no lot can give, gathered by species, origin and collecting season."""

from __future__ import annotations

import numpy as np
import pandas as pd

from nursery.planning.arrays import Ints
from nursery.planning.collecting import MAX_SHARE
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_seed import NewSeed
from nursery.planning.rounding import whole

#: However small the amount, it is to come from as many plants as this, or from all there are: "at least 30 genetic
#: individuals", NordGen quality-assurance appendix, TemaNord 2025:515.
LEAST_MOTHERS = 30


def collection_needs(
    inputs: PlanInputs, row: Ints, new: NewSeed, lines: pd.DataFrame
) -> tuple[pd.DataFrame, Ints]:
    """Sum what lines with the status ``collect`` are missing.

    Returns
    -------
    needs : DataFrame
        ``species_id, region_code, basin, is_cuttings, opens_on, closes_on, seeds, grams, fruit_kg, mothers,
        plants``; grams and fruit are NaN for cuttings. The origin is the region code, or the basin for sites
        without one.
    need : ndarray of int
        Position of each line's need, −1 for none.
    """
    table = inputs.protocols.table.iloc[row].reset_index(drop=True)
    region = inputs.lines["region_code"]
    rows = pd.DataFrame(
        {
            "species_id": inputs.lines["species_id"],
            "region_code": region,
            "basin": inputs.lines["basin"].where(region == "", ""),
            "is_cuttings": table["is_cuttings"],
            "closes_on": new.closes_on,
            "opens_on": new.opens_on,
            "seeds": lines["seeds_missing"],
            "grams": lines["grams_missing"],
            "fruit_kg": lines["grams_missing"] / table["extraction_yield"] / 1000,
            "plants": lines["shortfall"],
            "fruit_kg_per_mother": table["fruit_kg_per_mother"],
            "cuttings_per_mother": table["cuttings_per_mother"],
        }
    )
    wanted = (lines["status"] == "collect").to_numpy()
    keys = ["species_id", "region_code", "basin", "is_cuttings", "closes_on"]
    groups = rows[wanted].groupby(keys, sort=True)
    need = np.full(len(rows), -1, np.int64)
    need[wanted] = groups.ngroup().to_numpy()
    needs = groups.agg(
        opens_on=("opens_on", "min"),
        seeds=("seeds", "sum"),
        grams=("grams", "sum"),
        fruit_kg=("fruit_kg", "sum"),
        plants=("plants", "sum"),
        fruit_kg_per_mother=("fruit_kg_per_mother", "first"),
        cuttings_per_mother=("cuttings_per_mother", "first"),
    ).reset_index()
    cuttings = needs["is_cuttings"].to_numpy(dtype=np.bool_)
    by_fruit = needs["fruit_kg"] / (needs["fruit_kg_per_mother"] * MAX_SHARE)
    by_cuttings = needs["seeds"] / needs["cuttings_per_mother"].where(cuttings, 1.0)
    needs["mothers"] = np.maximum(whole(np.where(cuttings, by_cuttings, by_fruit)), LEAST_MOTHERS)
    for column in ("grams", "fruit_kg"):
        needs[column] = needs[column].astype(np.float64).mask(cuttings)
    return needs.drop(columns=["fruit_kg_per_mother", "cuttings_per_mother"]), need
