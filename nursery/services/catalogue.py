"""Species with the figures that hold in this nursery: the catalogue's, then what batches taught, then its own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry, load_catalog, override_fault, with_overrides
from nursery.models import Override, Species
from nursery.services.learned.batches import Batch, read_batches
from nursery.services.learned.rates import entry_with_batches


def effective_entries(
    session: Session, species_ids: Collection[int] | None = None, *, learned: bool = True
) -> dict[int, SpeciesEntry]:
    """Entries with the figures in force, by species id; of all species unless some are named.

    Catalogue, over it the rates learned from this nursery's batches (unless ``learned`` is false), over both the
    figures a person set by hand. Four queries, whatever the number of species.
    """
    wanted = select(Species.id, Species.key)
    own = select(Override.species_id, Override.figure, Override.value)
    if species_ids is not None:
        wanted = wanted.where(Species.id.in_(species_ids))
        own = own.where(Override.species_id.in_(species_ids))
    values: defaultdict[int, dict[str, Any]] = defaultdict(dict)
    for species_id, figure, value in session.execute(own):
        values[species_id][figure] = value
    batches = read_batches(session, species_ids) if learned else {}
    catalog = load_catalog().species
    return {
        species_id: entry_in_force(catalog[key], batches.get(species_id, ()), values.get(species_id, {}))
        for species_id, key in session.execute(wanted)
        if key in catalog
    }


def entry_in_force(entry: SpeciesEntry, batches: Sequence[Batch], own: dict[str, Any]) -> SpeciesEntry:
    """The catalogue's entry with learned rates and own figures.

    Own figures that a newer catalogue no longer has, or takes, count for nothing; their page says so.
    """
    good = {path: value for path, value in own.items() if override_fault(entry, path, value) is None}
    with_rates = entry_with_batches(entry, batches, good)
    return with_overrides(with_rates, good) if good else with_rates
