"""What every database holds before anybody types: the catalogue's species, preferences and general rules."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Preferences, Species
from nursery.services import auditing
from nursery.services.origin.rule_sets import ensure_default


def set_up(session: Session, actor: str) -> Preferences:
    """Bring the species rows in step with the catalogue; make sure of preferences and the general rules of origin.

    A species that has left the catalogue keeps its row, because lots and targets may name it.
    """
    preferences = session.get(Preferences, 1)
    if preferences is None:
        preferences = Preferences()
        session.add(preferences)
        auditing.record(session, actor, action="created", row=preferences)
    ensure_default(session, actor)
    known = {species.key: species for species in session.scalars(select(Species))}
    changed = []
    for entry in load_catalog().species.values():
        species = known.get(entry.key)
        if species is None:
            species = Species(key=entry.key, scientific_name="", authorship="")
            session.add(species)
        if (species.scientific_name, species.authorship) != (entry.scientific_name, entry.authorship):
            species.scientific_name, species.authorship = entry.scientific_name, entry.authorship
            changed.append(entry.key)
    if changed:
        auditing.record(
            session, actor, action="catalogue", row=preferences, details={"species": [None, sorted(changed)]}
        )
    return preferences
