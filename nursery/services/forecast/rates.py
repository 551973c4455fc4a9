"""Rates of species as they were known on a day: batches that were counted later had taught nothing yet."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection
from functools import cached_property
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry, load_catalog
from nursery.models import Override, Species
from nursery.services.catalogue import entry_in_force
from nursery.services.learned.batches import Batch, read_batches


class RateBook:
    """Entries of some species, read at once; what was learned is reckoned by day as it is asked for."""

    def __init__(self, session: Session, species_ids: Collection[int], *, learned: bool = True) -> None:
        """Read keys, own figures and batches, in a fixed number of queries."""
        keys = select(Species.id, Species.key).where(Species.id.in_(species_ids))
        own = select(Override.species_id, Override.figure, Override.value).where(
            Override.species_id.in_(species_ids)
        )
        self.keys = {row.id: row.key for row in session.execute(keys) if row.key in self._catalogue}
        self.own: defaultdict[int, dict[str, Any]] = defaultdict(dict)
        for species_id, figure, value in session.execute(own):
            self.own[species_id][figure] = value
        self.batches: dict[int, tuple[Batch, ...]] = read_batches(session, species_ids) if learned else {}

    @cached_property
    def _catalogue(self) -> Any:
        return load_catalog().species

    def entry(self, species_id: int, day: dt.date | None = None) -> SpeciesEntry | None:
        """The species with the figures in force, today or as they were on ``day``; None outside the catalogue.

        Figures that a person set by hand are taken as they are today.
        """
        key = self.keys.get(species_id)
        if key is None:
            return None
        seen = self.batches.get(species_id, ())
        if day is not None:
            seen = tuple(batch for batch in seen if batch.happened_on <= day)
        return entry_in_force(self._catalogue[key], seen, self.own.get(species_id, {}))
