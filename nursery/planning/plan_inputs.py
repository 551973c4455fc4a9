"""What a plan is reckoned from: frozen tables, one row per target, lot and protocol."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from nursery.planning.arrays import Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.plan_growing import PlanGrowing
from nursery.planning.plan_origin import PlanOrigin

#: Columns of `PlanInputs.lines`, one row per target.
LINE_COLUMNS = (
    "target_id",
    "species_id",
    "site_id",
    "season",
    "wanted",  # plants, or survivors where survival_year is 1 or 3
    "survival_year",  # 0 where plants are wanted
    "latitude",
    "longitude",
    "region_code",
    "basin",
    "window_open",  # datetime64[D]
    "window_close",
    "pinned_day",  # NaT where the plan may choose
    "priority",
    "assurance",
    "seeds_per_cell",  # 0 where the plan may choose
    "cells_per_tray",  # 0 where no container is known
    "cell_volume_cm3",  # NaN where no container is known
    "protocol_row",  # row of Protocols.table
    "southern",
)

#: Columns of `PlanInputs.lots`.
LOT_COLUMNS = (
    "lot_id",
    "species_id",
    "is_cuttings",
    "seeds",  # whole pure seeds (or cuttings) that may be drawn
    "tsw_g",
    "purity",
    "germination",
    "tested_on",
    "collected_on",
    "sigma_days",  # days per probit by the viability equation; NaN where unknown
    "is_tested",
    "is_lost",  # killed by its storage (see `harm`), and no later test shows otherwise
)

RATES = ("germination", "emergence", "establishment", "hardening", "cull", "handling_loss")


@dataclass(frozen=True)
class Protocols:
    """All protocols in use: rates in ``table``, phases as arrays of shape (rows, phases).

    ``table`` holds ``species_id, key, method, is_cuttings, life_days, tsw_g, purity, extraction_yield,
    fruit_kg_per_mother, cuttings_per_mother, container_volume_cm3, seeds_per_cell`` (0 for none), ``sow_mask,
    collect_mask`` (12-bit month masks of the northern hemisphere), ``field_survival_<1 or 3>_mean`` and
    ``<rate>_mean, <rate>_weight`` for each of `RATES`. Rows of one species stand together, its first choice first.
    Phases are padded in front with empty ones of no days; ``sow_at`` is the column of the phase that begins with
    sowing.
    """

    table: pd.DataFrame
    names: tuple[tuple[str, ...], ...]
    days: Ints
    degree_days: Floats
    base_c: Floats
    sow_at: Ints

    def alternatives(self, row: Ints, nth: int) -> Ints:
        """Row of the nth other protocol (0 first) of the same species, −1 where there is none."""
        species = self.table["species_id"].to_numpy()
        order = self.table.groupby("species_id").cumcount().to_numpy()
        first = np.arange(len(species)) - order
        size = self.table.groupby("species_id")["key"].transform("size").to_numpy()
        # Counting the others in order and stepping over the protocol in use.
        position = np.where(nth < order[row], nth, nth + 1)
        return np.where(position < size[row], first[row] + position, -1)


@dataclass(frozen=True)
class Costs:
    """Money (or hours) by which seeds per cell are chosen."""

    seed: float
    thin: float
    cell: float


@dataclass(frozen=True)
class PlanInputs:
    """Everything the calculation may look at; ``normals`` is (lines, 12), °C of the nursery's months."""

    today: np.datetime64
    lines: pd.DataFrame
    lots: pd.DataFrame
    protocols: Protocols
    normals: Floats
    costs: Costs
    spare_trays: int
    origin: PlanOrigin
    #: What grows for the lines already; None for nothing.
    growing: PlanGrowing | None = None

    def only(self, which: Ints) -> PlanInputs:
        """The same inputs with some of the lines, in the order given."""
        return replace(
            self,
            lines=self.lines.iloc[which].reset_index(drop=True),
            normals=self.normals[which],
            origin=self.origin.only(which),
            growing=None if self.growing is None else self.growing.only(which),
        )
