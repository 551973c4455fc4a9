"""Both ledgers as one list, narrowed to a lot, a species and days."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    ColumnElement,
    CompoundSelect,
    String,
    Subquery,
    and_,
    cast,
    func,
    literal,
    null,
    or_,
    select,
    union_all,
)
from sqlalchemy.orm import Session, aliased

from nursery.models import Batch, Lot, Movement, PlantMovement, ReturnedPlants, Species
from nursery.services.batches.origins import batch_lots
from nursery.services.dispatches.settling import loss_mark

#: The seed ledger and the plant ledger, in the order in which they stand on one day.
SEED, PLANTS = "seed", "plants"
#: What plants are measured in, beside the measures of seed.
PLANTS_MEASURE = "plants"


@dataclass(frozen=True)
class Asked:
    """What of the book is wanted; nothing narrows nothing."""

    lot_id: int | None = None
    species: str = ""
    first: dt.date | None = None
    last: dt.date | None = None


def ledger_rows(session: Session, asked: Asked) -> Subquery:
    """Rows of both ledgers; a reversal has the kind and act of what it took back beside its own.

    ``is_summed`` is false for what neither came nor left: mistakes and their corrections, whatever their days, and
    the two entries by which plants missing on the way are written back and lost (they left with their load).
    """
    rows: CompoundSelect[Any] = union_all(_seed(session, asked), _plants(session, asked))
    return rows.subquery("book")


def _seed(session: Session, asked: Asked) -> Any:
    undone, correction = aliased(Movement), aliased(Movement)
    where: list[ColumnElement[bool]] = list(_days(Movement, asked))
    if asked.lot_id is not None:
        where.append(Movement.lot_id == asked.lot_id)
    if asked.species:
        where.append(Lot.species_id == _species_id(session, asked.species))
    return (
        select(
            literal(SEED).label("source"), Movement.id.label("id"), Movement.happened_on.label("day"),
            Lot.species_id.label("species_id"), Movement.lot_id.label("lot_id"), null().label("batch_id"),
            _word(Movement.measure).label("measure"), _word(Movement.kind).label("kind"),
            _word(func.coalesce(undone.kind, Movement.kind)).label("of_kind"), Movement.change.label("change"),
            Movement.reason.label("reason"), Movement.person.label("person"), Movement.act.label("act"),
            Movement.other_lot_id.label("other_lot_id"), null().label("other_batch_id"), null().label("site_id"),
            Movement.act.label("of_act"), correction.id.is_not(None).label("is_corrected"),
            and_(Movement.reverses_id.is_(None), correction.id.is_(None)).label("is_summed"),
        )
        .join(Lot, Movement.lot_id == Lot.id)
        .outerjoin(undone, Movement.reverses_id == undone.id)
        .outerjoin(correction, correction.reverses_id == Movement.id)
        .where(*where)
    )  # fmt: skip


def _plants(session: Session, asked: Asked) -> Any:
    undone, correction = aliased(PlantMovement), aliased(PlantMovement)
    missing, lost = missing_acts(session)
    where: list[ColumnElement[bool]] = list(_days(PlantMovement, asked))
    if asked.lot_id is not None:
        merged = _merged_from(session, asked.lot_id)
        where.append(or_(Batch.lot_id == asked.lot_id, Batch.id.in_(merged)))
    if asked.species:
        where.append(Batch.species_id == _species_id(session, asked.species))
    return (
        select(
            literal(PLANTS).label("source"), PlantMovement.id.label("id"), PlantMovement.happened_on.label("day"),
            Batch.species_id.label("species_id"), Batch.lot_id.label("lot_id"),
            PlantMovement.batch_id.label("batch_id"), _word(literal(PLANTS_MEASURE)).label("measure"),
            _word(PlantMovement.kind).label("kind"),
            _word(func.coalesce(undone.kind, PlantMovement.kind)).label("of_kind"),
            PlantMovement.change.label("change"), PlantMovement.reason.label("reason"),
            PlantMovement.person.label("person"), PlantMovement.act.label("act"), null().label("other_lot_id"),
            PlantMovement.other_batch_id.label("other_batch_id"),
            func.coalesce(PlantMovement.site_id, undone.site_id).label("site_id"),
            func.coalesce(undone.act, PlantMovement.act).label("of_act"),
            correction.id.is_not(None).label("is_corrected"),
            and_(
                PlantMovement.reverses_id.is_(None), correction.id.is_(None),
                PlantMovement.act.not_in(missing | lost),
            ).label("is_summed"),
        )
        .join(Batch, PlantMovement.batch_id == Batch.id)
        .outerjoin(undone, PlantMovement.reverses_id == undone.id)
        .outerjoin(correction, correction.reverses_id == PlantMovement.id)
        .where(*where)
    )  # fmt: skip


def missing_acts(session: Session) -> tuple[set[str], set[str]]:
    """Acts by which plants missing on the way are written back, and those by which they are lost then."""
    query = select(ReturnedPlants.act).where(ReturnedPlants.is_missing, ReturnedPlants.act != "")
    acts = set(session.scalars(query))
    return acts, {loss_mark(act) for act in acts}


def _word(column: Any) -> Any:
    """A coded word as text: the words of two ledgers stand in one column."""
    return cast(column, String(20))


def _days(model: type[Movement] | type[PlantMovement], asked: Asked) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if asked.first is not None:
        found.append(model.happened_on >= asked.first)
    if asked.last is not None:
        found.append(model.happened_on <= asked.last)
    return found


def _species_id(session: Session, key: str) -> int:
    return session.scalar(select(Species.id).where(Species.key == key)) or 0


def _merged_from(session: Session, lot_id: int) -> list[int]:
    """Batches of several lots that have plants of this one."""
    merged = session.scalars(select(Batch.id).where(Batch.lot_id.is_(None))).all()
    return [batch_id for batch_id, lots in batch_lots(session, merged).items() if lot_id in lots]
