"""From what a person types to a species of the database: any name of the catalogue, or the near ones."""

from __future__ import annotations

from functools import lru_cache

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog.entries import SpeciesEntry
from nursery.catalog.naming import find_species, nearest, plain
from nursery.catalog.reading import load_catalog
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Species


def species_entry(text: str, *, field: str = "species") -> SpeciesEntry:
    """The catalogue entry a text names by key, name, synonym or common name; else ``Invalid`` with near names."""
    catalog = load_catalog()
    entry = find_species(catalog, text)
    if entry is not None:
        return entry
    near = [found.scientific_name for found in nearest(catalog, text)]
    if near:
        message = _(
            "“%(text)s” is no species of the catalogue. Did you mean %(near)s?", text=text, near=", ".join(near)
        )
    else:
        message = _(
            "“%(text)s” is no species of the catalogue. Type a scientific name, synonym or common name as the"
            " species pages have it.",
            text=text,
        )
    raise Invalid({field: message})


def resolve_species(session: Session, text: str, *, field: str = "species") -> Species:
    """The species row of the entry that a text names; made when the database has none yet."""
    entry = species_entry(text, field=field)
    row = session.scalar(select(Species).where(Species.key == entry.key))
    if row is None:
        row = Species(key=entry.key, scientific_name=entry.scientific_name, authorship=entry.authorship)
        session.add(row)
        session.flush()  # the records that name it need its id
    return row


def species_named_like(text: str) -> list[str]:
    """Keys of the species with a name, synonym or common name that contains the text."""
    wanted = plain(text)
    return [key for key, names in _all_names() if wanted in names] if wanted else []


def species_suggestions() -> list[tuple[str, str]]:
    """Scientific and common names to choose from while typing, as (name, what it stands for)."""
    found: list[tuple[str, str]] = []
    for entry in load_catalog().species.values():
        found.append((entry.scientific_name, ""))
        found += [(name, entry.scientific_name) for name in entry.synonyms]
    return found


@lru_cache
def _all_names() -> tuple[tuple[str, str], ...]:
    return tuple(
        (
            entry.key,
            "\n".join(
                plain(name)
                for name in (
                    entry.scientific_name,
                    *entry.synonyms,
                    *(name for names in entry.common_names.values() for name in names),
                )
            ),
        )
        for entry in load_catalog().species.values()
    )
