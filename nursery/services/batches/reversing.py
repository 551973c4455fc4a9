"""Taking an act back: each of its movements gets its counter-movement, and both stay visible."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, aliased

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, Change, Count, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.services.batches.countering import counter_act
from nursery.services.batches.settling import Settlement, next_count, settlements, written_at
from nursery.services.batches.withdrawing import later_count, set_aside
from nursery.services.ledger.moving import lock_in_order
from nursery.services.work.following import note_batch


def reverse_act(session: Session, actor: str, *, act: str, reason: str, today: dt.date) -> list[PlantMovement]:
    """Take every movement of an act back together, or refuse and change nothing.

    Trays, container and stage that the act had changed come back too where nobody changed them since; a count
    that made the act is withdrawn with it; a batch that the act had made is put aside once it is empty. Where a
    batch was counted since, its plants and trays stay as that count found them (see `settling`).

    Raises
    ------
    Invalid
        Without a reason, or at ``plants`` where plants that came by the act have left since.
    Conflict
        For what is taken back already, for a count after which the batch was counted again, and for what parted,
        joined or potted batches that were counted since.
    NotFound
        Where there is no such act.
    """
    if not reason.strip():
        raise Invalid({"reason": _("Write down why this is taken back.")})
    moved = select(PlantMovement.batch_id).where(PlantMovement.act == act).distinct()
    lock_in_order(session, Batch, session.scalars(moved))
    counts = session.scalars(select(Count).where(Count.act == act, Count.withdrawn_at.is_(None))).all()
    for count in counts:
        _refuse_counted_again(session, count)
    _refuse_parted(session, act)
    done = counter_act(session, actor, act=act, reason=reason.strip(), today=today)
    for count in counts:
        set_aside(session, actor, count, reason.strip())
    for batch in {moved.batch_id: moved.batch for moved in done}.values():
        note_batch(session, actor, batch=batch, today=today)
    return done


def _refuse_counted_again(session: Session, count: Count) -> None:
    """Plants that a later count found are there, whatever an earlier one said."""
    later = later_count(session, count)
    if later is None:
        return
    raise Conflict(
        _(
            "%(batch)s was counted again on %(day)s, and that count says how many plants there are. Withdraw this"
            " one in the list of counts: the plants stay.",
            batch=count.batch.code,
            day=format_date(later.counted_on),
        )
    )


def foreseen(session: Session, act: str) -> list[Settlement]:
    """The counts at which taking an act back will be settled, for the page to say before anybody confirms."""
    rows = _standing(session, act)
    return settlements(session, rows, {row.batch_id: row.batch for row in rows})


def _standing(session: Session, act: str) -> Sequence[PlantMovement]:
    undo = aliased(PlantMovement)
    return session.scalars(
        select(PlantMovement)
        .outerjoin(undo, undo.reverses_id == PlantMovement.id)
        .where(PlantMovement.act == act, undo.id.is_(None), PlantMovement.kind != PlantMovementKind.REVERSAL)
        .order_by(PlantMovement.id)
    ).all()


def _refuse_parted(session: Session, act: str) -> None:
    """Which plants stand in which batch, and in what, is as the later count found it."""
    rows = _standing(session, act)
    batches = {row.batch_id: row.batch for row in rows}
    parted = {row.batch_id for row in rows if row.kind in {PlantMovementKind.SPLIT, PlantMovementKind.MERGED}}
    for batch_id, batch in batches.items():
        own = [row for row in rows if row.batch_id == batch_id]
        potted = _pottings(session, batch_id)
        at = written_at(session, own)
        count = next_count(session, batch, own[0].happened_on, at)
        if count is not None and (batch_id in parted or act in potted):
            raise Conflict(
                _(
                    "%(batch)s was counted on %(day)s, as it stood after this. If batches are to be brought"
                    " together or parted again, merge or split them; if it never happened, withdraw that count"
                    " first.",
                    batch=batch.code,
                    day=format_date(count.counted_on),
                )
            )
        if any(mark != act and when > at for mark, when in potted.items()):
            raise Conflict(
                _(
                    "%(batch)s was pricked out since, and its plants were counted at that. Count it again if their"
                    " number is wrong.",
                    batch=batch.code,
                )
            )


def _pottings(session: Session, batch_id: int) -> dict[str, dt.datetime]:
    """When the batch was pricked out, by the mark of the act, where that was not taken back."""
    changes = session.scalars(
        select(Change)
        .where(Change.subject == Batch.__tablename__, Change.subject_id == batch_id, Change.action == "changed")
        .order_by(Change.id)
    )
    found: dict[str, dt.datetime] = {}
    for change in changes:
        before, after = change.details.get("cells_per_tray") or (None, None)
        if before is None and after is not None:
            found[change.details.get("act", "")] = change.at
        elif after is None and before is not None:
            found.clear()
    return found
