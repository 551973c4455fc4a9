"""What several parts of a lot's page read, once a request."""

from __future__ import annotations

from collections.abc import Sequence

from flask import g

from nursery.catalog import SpeciesEntry
from nursery.models import Lot, SeedTest
from nursery.services.catalogue import effective_entries
from nursery.services.seed_tests import list_tests
from nursery.web.session import db


def entry(lot: Lot) -> SpeciesEntry | None:
    """The lot's species with this nursery's own figures."""
    kept: dict[int, SpeciesEntry | None] = g.setdefault("lot_entries", {})
    if lot.species_id not in kept:
        kept[lot.species_id] = effective_entries(db(), [lot.species_id]).get(lot.species_id)
    return kept[lot.species_id]


def tests(lot: Lot) -> Sequence[SeedTest]:
    """All its tests, the newest first."""
    kept: dict[int, Sequence[SeedTest]] = g.setdefault("lot_tests", {})
    if lot.id not in kept:
        kept[lot.id] = list_tests(db(), lot)
    return kept[lot.id]
