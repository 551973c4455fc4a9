"""Everything that the papers of a consignment are read from, in a fixed number of queries whatever travels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot, Paper, QualityCheck, SeedTest, Zone
from nursery.models.papers import PaperKind
from nursery.models.zones import ZoneKind
from nursery.services.ledger.shares import OriginShare, lot_origins
from nursery.services.papers.applying import drawn_keys
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.floor import latest_checks
from nursery.services.papers.truth import untrue
from nursery.services.papers.words import DOCUMENTS


@dataclass(frozen=True)
class Sources:
    """Origins of the lots, names of their regions, tests of seed, looks at quality and papers drawn up before."""

    origins: Mapping[int, Sequence[OriginShare]]
    #: Code, species (None for all) and name; those of a species come last.
    zones: Sequence[tuple[str, int | None, str]]
    tests: Sequence[SeedTest]
    checks: Mapping[int, QualityCheck]
    drawn: Mapping[tuple[PaperKind, str], Paper]
    #: Why papers drawn up are true no longer, by id.
    untrue: Mapping[int, str]

    def origins_of(self, part: Part) -> tuple[tuple[Lot, float], ...]:
        """Collected lots with their shares in a part, largest first."""
        shares: dict[Lot, float] = {}
        for lot, share in part.shares:
            for origin in self.origins[lot.id]:
                shares[origin.lot] = shares.get(origin.lot, 0.0) + share * origin.share
        return tuple(sorted(shares.items(), key=lambda one: (-one[1], one[0].id)))

    def regions_of(self, part: Part) -> dict[str, str]:
        """Names of regions of provenance by code; the species' own stand before those of all."""
        return {code: name for code, species_id, name in self.zones if species_id in (None, part.species.id)}

    def tests_of(self, part: Part) -> tuple[SeedTest, ...]:
        """Accepted tests, newest first; a lot split off another has the tests of the one it came from."""
        lot_ids = {lot.id for lot in part.lots}
        origins = self.origins_of(part)
        if len(origins) == 1:
            lot_ids.add(origins[0][0].id)
        return tuple(test for test in self.tests if test.lot_id in lot_ids)

    def document_of(self, part: Part | None) -> Paper | None:
        """The supplier's document in force for a part."""
        key = part.key if part else ""
        return next(
            (
                paper
                for (kind, of), paper in self.drawn.items()
                if kind in DOCUMENTS and of == key and paper.id not in self.untrue
            ),
            None,
        )


def read_sources(session: Session, consignment: Consignment) -> Sources:
    """Read it all at once."""
    lots = list({lot.id: lot for part in consignment.parts for lot in part.lots}.values())
    origins = lot_origins(session, lots) if lots else {}
    collected = {origin.lot for shares in origins.values() for origin in shares}
    codes = {lot.population.region_code for lot in collected}
    zones = session.execute(
        select(Zone.code, Zone.species_id, Zone.name)
        .where(Zone.kind == ZoneKind.REGION, Zone.code.in_(codes), Zone.archived_at.is_(None), Zone.name != "")
        .order_by(Zone.species_id.is_not(None), Zone.id)
    )
    load = consignment.dispatch
    drawn = drawn_keys(session, dispatch_id=load.id if load else None, act=consignment.act)
    numbers, own = {paper.number for paper in drawn.values()}, consignment.preferences
    doubts = {paper.id: untrue(paper, consignment, numbers, own) for paper in drawn.values()}
    return Sources(
        origins=origins,
        zones=[(row.code, row.species_id, row.name) for row in zones],
        tests=_tests(session, {lot.id for lot in (*lots, *collected)}) if consignment.goods == "seed" else (),
        checks=latest_checks(session, [line.batch_id for part in consignment.parts for line in part.lines]),
        drawn=drawn,
        untrue={paper_id: told for paper_id, told in doubts.items() if told},
    )


def _tests(session: Session, lot_ids: set[int]) -> Sequence[SeedTest]:
    return session.scalars(
        select(SeedTest)
        .where(SeedTest.lot_id.in_(lot_ids), SeedTest.withdrawn_at.is_(None), SeedTest.is_accepted.is_(True))
        .order_by(SeedTest.tested_on.desc(), SeedTest.id.desc())
    ).all()
