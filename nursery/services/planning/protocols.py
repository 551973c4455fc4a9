"""Catalogue protocols as the tables that the calculation reads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from nursery.catalog import Protocol, SpeciesEntry
from nursery.planning.heavy import pd
from nursery.planning.months import mask_of
from nursery.planning.plan_inputs import RATES, Protocols

#: How long cuttings keep where the catalogue does not say, days; common practice (moist, just above freezing),
#: no source.
CUTTINGS_LIFE_DAYS = 30.0
#: Cuttings taken from one mother plant where the catalogue does not say; common practice, no source.
CUTTINGS_PER_MOTHER = 10.0


@dataclass(frozen=True)
class ProtocolRows:
    """The tables, and the catalogue records behind their rows."""

    planning: Protocols
    entries: tuple[SpeciesEntry, ...]
    protocols: tuple[Protocol, ...]

    def rows_of(self, species: pd.Series, keys: pd.Series) -> np.ndarray:
        """Row of each species' protocol of that key; of its first one where the key is empty or gone."""
        table = self.planning.table
        first = table.reset_index().groupby("species_id")["index"].first()
        named = pd.Series(table.index, index=pd.MultiIndex.from_frame(table[["species_id", "key"]]))
        wanted = named.reindex(pd.MultiIndex.from_arrays([species, keys])).to_numpy(np.float64)
        return np.where(np.isnan(wanted), first.reindex(species).to_numpy(), wanted).astype(np.int64)


def protocol_rows(entries: Mapping[int, SpeciesEntry]) -> ProtocolRows:
    """All protocols of the species, each species' first choice first."""
    listed = [
        (species_id, entry, protocol) for species_id, entry in entries.items() for protocol in entry.protocols
    ]
    longest = max((len(protocol.phases) for _, _, protocol in listed), default=1)
    shape = (len(listed), longest)
    days, degree_days, base_c = np.zeros(shape, np.int64), np.zeros(shape), np.zeros(shape)
    sow_at = np.zeros(len(listed), np.int64)
    names = []
    for row, (_, _, protocol) in enumerate(listed):
        empty = longest - len(protocol.phases)
        names.append(("",) * empty + tuple(phase.key for phase in protocol.phases))
        sow_at[row] = empty + len(protocol.pretreatment)
        for column, phase in enumerate(protocol.phases, start=empty):
            days[row, column] = round(phase.days or 0)
            degree_days[row, column] = phase.degree_days or 0.0
            base_c[row, column] = phase.base_c or 0.0
    table = pd.DataFrame(
        [_row(species_id, entry, protocol) for species_id, entry, protocol in listed], columns=list(_COLUMNS)
    )
    planning = Protocols(table, tuple(names), days, degree_days, base_c, sow_at)
    return ProtocolRows(
        planning, tuple(entry for _, entry, _ in listed), tuple(protocol for _, _, protocol in listed)
    )


_COLUMNS = (
    "species_id", "key", "method", "is_cuttings", "life_days", "tsw_g", "purity", "extraction_yield",
    "fruit_kg_per_mother", "cuttings_per_mother", "container_volume_cm3", "seeds_per_cell", "sow_mask",
    "collect_mask",
    "field_survival_1_mean", "field_survival_3_mean",
    *(f"{rate}_{part}" for rate in RATES for part in ("mean", "weight")),
)  # fmt: skip


def _row(species_id: int, entry: SpeciesEntry, protocol: Protocol) -> dict[str, Any]:
    cuttings = protocol.part == "cuttings"
    return {
        "species_id": species_id,
        "key": protocol.key,
        "method": protocol.method,
        "is_cuttings": cuttings,
        "life_days": entry.life_days(protocol.part),
        "tsw_g": 0.0 if cuttings else entry.seed.thousand_seed_weight_g,
        "purity": 1.0 if cuttings else entry.seed.purity,
        "extraction_yield": entry.seed.extraction_yield,
        "fruit_kg_per_mother": entry.seed.fruit_kg_per_mother,
        "cuttings_per_mother": entry.collecting.cuttings_per_mother or CUTTINGS_PER_MOTHER,
        "container_volume_cm3": protocol.container_volume_cm3,
        "seeds_per_cell": protocol.seeds_per_cell or 0,
        "sow_mask": mask_of(protocol.sowing_months),
        "collect_mask": mask_of(entry.collecting_months(protocol.part)),
        **{f"field_survival_{year}_mean": protocol.rates[f"field_survival_{year}"].mean for year in (1, 3)},
        **{f"{rate}_mean": protocol.rates[rate].mean for rate in RATES},
        **{f"{rate}_weight": protocol.rates[rate].weight for rate in RATES},
    }
