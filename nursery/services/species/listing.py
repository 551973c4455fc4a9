"""The list of species: short enough to be sorted and searched where the catalogue lies, in memory."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry, load_catalog
from nursery.catalog.naming import plain
from nursery.catalog.vocabulary import METHODS, STORAGE_LABELS
from nursery.i18n import lazy as _l
from nursery.models import Override, Species
from nursery.services.catalogue import effective_entries
from nursery.services.naming import species_named_like
from nursery.services.species.labels import months_text
from nursery.services.species.reading import common_name

#: Columns of the file and of the API: key, what it is called and in which unit.
COLUMNS: tuple[tuple[str, LazyProxy, str], ...] = (
    ("scientific_name", _l("Scientific name"), ""),
    ("authorship", _l("Authorship"), ""),
    ("family", _l("Family"), ""),
    ("common_name", _l("Common name"), ""),
    ("storage", _l("Storage class"), ""),
    ("method", _l("Usual method"), ""),
    ("collected", _l("Collecting months"), ""),
    ("tsw", _l("Thousand-seed weight"), "g"),
    ("protocols", _l("Protocols"), ""),
    ("own_figures", _l("Own figures"), ""),
)


@dataclass(frozen=True)
class SpeciesRow:
    """One line of the list."""

    entry: SpeciesEntry
    common_name: str
    own_figures: int

    @property
    def storage(self) -> str:
        """Storage class in words, without what it means."""
        return str(STORAGE_LABELS[self.entry.storage.behaviour]).split(":", 1)[0]

    @property
    def method(self) -> str:
        """The way it is usually raised."""
        return str(METHODS[self.entry.default_protocol.method])

    @property
    def collected(self) -> str:
        """Months for collecting what the usual way needs."""
        return months_text(self.entry.collecting.months)


_ORDERS: dict[str, Callable[[SpeciesRow], Any]] = {
    "name": lambda row: row.entry.scientific_name,
    "common": lambda row: plain(row.common_name) or "\uffff",
    "family": lambda row: row.entry.family,
    "storage": lambda row: row.entry.storage.behaviour,
    "method": lambda row: row.method,
    "protocols": lambda row: len(row.entry.protocols),
    "own": lambda row: row.own_figures,
}


@dataclass(frozen=True)
class SpeciesQuery:
    """What is asked of the list: any name, storage class, method of one of the protocols, own figures only.

    ``sort`` is a column's key, with ``-`` before it for descending; anything else sorts by name.
    """

    q: str = ""
    storage: str = ""
    method: str = ""
    own: bool = False
    sort: str = "name"


def list_species(session: Session, query: SpeciesQuery) -> list[SpeciesRow]:
    """The species that fit, in order."""
    own = select(Species.key, func.count()).join(Override).group_by(Species.key)
    counts = dict(session.execute(own).all())
    named = set(species_named_like(query.q)) if query.q.strip() else None
    in_force = {entry.key: entry for entry in effective_entries(session).values()}
    rows = [
        SpeciesRow(entry, common_name(entry), counts.get(key, 0))
        for key, shipped in load_catalog().species.items()
        if (named is None or key in named)
        and _fits(entry := in_force.get(key, shipped), query)
        and (not query.own or key in counts)
    ]
    order = _ORDERS.get(query.sort.removeprefix("-"), _ORDERS["name"])
    return sorted(sorted(rows, key=_ORDERS["name"]), key=order, reverse=query.sort.startswith("-"))


def _fits(entry: SpeciesEntry, query: SpeciesQuery) -> bool:
    if query.storage and entry.storage.behaviour != query.storage:
        return False
    return not query.method or any(protocol.method == query.method for protocol in entry.protocols)
