"""Species with the figures that hold in this nursery: the catalogue's, or its own where a person set one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry, load_catalog, override_fault, with_overrides
from nursery.models import Override, Species


def effective_entries(session: Session, species_ids: Collection[int] | None = None) -> dict[int, SpeciesEntry]:
    """Catalogue entries with this nursery's own figures, by species id; of all species unless some are named."""
    wanted = select(Species.id, Species.key)
    own = select(Override.species_id, Override.figure, Override.value)
    if species_ids is not None:
        wanted = wanted.where(Species.id.in_(species_ids))
        own = own.where(Override.species_id.in_(species_ids))
    values: defaultdict[int, dict[str, Any]] = defaultdict(dict)
    for species_id, figure, value in session.execute(own):
        values[species_id][figure] = value
    catalog = load_catalog().species
    return {
        species_id: _with_own(catalog[key], values[species_id]) if species_id in values else catalog[key]
        for species_id, key in session.execute(wanted)
        if key in catalog
    }


def _with_own(entry: SpeciesEntry, values: dict[str, Any]) -> SpeciesEntry:
    """Own figures that a newer catalogue no longer has, or takes, count for nothing; their page says so."""
    return with_overrides(
        entry, {path: value for path, value in values.items() if override_fault(entry, path, value) is None}
    )
