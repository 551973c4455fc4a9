"""Species whose rates moved most by what the nursery saw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Species
from nursery.services.evidence import kind_label
from nursery.services.learned.batches import read_batches
from nursery.services.learned.rates import LearnedRate, counts_of, learned_rates


@dataclass(frozen=True, slots=True)
class MovedRate:
    """The rate of a species that moved most."""

    key: str
    species_name: str
    label: str
    rate: LearnedRate


def rates_moved(session: Session) -> Sequence[MovedRate]:
    """One rate of each species with batches, those furthest from the catalogue first."""
    batches = read_batches(session)
    if not batches:
        return []
    catalog = load_catalog().species
    found = []
    for species_id, key, name in session.execute(
        select(Species.id, Species.key, Species.scientific_name).where(Species.id.in_(batches))
    ):
        rates = learned_rates(catalog[key], counts_of(batches[species_id])) if key in catalog else ()
        if rates:
            most = max(rates, key=lambda rate: abs(rate.shift))
            found.append(MovedRate(key, name, kind_label(most.part, most.rate), most))
    return sorted(found, key=lambda moved: (-abs(moved.rate.shift), moved.species_name))
