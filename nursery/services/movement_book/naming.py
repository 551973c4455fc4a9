"""Names for the rows of the movement book, read for a page at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import (
    Batch,
    Dispatch,
    DispatchLine,
    Lot,
    Paper,
    PlantMovement,
    Population,
    Recipient,
    Site,
    Species,
)
from nursery.models.batches import PlantMovementKind
from nursery.models.movements import MovementKind
from nursery.planning.growing.words import Cause
from nursery.services.batches.origins import batch_lots
from nursery.services.dispatches.settling import loss_mark
from nursery.services.movement_book.asking import PLANTS, SEED, missing_acts

#: Seed came in by these.
_CAME = {MovementKind.OPENING.value, MovementKind.COLLECTED.value}


@dataclass(frozen=True)
class _Lot:
    code: str
    source: str
    is_received: bool


@dataclass(frozen=True)
class Names:
    """Whatever rows refer to, by id or act."""

    species: Mapping[int, str]
    lots: Mapping[int, _Lot]
    batches: Mapping[int, str]
    of_batch: Mapping[int, tuple[int, ...]]
    sites: Mapping[int, str]
    #: Load and recipient by the act of the plant ledger.
    loads: Mapping[str, tuple[str, str]]
    sown: Mapping[str, str]
    papers: Mapping[str, str]
    #: Acts by which plants that never came to their site left it again, in the ledger alone, and of their loss.
    missing: frozenset[str]
    lost: frozenset[str]

    def lots_of(self, row: Any) -> tuple[tuple[int, str], ...]:
        """The lots of a row."""
        ids = self.of_batch.get(row.batch_id, ()) if row.lot_id is None else (row.lot_id,)
        return tuple((lot_id, self.lots[lot_id].code) for lot_id in ids)

    def batch_of(self, row: Any) -> tuple[int, str] | None:
        """The batch of a row of plants."""
        return (row.batch_id, self.batches[row.batch_id]) if row.batch_id is not None else None

    def is_received(self, row: Any) -> bool:
        """Whether the row is the coming in of seed that somebody else supplied."""
        return row.source == SEED and str(row.of_kind) in _CAME and self.lots[row.lot_id].is_received

    def is_missing(self, row: Any) -> bool:
        """Whether the row writes back plants that were missing when a load was taken over, and never came back."""
        return row.source == PLANTS and row.of_act in self.missing

    def is_lost(self, row: Any) -> bool:
        """Whether the row has them as lost then."""
        return row.source == PLANTS and row.of_act in self.lost

    def partner(self, row: Any) -> str:
        """The other side of a row."""
        if row.source == SEED:
            return self._seed_partner(row)
        if row.other_batch_id is not None:
            return self.batches.get(row.other_batch_id, "")
        load, recipient = self.loads.get(row.act, ("", ""))
        site = self.sites.get(row.site_id, "") if row.site_id is not None else ""
        return ", ".join(filter(None, [recipient, site, load]))

    def _seed_partner(self, row: Any) -> str:
        if row.other_lot_id is not None:
            return self.lots[row.other_lot_id].code
        if str(row.of_kind) == MovementKind.GIVEN.value:
            return str(row.reason)
        if str(row.of_kind) in _CAME:
            return self.lots[row.lot_id].source
        return self.sown.get(row.act, "")

    def papers_of(self, row: Any) -> str:
        """Numbers of papers that name the act or the load."""
        return self.papers.get(row.act, "")


def read_names(session: Session, rows: Sequence[Any]) -> Names:
    """A fixed number of queries for any number of rows."""
    batches = {row.batch_id for row in rows if row.batch_id is not None}
    batches |= {row.other_batch_id for row in rows if row.other_batch_id is not None}
    merged = {row.batch_id for row in rows if row.batch_id is not None and row.lot_id is None}
    of_batch = {batch_id: tuple(sorted(shares)) for batch_id, shares in batch_lots(session, merged).items()}
    lots = {row.lot_id for row in rows if row.lot_id is not None} | {row.other_lot_id for row in rows}
    lots |= {lot_id for ids in of_batch.values() for lot_id in ids}
    acts = {row.act for row in rows}
    loads, papers = _loads(session, acts)
    missing, lost = missing_acts(session)
    undone = _missing_once(session, rows)
    return Names(
        species=_by_id(session, Species.id, Species.scientific_name, {row.species_id for row in rows}),
        lots=_lots(session, lots - {None}),
        batches=_by_id(session, Batch.id, Batch.code, batches),
        of_batch=of_batch,
        sites=_by_id(session, Site.id, Site.name, {row.site_id for row in rows if row.site_id is not None}),
        loads=loads,
        sown=_by_id(session, Batch.seed_act, Batch.code, acts - {""}),
        papers=papers,
        missing=frozenset(missing | undone.keys()),
        lost=frozenset(lost | set(undone.values())),
    )  # fmt: skip


def _missing_once(session: Session, rows: Sequence[Any]) -> dict[str, str]:
    """Acts of missing plants whose receipt was taken back, with those of their loss: only the ledger has them."""
    marks = {loss_mark(row.of_act): row.of_act for row in rows if row.of_kind == PlantMovementKind.RETURNED.value}
    found = session.scalars(
        select(PlantMovement.act).where(
            PlantMovement.act.in_(marks), PlantMovement.kind == PlantMovementKind.LOST,
            PlantMovement.cause == Cause.HANDLING,
        )
    )  # fmt: skip
    return {marks[mark]: mark for mark in found}


def _by_id(session: Session, key: Any, name: Any, ids: set[Any]) -> dict[Any, str]:
    return dict(session.execute(select(key, name).where(key.in_(ids))).all())


def _lots(session: Session, ids: set[int]) -> dict[int, _Lot]:
    rows = session.execute(
        select(Lot.id, Lot.code, Lot.is_received, Lot.supplier_document, Population.code, Population.name)
        .join(Population, Lot.population_id == Population.id)
        .where(Lot.id.in_(ids))
    )
    return {
        lot_id: _Lot(code, document if received else f"{population}, {name}", received)
        for lot_id, code, received, document, population, name in rows
    }


def _loads(session: Session, acts: set[str]) -> tuple[dict[str, tuple[str, str]], dict[str, str]]:
    """Load and recipient of each act of dispatch, and papers of acts and of those loads."""
    rows = session.execute(
        select(DispatchLine.act, Dispatch.id, Dispatch.code, Recipient.name)
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .outerjoin(Recipient, Dispatch.recipient_id == Recipient.id)
        .where(DispatchLine.act.in_(acts - {""}))
    ).all()
    loads = {act: (code, name or "") for act, _id, code, name in rows}
    acts_of: dict[int, list[str]] = {}
    for act, dispatch_id, _code, _name in rows:
        acts_of.setdefault(dispatch_id, []).append(act)
    numbers: dict[str, list[str]] = {}
    papers = session.execute(
        select(Paper.number, Paper.act, Paper.dispatch_id)
        .where(Paper.voided_at.is_(None), Paper.act.in_(acts - {""}) | Paper.dispatch_id.in_(acts_of))
        .order_by(Paper.id)
    )
    for number, own_act, of_load in papers:
        for one in [own_act] if own_act else acts_of.get(of_load or 0, []):
            numbers.setdefault(one, []).append(number)
    return loads, {act: ", ".join(found) for act, found in numbers.items()}
