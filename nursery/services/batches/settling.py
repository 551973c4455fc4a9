"""A standing count says how many plants there were: what is written of days before it is settled at that count.

Plants that come back by taking a loss or a dispatch back, and plants that left unnoticed before a count, do not
change what was found: the difference that the count wrote down changes by as much the other way.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, and_, func, or_, select
from sqlalchemy.orm import Session, aliased

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, Count, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause
from nursery.services.batches.moving import move, new_act
from nursery.services.batches.teaching import teach_again
from nursery.services.batches.words import plants_text


@dataclass(frozen=True, slots=True)
class Settlement:
    """The plants of a batch change by so many on a day before a standing count."""

    batch: Batch
    count: Count
    change: int
    #: What the count finds more than was known (below zero: fewer) once that is written.
    difference: int


def standing_counts(session: Session, batch: Batch) -> list[Count]:
    """Counts that were not withdrawn, the oldest first."""
    query = (
        select(Count)
        .where(Count.batch_id == batch.id, Count.withdrawn_at.is_(None))
        .order_by(Count.counted_on, Count.id)
    )
    return list(session.scalars(query))


def next_count(session: Session, batch: Batch, day: dt.date, at: dt.datetime | None = None) -> Count | None:
    """The first standing count after a day, or after a moment ``at`` of that day."""
    later: ColumnElement[bool] = Count.counted_on > day
    if at is not None:
        later = or_(later, and_(Count.counted_on == day, Count.at > at))
    return session.scalar(
        select(Count)
        .where(Count.batch_id == batch.id, Count.withdrawn_at.is_(None), later)
        .order_by(Count.counted_on, Count.id)
        .limit(1)
    )


def settlements(session: Session, rows: Sequence[PlantMovement], batches: Mapping[int, Batch]) -> list[Settlement]:
    """What taking these movements of one act back would change of days before standing counts, batch by batch."""
    found = []
    for batch in batches.values():
        own = [row for row in rows if row.batch_id == batch.id]
        change = -sum(row.change for row in own)
        count = next_count(session, batch, own[0].happened_on, written_at(session, own)) if change else None
        if count is not None and count.act != own[0].act:
            found.append(Settlement(batch, count, change, difference_after(session, batch, count, change)))
    return found


def written_at(session: Session, rows: Sequence[PlantMovement]) -> dt.datetime:
    """Since when the movements of one act are known; what was settled at a count is as old as the count."""
    counted = session.scalar(select(Count.at).where(Count.act == rows[0].act))
    return counted if counted is not None else min(row.at for row in rows)


def since(session: Session, batch: Batch, day: dt.date) -> int:
    """What movements of later days came to; what took one back belongs to the day of that one."""
    undone = aliased(PlantMovement)
    happened_on = func.coalesce(undone.happened_on, PlantMovement.happened_on)
    total = session.scalar(
        select(func.sum(PlantMovement.change))
        .outerjoin(undone, PlantMovement.reverses_id == undone.id)
        .where(PlantMovement.batch_id == batch.id, happened_on > day)
    )
    return int(total or 0)


def written_by(session: Session, batch: Batch, count: Count) -> Sequence[PlantMovement]:
    """Movements that stand by which a count brought the ledger to what was found."""
    if not count.act:
        return []
    undo = aliased(PlantMovement)
    return session.scalars(
        select(PlantMovement)
        .outerjoin(undo, undo.reverses_id == PlantMovement.id)
        .where(
            PlantMovement.act == count.act, PlantMovement.batch_id == batch.id, undo.id.is_(None),
            PlantMovement.kind != PlantMovementKind.REVERSAL,
        )
        .order_by(PlantMovement.id)
    ).all()  # fmt: skip


def difference_after(session: Session, batch: Batch, count: Count, change: int) -> int:
    """What a count would find more (or, below zero, fewer) once ``change`` is written of a day before it."""
    return sum(row.change for row in written_by(session, batch, count)) - change


def move_on_day(
    session: Session, actor: str, *, batch: Batch, change: int, happened_on: dt.date, today: dt.date, **rest: Any
) -> PlantMovement:
    """As `move`, settled at the next standing count where the day lies before it.

    Raises
    ------
    Invalid
        At ``plants`` also for more than the batch was thought to hold before that count.
    """
    count = next_count(session, batch, happened_on)
    if count is not None and change < 0:  # so many need not be alive now
        settle(session, actor, batch=batch, count=count, change=change)
    moved = move(session, actor, batch=batch, change=change, happened_on=happened_on, **rest)
    if count is not None and change > 0:
        settle(session, actor, batch=batch, count=count, change=change)
    if count is not None:
        teach_again(session, actor, batch, count, standing_counts(session, batch), today)
    return moved


def refuse_before_count(session: Session, batch: Batch, happened_on: dt.date) -> None:
    """A count found all that stood in the batch: what parts or joins batches is not written of a day before it."""
    count = next_count(session, batch, happened_on)
    if count is not None:
        raise Invalid(
            {
                "happened_on": _(
                    "%(batch)s was counted on %(day)s, with all that stood in it then. Give that day or a later"
                    " one, or withdraw that count first.",
                    batch=batch.code,
                    day=format_date(count.counted_on),
                )
            }
        )


def settle(session: Session, actor: str, *, batch: Batch, count: Count, change: int) -> None:
    """Let ``count`` find what it found although ``change`` is written of a day before it.

    Its own movement is left where the difference goes the same way, and else written anew: nothing is both found
    and missing at one count.
    """
    rows = written_by(session, batch, count)
    found = sum(row.change for row in rows)
    if count.plants - found + change < 0:
        raise Invalid(
            {
                "plants": _(
                    "Before the count of %(day)s, %(batch)s was thought to hold %(before)s; %(asked)s cannot have"
                    " left it. Check the number and the day.",
                    day=format_date(count.counted_on),
                    batch=batch.code,
                    before=plants_text(count.plants - found),
                    asked=plants_text(-change),
                )
            }
        )
    if not count.act:
        count.act = new_act()
    day = format_date(count.counted_on)
    anew = found * change > 0
    wanted = found - change if anew else -change
    steps: list[tuple[int, PlantMovement | None]] = [(-row.change, row) for row in rows] if anew else []
    if wanted:
        steps.append((wanted, None))
    countering = new_act()
    for amount, row in sorted(steps, key=lambda step: -step[0]):
        circumstances: dict[str, Any]
        if row is not None:
            circumstances = {
                "kind": PlantMovementKind.REVERSAL, "cause": row.cause, "happened_on": row.happened_on,
                "reverses": row, "act": countering, "reason": _("Reckoned anew at the count of %(day)s", day=day),
            }  # fmt: skip
        elif amount > 0:
            circumstances = {
                "kind": PlantMovementKind.COUNTED, "happened_on": count.counted_on, "act": count.act,
                "reason": _("Found at the count of %(day)s", day=day),
            }  # fmt: skip
        else:
            known = next((row.cause for row in rows if row.cause is not None), None)
            circumstances = {
                "kind": PlantMovementKind.LOST, "cause": known or Cause.UNKNOWN, "happened_on": count.counted_on,
                "act": count.act, "reason": _("Not found at the count of %(day)s", day=day),
            }  # fmt: skip
        move(session, actor, batch=batch, change=amount, **circumstances)
    session.flush()
