"""What is on record already, read once for a whole file: one query a table, however many rows there are."""

from __future__ import annotations

import datetime as dt
import difflib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import (
    Batch,
    Container,
    Dispatch,
    DispatchLine,
    Lot,
    Nursery,
    Population,
    Recipient,
    SeedTest,
    Site,
    Species,
    StoragePlace,
    Trip,
)
from nursery.services.coordinates import Area, known_area
from nursery.services.importing.loads import Loads, read_loads
from nursery.services.seed_tests import ruled_lots

#: Looking for near names costs time; after so many unknown names the rest are only said to be unknown.
NEAR_LOOKUPS = 100
NEAR_AMONG = 5000


def fold(text: str) -> str:
    """Codes and names compare without regard to case and spacing."""
    return " ".join(text.split()).casefold()


@dataclass(frozen=True, slots=True)
class Entry:
    """A record that others refer to."""

    id: int
    name: str
    archived: bool
    species: str = ""
    area_ha: float | None = None
    southern: bool = False
    day: dt.date | None = None


@dataclass(slots=True)
class Register:
    """Records of one table by code or name."""

    by_name: dict[str, list[Entry]] = field(default_factory=lambda: defaultdict(list))
    by_id: dict[int, Entry] = field(default_factory=dict)
    lookups: int = 0

    def add(self, entry: Entry, *also: str) -> None:
        """Enter a record under its name and any other."""
        self.by_id[entry.id] = entry
        for name in (entry.name, *also):
            self.by_name[fold(name)].append(entry)

    def near(self, text: str) -> list[str]:
        """Names like the text, best first."""
        self.lookups += 1
        if self.lookups > NEAR_LOOKUPS or len(self.by_name) > NEAR_AMONG:
            return []
        found = difflib.get_close_matches(fold(text), list(self.by_name), n=3, cutoff=0.6)
        return list(dict.fromkeys(self.by_name[name][0].name for name in found))


@dataclass(slots=True)
class Book:
    """Registers by the word a column refers to, and the species in the database."""

    species_key: dict[int, str]
    registers: dict[str, Register]
    #: Populations that have lots: their species is settled.
    collected: frozenset[int] = frozenset()
    #: Where the points on record lie, to notice swapped coordinates.
    area: Area | None = None
    #: By the id of a lot: its columns that tests rule, each with its test.
    ruled: Mapping[int, Mapping[str, SeedTest]] = field(default_factory=dict)
    #: What plantings may name: batches with their lots, loads with what is left of them.
    loads: Loads = field(default_factory=Loads)


def open_book(
    session: Session,
    refers_to: Iterable[str],
    *,
    with_collected: bool = False,
    with_area: bool = False,
    with_tests: bool = False,
    with_loads: bool = False,
) -> Book:
    """Read what a file of some kind may refer to."""
    keys = {row_id: key for row_id, key in session.execute(select(Species.id, Species.key))}  # noqa: C416 -- rows are no pairs to mypy
    registers = {name: _register(session, name, keys) for name in dict.fromkeys(refers_to)}
    collected = frozenset(session.scalars(select(Lot.population_id).distinct())) if with_collected else frozenset()
    area = known_area(session) if with_area else None
    ruled = ruled_lots(session) if with_tests else {}
    loads = read_loads(session) if with_loads else Loads()
    return Book(
        species_key=keys, registers=registers, collected=collected, area=area, ruled=ruled, loads=loads,
    )  # fmt: skip


#: Registers of which nothing but the name is asked.
_PLAIN = {
    "recipients": (Recipient.id, Recipient.name, Recipient.archived_at),
    "batches": (Batch.id, Batch.code, Batch.archived_at),
    "storage places": (StoragePlace.id, StoragePlace.name, StoragePlace.archived_at),
}

#: Registers with the day of each record.
_DATED = {
    "trips": (Trip.id, Trip.code, Trip.archived_at, Trip.collected_on),
    "lots": (Lot.id, Lot.code, Lot.archived_at, Lot.collected_on),
}


def _register(session: Session, name: str, keys: dict[int, str]) -> Register:
    register = Register()
    if name == "populations":
        rows = select(Population.id, Population.code, Population.archived_at, Population.species_id)
        for row_id, code, archived, species_id in session.execute(rows):
            register.add(Entry(row_id, code, archived is not None, species=keys[species_id]))
    elif name == "sites":
        sites = select(Site.id, Site.code, Site.archived_at, Site.area_ha, Site.latitude)
        for row_id, code, archived, area, latitude in session.execute(sites):
            register.add(Entry(row_id, code, archived is not None, area_ha=area, southern=latitude < 0))
    elif name == "containers":
        query = select(Container.id, Container.name, Container.archived_at, Nursery.name).join(Container.nursery)
        for row_id, label, archived, nursery in session.execute(query):
            register.add(Entry(row_id, label, archived is not None), f"{nursery} / {label}", f"{nursery}/{label}")
    elif name in _DATED:
        for row_id, code, archived, day in session.execute(select(*_DATED[name])):
            register.add(Entry(row_id, code, archived is not None, day=day))
    elif name == "loads":
        _enter_loads(session, register)
    else:
        for row_id, label, archived in session.execute(select(*_PLAIN[name])):
            register.add(Entry(row_id, label, archived is not None))
    return register


def _enter_loads(session: Session, register: Register) -> None:
    """A cell names a load; a planting keeps the line of it by which its plants came."""
    codes: dict[int, str] = {}
    for row_id, code, archived in session.execute(select(Dispatch.id, Dispatch.code, Dispatch.archived_at)):
        codes[row_id] = code
        register.by_name[fold(code)].append(Entry(row_id, code, archived is not None))
    for line_id, load_id in session.execute(select(DispatchLine.id, DispatchLine.dispatch_id)):
        register.by_id[line_id] = Entry(line_id, codes[load_id], archived=False)
