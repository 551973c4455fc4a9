"""What no lot can give, gathered by species, source, origin and collecting season."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nursery.planning.arrays import Ints
from nursery.planning.collecting import MAX_SHARE
from nursery.planning.heavy import pd
from nursery.planning.origin.words import NeedSource
from nursery.planning.plan_inputs import PlanInputs
from nursery.planning.plan_seed import SeedPlan
from nursery.planning.plan_sources import line_regions, source_parts
from nursery.planning.quantities import grams_of_seeds
from nursery.planning.rounding import whole

#: However small the amount, it is to come from as many plants as this, or from all there are: "at least 30 genetic
#: individuals", NordGen quality-assurance appendix, TemaNord 2025:515.
LEAST_MOTHERS = 30
#: What lines of one need have in common. ``place`` is a site where the source depends on its climate, else -1.
_KEYS = [
    "species_id", "region_code", "basin", "is_cuttings", "purpose", "source", "closes_on", "place",
]  # fmt: skip


@dataclass(frozen=True)
class CollectionNeeds:
    """What is to be collected.

    ``needs``: ``species_id, region_code, basin, is_cuttings, source, purpose, opens_on, closes_on, seeds, grams,
    fruit_kg, mothers, plants``; grams and fruit are NaN for cuttings. The origin is that of the sites it is for:
    the region code as it holds for the species, or the basin for sites without one, and both where the source is
    told by both. ``parts``: ``need, line, seeds, plants``, with positions.
    """

    needs: pd.DataFrame
    parts: pd.DataFrame


def collection_needs(
    inputs: PlanInputs, row: Ints, seed: SeedPlan, lines: pd.DataFrame, mix: pd.DataFrame
) -> CollectionNeeds:
    """Sum up by source what lines with the status ``collect`` are missing, and what the shares of others lack."""
    parts = source_parts(inputs, seed, lines, mix)
    rows = _rows(inputs, row, seed, parts)
    groups = rows.groupby(_KEYS, sort=True)
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
    return CollectionNeeds(
        needs.drop(columns=["fruit_kg_per_mother", "cuttings_per_mother", "place"]),
        parts.assign(need=groups.ngroup().to_numpy(np.int64))[["need", "line", "seeds", "plants"]],
    )


def _rows(inputs: PlanInputs, row: Ints, seed: SeedPlan, parts: pd.DataFrame) -> pd.DataFrame:
    """Parts with where and when they are to be collected, and what they weigh."""
    line = parts["line"].to_numpy(np.int64)
    table = inputs.protocols.table.iloc[row[line]].reset_index(drop=True)
    region = line_regions(inputs)[line]
    by_both = (parts["source"] != NeedSource.REGION.value).to_numpy() | (region == "")
    by_climate = (parts["source"] == NeedSource.CLIMATE.value).to_numpy()
    grams = grams_of_seeds(parts["seeds"].to_numpy(), table["tsw_g"].to_numpy(), table["purity"].to_numpy())
    return parts.assign(
        species_id=inputs.lines["species_id"].to_numpy()[line],
        region_code=region,
        basin=np.where(by_both, inputs.lines["basin"].to_numpy(object)[line], ""),
        place=np.where(by_climate, inputs.origin.site[line], -1),
        is_cuttings=table["is_cuttings"],
        closes_on=seed.new.closes_on[line],
        opens_on=seed.new.opens_on[line],
        grams=grams,
        fruit_kg=grams / table["extraction_yield"].to_numpy() / 1000,
        fruit_kg_per_mother=table["fruit_kg_per_mother"],
        cuttings_per_mother=table["cuttings_per_mother"],
    )
