"""The one place where the number of a batch's plants changes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import set_committed_value
from sqlalchemy.orm.exc import StaleDataError

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause
from nursery.services import auditing
from nursery.services.batches.words import plants_text
from nursery.services.ledger.moving import lock_in_order, new_act

__all__ = ["MOST", "alive_now", "alter", "check_act", "move", "new_act", "whole_act"]

#: No batch holds more than this; more is a slip of the keys.
MOST = 10_000_000


def alive_now(session: Session, batch: Batch) -> int:
    """Plants in the database, which nobody else can change until this transaction ends."""
    session.flush()
    row = select(Batch.alive, Batch.version).where(Batch.id == batch.id).with_for_update(key_share=True)
    _take_over(session, batch, *session.execute(row).one())
    return batch.alive


def _take_over(session: Session, batch: Batch, alive: int, version: int) -> None:
    """Know the batch as the database has it, whose row is this transaction's own from now on."""
    if version == batch.version:
        set_committed_value(batch, "alive", alive)
    else:  # somebody else's act came in between
        session.refresh(batch)


@contextmanager
def whole_act(session: Session, batches: Iterable[Batch]) -> Iterator[None]:
    """Several writes together: where one is refused, none is made, and the batches read as before."""
    kept = list(batches)
    lock_in_order(session, Batch, [batch.id for batch in kept])
    try:
        with session.begin_nested():
            yield
    except BaseException:
        for batch in kept:
            session.expire(batch)
        raise


def move(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    kind: PlantMovementKind,
    change: int,
    cause: Cause | None = None,
    reason: str = "",
    happened_on: dt.date,
    act: str = "",
    other_batch: Batch | None = None,
    site_id: int | None = None,
    target_id: int | None = None,
    reverses: PlantMovement | None = None,
) -> PlantMovement:
    """Add a movement and change the plants alive by it, in one statement that cannot take them below zero.

    The caller has checked the day.

    Raises
    ------
    Invalid
        At ``plants``, when fewer are alive than would leave, or more would come than any batch holds.
    """
    session.flush()
    found = session.execute(
        update(Batch)
        .where(Batch.id == batch.id, (Batch.alive + change).between(0, MOST))
        .values(alive=Batch.alive + change)
        .returning(Batch.alive, Batch.version)
        .execution_options(synchronize_session=False)
    ).one_or_none()
    if found is None:
        raise Invalid({"plants": _refusal(session, batch, change)})
    after = found.alive
    _take_over(session, batch, after, found.version)
    movement = PlantMovement(
        batch_id=batch.id,
        kind=kind,
        change=change,
        cause=cause,
        reason=reason.strip(),
        person=actor,
        happened_on=happened_on,
        act=act or new_act(),
        other_batch_id=other_batch.id if other_batch else None,
        site_id=site_id,
        target_id=target_id,
        reverses_id=reverses.id if reverses else None,
    )
    session.add(movement)
    auditing.record(session, actor, action="moved", row=batch, details={"alive": [after - change, after]})
    session.flush()
    return movement


def _refusal(session: Session, batch: Batch, change: int) -> str:
    if change > 0:
        return _("A batch holds at most %(most)s. Check the number.", most=plants_text(MOST))
    return _(
        "%(batch)s has %(alive)s alive; %(asked)s cannot leave it. Give fewer, or count the batch first.",
        batch=batch.code,
        alive=plants_text(alive_now(session, batch)),
        asked=plants_text(-change),
    )


def alter(session: Session, actor: str, batch: Batch, values: Mapping[str, Any], *, act: str = "") -> None:
    """Change what a batch is written down as, as part of an act; taking the act back finds it by its mark."""
    for field, value in values.items():
        if getattr(batch, field) != value:
            setattr(batch, field, value)
    details: dict[str, Any] = dict(auditing.changed_fields(batch))
    if not details:
        return
    if act:
        details["act"] = act
    try:
        auditing.record(session, actor, action="changed", row=batch, details=details)
    except StaleDataError as stale:
        raise Conflict(
            _("Somebody else changed this batch while you were typing. Nothing was overwritten.")
        ) from stale


def check_act(
    batch: Batch, *, happened_on: dt.date, today: dt.date, plants: int | None = None, field: str = "happened_on"
) -> None:
    """Refuse a day before sowing or after today, and a number of plants that is none."""
    refused = {}
    if happened_on > today:
        refused[field] = _("The day lies in the future. Write it down once it has happened.")
    elif happened_on < batch.sown_on:
        refused[field] = _(
            "%(batch)s was sown on %(day)s; nothing happened to it before. Correct the day.",
            batch=batch.code,
            day=format_date(batch.sown_on),
        )
    if plants is not None and plants <= 0:
        refused["plants"] = _("Give a number of plants above zero.")
    if refused:
        raise Invalid(refused)
