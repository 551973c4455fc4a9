"""One paper in the making: what travels, to whom, whose seed is in it, and what only the person can say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Lot, Paper, SeedTest, Zone
from nursery.models.papers import PaperKind
from nursery.models.zones import ZoneKind
from nursery.services.ledger.shares import lot_origins
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.words import Purpose

#: The page that holds a field: its endpoint and what the address needs.
Link = tuple[str, Mapping[str, Any]]
#: What is said where no record holds a particular: the form of the paper asks it.
STATED = _l("Say it in the form below.")


@dataclass(frozen=True)
class Stated:
    """What no record holds, and the person who draws the paper up says."""

    purpose: Purpose | None = None
    is_provisional: bool = False
    is_genetically_modified: bool = False
    populus_class: str = ""
    #: Seed of the current harvest that goes to its first buyer.
    is_first_buyer: bool = False
    #: Number of packages, and what they are.
    packages: int | None = None
    package_type: str = ""


@dataclass(frozen=True)
class Particular:
    """A particular of a paper: what it says, or what is missing and where it is to be filled in."""

    field: str
    label: str
    value: str = ""
    missing: str = ""
    link: Link | None = None

    @property
    def is_missing(self) -> bool:
        """Whether the paper cannot be drawn up without it."""
        return not self.value


#: What a particular's function gives: its value, or nothing, why, and where.
Found = tuple[str, str, Link | None]


@dataclass(frozen=True)
class Case:
    """Everything that the particulars of one paper are read from; loaded before the first is asked."""

    kind: PaperKind
    consignment: Consignment
    #: None for a paper of all that travels.
    part: Part | None
    stated: Stated
    number: str
    #: Collected lots with their shares in the part's plants or seed, largest first.
    origins: tuple[tuple[Lot, float], ...] = ()
    #: Names of regions of provenance by code.
    regions: Mapping[str, str] = field(default_factory=dict)
    #: Accepted tests of the seed, newest first.
    tests: tuple[SeedTest, ...] = ()
    #: The supplier's document in force for the part: its labels bear its number.
    document: Paper | None = None

    @property
    def its_part(self) -> Part:
        """The part of a paper that has one."""
        if self.part is None:
            raise ValueError("this paper is of all that travels")
        return self.part


def given(value: object) -> Found:
    """A particular that is there."""
    return str(value), "", None


def wanting(missing: object, endpoint: str = "", **values: Any) -> Found:
    """A particular that is not, why, and the page that holds it."""
    return "", str(missing), (endpoint, values) if endpoint else None


def make_case(
    session: Session, kind: PaperKind, consignment: Consignment, part: Part | None, stated: Stated, *,
    number: str, document: Paper | None = None,
) -> Case:  # fmt: skip
    """Read what the particulars need, in a fixed number of queries."""
    if part is None:
        return Case(kind, consignment, None, stated, number)
    found = lot_origins(session, part.lots)
    shares: dict[Lot, float] = {}
    for lot, share in part.shares:
        for origin in found[lot.id]:
            shares[origin.lot] = shares.get(origin.lot, 0.0) + share * origin.share
    origins = tuple(sorted(shares.items(), key=lambda one: (-one[1], one[0].id)))
    return Case(
        kind, consignment, part, stated, number, origins, _regions(session, part, origins),
        _tests(session, part, origins) if consignment.goods == "seed" else (), document,
    )  # fmt: skip


def _regions(session: Session, part: Part, origins: tuple[tuple[Lot, float], ...]) -> dict[str, str]:
    codes = {lot.population.region_code for lot, _share in origins}
    rows = session.execute(
        select(Zone.code, Zone.name)
        .where(
            Zone.kind == ZoneKind.REGION, Zone.code.in_(codes), Zone.archived_at.is_(None), Zone.name != "",
            or_(Zone.species_id.is_(None), Zone.species_id == part.species.id),
        )
        .order_by(Zone.species_id.is_not(None), Zone.id)
    )  # fmt: skip
    return {row.code: row.name for row in rows}  # the species' own region is read last and stands


def _tests(session: Session, part: Part, origins: tuple[tuple[Lot, float], ...]) -> tuple[SeedTest, ...]:
    """Tests of the lot; a lot split off another has the tests of the one it came from."""
    lot_ids = {lot.id for lot in part.lots}
    if len(origins) == 1:
        lot_ids.add(origins[0][0].id)
    rows = session.scalars(
        select(SeedTest)
        .where(SeedTest.lot_id.in_(lot_ids), SeedTest.withdrawn_at.is_(None), SeedTest.is_accepted.is_(True))
        .order_by(SeedTest.tested_on.desc(), SeedTest.id.desc())
    )
    return tuple(rows)
