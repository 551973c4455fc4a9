"""Counter-movements of an act, and what it wrote beside the ledger put back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import Date, Enum, inspect, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Batch, Change, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.services import records
from nursery.services.batches.dispatching import dispatched_to
from nursery.services.batches.moving import alter, move, new_act, whole_act
from nursery.services.batches.placing import fit_places
from nursery.services.batches.settling import settle, settlements, standing_counts
from nursery.services.batches.teaching import teach_again

#: These are put back by as much as the act changed them, or follow from what else is put back.
_BY_AMOUNT = {"version", "alive", "seeds", "trays"}


def counter_act(session: Session, actor: str, *, act: str, reason: str, today: dt.date) -> list[PlantMovement]:
    """The counter-movements alone; what the act wrote beside the ledger is put back."""
    rows = session.scalars(select(PlantMovement).where(PlantMovement.act == act).order_by(PlantMovement.id)).all()
    if not rows:
        raise NotFound(_("There is no such movement."))
    if any(row.kind is PlantMovementKind.REVERSAL for row in rows):
        raise Invalid(
            {"reason": _("What took a movement back is not taken back itself. Write the act down again.")}
        )
    # A count's act may have been written anew in part (see `settling`).
    gone = set(
        session.scalars(
            select(PlantMovement.reverses_id).where(PlantMovement.reverses_id.in_([row.id for row in rows]))
        )
    )
    rows = [row for row in rows if row.id not in gone]
    if not rows:
        raise Conflict(_("This has been taken back already."))
    if today < max(row.happened_on for row in rows):
        raise Invalid({"reason": _("It happened on a later day than today. Check the date of this machine.")})
    batches = {
        batch.id: batch
        for batch in session.scalars(select(Batch).where(Batch.id.in_({row.batch_id for row in rows})))
    }
    counter = new_act()
    settled = settlements(session, rows, batches)
    with whole_act(session, batches.values()):
        for one in settled:
            if one.change < 0:  # they need not be alive now
                settle(session, actor, batch=one.batch, count=one.count, change=one.change)
        done = [
            move(
                session, actor, batch=batches[row.batch_id], kind=PlantMovementKind.REVERSAL, change=-row.change,
                cause=row.cause, reason=reason, happened_on=today, act=counter,
                other_batch=batches.get(row.other_batch_id or 0), site_id=row.site_id, target_id=row.target_id,
                reverses=row,
            )
            for row in sorted(rows, key=lambda row: -row.change)
        ]  # fmt: skip
        for one in settled:
            if one.change > 0:
                settle(session, actor, batch=one.batch, count=one.count, change=one.change)
            teach_again(session, actor, one.batch, one.count, standing_counts(session, one.batch), today)
        _refuse_returned(session, rows, batches.values())
        # Trays of a batch that was counted since are those that the count found.
        counted = {one.batch.id for one in settled}
        open_ = {key: batch for key, batch in batches.items() if key not in counted}
        _put_back(session, actor, open_, act, counter, today)
        for batch in batches.values():
            if _was_made(rows, batch) and not batch.alive:
                _empty(session, actor, batch, batches, rows, counter, today)
    return done


def _refuse_returned(session: Session, rows: Sequence[PlantMovement], batches: Iterable[Batch]) -> None:
    """A dispatch whose plants have come back is not taken back as well."""
    if not any(row.kind is PlantMovementKind.DISPATCHED for row in rows):
        return
    for batch in batches:
        if any(plants < 0 for plants in dispatched_to(session, batch).values()):
            raise Invalid(
                {
                    "reason": _(
                        "Plants of this dispatch have come back already. Take that back first.",
                    )
                }
            )


def _put_back(
    session: Session, actor: str, batches: dict[int, Batch], act: str, counter: str, today: dt.date
) -> None:
    changes = session.scalars(
        select(Change)
        .where(Change.subject == Batch.__tablename__, Change.subject_id.in_(list(batches)))
        .order_by(Change.id.desc())
    )
    for change in changes:
        if change.details.get("act") != act:
            continue
        batch = batches[change.subject_id]
        values = {
            field: _value(field, pair[0])
            for field, pair in change.details.items()
            if isinstance(pair, list) and field not in _BY_AMOUNT
            and getattr(batch, field) == _value(field, pair[1])
        }  # fmt: skip
        if "trays" in change.details:  # others may have come or gone since
            before, after = change.details["trays"]
            values["trays"] = max(batch.trays + before - after, 0)
        alter(session, actor, batch, values, act=counter)
        fit_places(session, actor, batch, today)


def _empty(
    session: Session, actor: str, batch: Batch, batches: Mapping[int, Batch], rows: Sequence[PlantMovement],
    counter: str, today: dt.date,
) -> None:  # fmt: skip
    """Put aside a batch that the act had made; the seed sown goes back to the one it was split from."""
    source = next((batches[row.batch_id] for row in rows if row.other_batch_id == batch.id), None)
    if source is not None and batch.seeds:
        alter(session, actor, source, {"seeds": source.seeds + batch.seeds}, act=counter)
    alter(session, actor, batch, {"trays": 0, "seeds": 0}, act=counter)
    fit_places(session, actor, batch, today)
    records.archive(session, actor, batch)


def _value(field: str, plain: Any) -> Any:
    """A column's value as it was before it was written down as JSON."""
    if plain is None:
        return None
    kind = inspect(Batch).columns[field].type
    if isinstance(kind, Date):
        return dt.date.fromisoformat(plain)
    if isinstance(kind, Enum) and kind.enum_class is not None:
        return kind.enum_class(plain)
    return plain


def _was_made(rows: Sequence[PlantMovement], batch: Batch) -> bool:
    return any(
        row.batch_id == batch.id
        and row.change > 0
        and row.kind in {PlantMovementKind.SPLIT, PlantMovementKind.MERGED}
        for row in rows
    )
