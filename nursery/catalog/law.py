"""What the law asks of seed and plants that travel, as frozen records that hold from one day to another.

The rows stand in ``seed_catalog/law``, one kind to a file; each says where it was read, or that it is recalled. No
row is legal advice: whoever signs a paper checks it, and the authority decides.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from nursery.catalog.naming import plain

#: What a row says of itself: read in the text of an act, read in a text about it, recalled, worked out, habit.
LAW_BASES = ("seen", "seen-second", "memory", "derived", "practice")
#: Rows that hold in every country, and those that hold in every Member State.
EVERYWHERE, UNION = "*", "EU"
#: Signs of a hybrid in a botanical name.
_CROSS = frozenset({"x", "×"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What all rows share: whose law, since when and until when (the last day), and how it is known."""

    jurisdiction: str
    valid_from: dt.date
    basis: str
    where: str
    valid_to: dt.date | None = None
    regime: str = ""

    def holds(self, day: dt.date) -> bool:
        """Whether it is in force on a day."""
        return self.valid_from <= day and (self.valid_to is None or day <= self.valid_to)


@dataclass(frozen=True, slots=True, kw_only=True)
class Regime(Row):
    """A set of rules by its act."""

    key: str
    name: str
    subject: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice(Row):
    """Something to be told while a set of rules is in use."""

    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Member(Row):
    """A Member State, and the passport's title in an official language of it where that is known."""

    country: str
    passport_title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OfTaxon(Row):
    """A row on a species, a whole genus or the artificial hybrids of a genus."""

    taxon: str
    scope: str = "species"

    def names(self, names: Iterable[str]) -> bool:
        """Whether one of a plant's names is meant."""
        return any(_meant(self.taxon, self.scope, name) for name in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class Regulated(OfTaxon):
    """A species whose forest reproductive material is regulated."""

    annex: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallQuantity(OfTaxon):
    """Seed up to which germination need not be known."""

    grams: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantSize(OfTaxon):
    """The size of plants of an age, for end users in regions of Mediterranean climate."""

    years: int
    least_height_cm: float
    most_height_cm: float
    least_collar_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class QualityFloor(OfTaxon):
    """The least that a lot must reach: ``species-purity`` and ``fair-share`` 0–1, ``container-cm3``."""

    what: str
    least: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HostFlag(OfTaxon):
    """A plant on which an organism may live that its mover must know of."""

    concern: str
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneHost(OfTaxon):
    """A plant that goes into certain protected zones only with a passport that says so."""

    #: Names that the row does not mean.
    exceptions: tuple[str, ...] = ()

    def names(self, names: Iterable[str]) -> bool:
        """Whether one of a plant's names is meant, and none is excepted."""
        names = list(names)
        if any(_meant(taxon, "species", name) for taxon in self.exceptions for name in names):
            return False
        return any(_meant(self.taxon, self.scope, name) for name in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperRule(Row):
    """When a paper applies, or does not."""

    paper: str
    goods: str
    status: str
    recipients: tuple[str, ...]
    applies: bool
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperField(Row):
    """A particular that a paper prints."""

    paper: str
    section: str
    field: str
    #: ``seed`` or ``populus-parts``: printed for such material alone.
    only: str = ""


R = TypeVar("R", bound=Row)
T = TypeVar("T", bound=OfTaxon)


@dataclass(frozen=True, slots=True)
class Law:
    """All rows; every question names the day, and the country whose law is asked for."""

    regimes: tuple[Regime, ...] = ()
    notices: tuple[Notice, ...] = ()
    members: tuple[Member, ...] = ()
    species: tuple[Regulated, ...] = ()
    small_quantities: tuple[SmallQuantity, ...] = field(default=(), metadata={"kind": "small-quantities"})
    plant_sizes: tuple[PlantSize, ...] = field(default=(), metadata={"kind": "plant-sizes"})
    quality: tuple[QualityFloor, ...] = ()
    hosts: tuple[HostFlag, ...] = ()
    protected_zones: tuple[ZoneHost, ...] = field(default=(), metadata={"kind": "protected-zones"})
    papers: tuple[PaperRule, ...] = ()
    particulars: tuple[PaperField, ...] = ()

    def jurisdictions(self, country: str, day: dt.date) -> tuple[str, ...]:
        """Whose rows hold in a country, its own first; the Union's alone where no country is named."""
        if not country:
            return (UNION, EVERYWHERE)
        if self.member(country, day) is None:
            return (country, EVERYWHERE)
        return (country, UNION, EVERYWHERE)

    def member(self, country: str, day: dt.date) -> Member | None:
        """The Member State of two letters."""
        return next((row for row in self.members if row.country == country and row.holds(day)), None)

    def regulated(self, names: Sequence[str], country: str, day: dt.date) -> Regulated | None:
        """The row that regulates a plant, the Union's before the country's own; None where none does."""
        found = list(self._of_taxon(self.species, names, country, day))
        return next((row for row in found if row.jurisdiction == UNION), found[0] if found else None)

    def small_quantity(self, names: Sequence[str], country: str, day: dt.date) -> SmallQuantity | None:
        """How much seed of a plant counts as little."""
        return next(self._of_taxon(self.small_quantities, names, country, day), None)

    def sizes(self, names: Sequence[str], country: str, day: dt.date) -> list[PlantSize]:
        """Sizes of a plant, youngest first."""
        return sorted(self._of_taxon(self.plant_sizes, names, country, day), key=lambda row: row.years)

    def floor(self, what: str, names: Sequence[str], country: str, day: dt.date) -> QualityFloor | None:
        """A floor of quality: that of the plant, else that of all plants."""
        rows = tuple(row for row in self.quality if row.what == what)
        named = next(self._of_taxon(rows, names, country, day), None)
        return named or next(self._of_taxon(rows, (EVERYWHERE,), country, day), None)

    def host_flags(self, names: Sequence[str], country: str, day: dt.date) -> list[HostFlag]:
        """Organisms that the plant-health service is asked about."""
        return list(self._of_taxon(self.hosts, names, country, day))

    def zone_host(self, names: Sequence[str], country: str, day: dt.date) -> ZoneHost | None:
        """The row by which a plant needs a passport of its own kind in protected zones."""
        return next(self._of_taxon(self.protected_zones, names, country, day), None)

    def paper_rule(
        self, paper: str, goods: str, status: str, recipient: str, country: str, day: dt.date
    ) -> PaperRule | None:
        """What is said of a paper, by the country's own row where it has one."""
        rows = [
            row for row in self.papers
            if (row.paper, row.goods) == (paper, goods)
            and row.status in (status, "any") and recipient in row.recipients
        ]  # fmt: skip
        return next(self._nearest(rows, country, day), None)

    def fields(self, paper: str, country: str, day: dt.date) -> list[PaperField]:
        """The particulars of a paper in their order; a country with rows of its own has those."""
        for whose in self.jurisdictions(country, day):
            rows = [
                row for row in self.particulars
                if row.paper == paper and row.jurisdiction == whose and row.holds(day)
            ]  # fmt: skip
            if rows:
                return rows
        return []

    def regime(self, key: str) -> Regime | None:
        """A set of rules by its key."""
        return next((row for row in self.regimes if row.key == key), None)

    def notices_on(self, regime: str, day: dt.date) -> list[Notice]:
        """What is to be told of a set of rules on a day."""
        return [row for row in self.notices if row.regime == regime and row.holds(day)]

    def _of_taxon(self, rows: Sequence[T], names: Sequence[str], country: str, day: dt.date) -> Iterator[T]:
        return self._nearest([row for row in rows if row.names(names)], country, day)

    def _nearest(self, rows: Sequence[R], country: str, day: dt.date) -> Iterator[R]:
        for whose in self.jurisdictions(country, day):
            yield from (row for row in rows if row.jurisdiction == whose and row.holds(day))


def _meant(taxon: str, scope: str, name: str) -> bool:
    if EVERYWHERE in (taxon, name):
        return taxon == name
    wanted, words = _words(taxon), _words(name)
    if not words or words[0] != wanted[0]:
        return False
    if scope == "genus":
        return True
    if scope == "hybrids":
        return not _CROSS.isdisjoint(_signs(name))
    return words[:2] == wanted[:2]


def _words(name: str) -> list[str]:
    return [word for word in _signs(name) if word not in _CROSS]


def _signs(name: str) -> list[str]:
    return plain(name.replace("×", " × ")).split()
