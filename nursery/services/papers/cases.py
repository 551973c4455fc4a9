"""One paper in the making: what travels, to whom, whose seed is in it, and what only the person can say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from nursery.i18n import lazy as _l
from nursery.models import Lot, Paper, QualityCheck, SeedTest
from nursery.models.papers import PaperKind
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.sources import Sources
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
    #: Of a passport: organisms of the protected zone it goes into, and the passport that it replaces.
    protected_zone: str = ""
    replaces: str = ""


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
    #: The latest look at the quality of each batch.
    checks: Mapping[int, QualityCheck] = field(default_factory=dict)

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
    kind: PaperKind, consignment: Consignment, part: Part | None, stated: Stated, sources: Sources, *, number: str
) -> Case:
    """A paper of one part, or of all that travels."""
    if part is None:
        return Case(kind, consignment, None, stated, number)
    return Case(
        kind, consignment, part, stated, number, sources.origins_of(part), sources.regions_of(part),
        sources.tests_of(part), sources.document_of(part), sources.checks,
    )  # fmt: skip
