"""Shutting a batch or a bench off, and letting it out again: a person says why, both times."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, joinedload

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, Bench, Placement, Quarantine, Scouting
from nursery.models.types import utc_now
from nursery.services import auditing, records
from nursery.services.health.texts import words

#: SQLite takes so many values in one statement, and more.
_AT_ONCE = 500


def quarantine(
    session: Session,
    actor: str,
    *,
    reason: str,
    since: dt.date,
    today: dt.date,
    batch_id: int | None = None,
    bench_id: int | None = None,
    scouting_id: int | None = None,
) -> Quarantine:
    """Shut a batch, or a bench with all that stands on it, off: nothing leaves until it is lifted.

    Raises
    ------
    Invalid
        Where not exactly one of batch and bench is named, without a reason, or for a day to come.
    Conflict
        For what is in quarantine already.
    """
    if (batch_id is None) == (bench_id is None):
        raise Invalid({"batch_id": _("Name either a batch or a bench.")})
    reason = words("reason", reason, missing=_("Say why it is shut off: what was seen, or what is feared."))
    place: Batch | Bench = (
        records.get(session, Batch, batch_id)
        if batch_id is not None
        else records.get(session, Bench, bench_id or 0)
    )
    if since > today:
        raise Invalid(
            {"since": _("%(day)s is still to come. Quarantine begins today or earlier.", day=format_date(since))}
        )
    if scouting_id is not None:
        records.get(session, Scouting, scouting_id)
    standing = session.scalar(
        _standing().where(
            Quarantine.batch_id == batch_id if batch_id is not None else Quarantine.bench_id == bench_id
        )
    )
    if standing is not None:
        raise Conflict(
            _(
                "%(place)s has been in quarantine since %(day)s (%(reason)s). Nothing was changed.",
                place=place_name(standing),
                day=format_date(standing.since),
                reason=standing.reason,
            )
        )
    row = Quarantine(
        batch_id=batch_id, bench_id=bench_id, scouting_id=scouting_id, since=since, reason=reason, person=actor
    )
    session.add(row)
    session.flush()
    auditing.record(session, actor, action="quarantined", row=place, details={"reason": [None, reason]})
    return row


def lift(session: Session, actor: str, *, quarantine_id: int, reason: str, today: dt.date) -> Quarantine:
    """Let a batch or a bench out again; who did so and why stays on record."""
    row = session.get(Quarantine, quarantine_id)
    if row is None:
        raise NotFound(_("There is no such quarantine."))
    if row.lifted_at is not None:
        raise Conflict(_("The quarantine of %(place)s was lifted already.", place=place_name(row)))
    reason = words("reason", reason, missing=_("Say why it is lifted: who looked, what was found, what was done."))
    if today < row.since:
        raise Invalid(
            {"reason": _("It begins on %(day)s only and cannot end before.", day=format_date(row.since))}
        )
    row.lifted_at, row.lifted_by, row.lifted_reason = _moment(today), actor, reason
    place: Batch | Bench | None = row.batch or row.bench
    if place is not None:
        auditing.record(session, actor, action="quarantine lifted", row=place, details={"reason": [None, reason]})
    return row


def standing_quarantine(session: Session, batch: Batch) -> Quarantine | None:
    """The quarantine that holds a batch: its own, or that of a bench it stands on."""
    return standing_quarantines(session, [batch.id]).get(batch.id)


def standing_quarantines(session: Session, batch_ids: Iterable[int]) -> Mapping[int, Quarantine]:
    """The quarantine of each batch that is held; its own before that of a bench, the longest standing first."""
    found: dict[int, Quarantine] = {}
    wanted = sorted(set(batch_ids))
    for first in range(0, len(wanted), _AT_ONCE):
        some = wanted[first : first + _AT_ONCE]
        for row in session.scalars(_standing().where(Quarantine.batch_id.in_(some))):
            found[row.batch_id or 0] = row
        on_benches = session.execute(
            _standing()
            .add_columns(Placement.batch_id)
            .join(Placement, Placement.bench_id == Quarantine.bench_id)
            .where(Placement.batch_id.in_(some), Placement.until_on.is_(None))
            .order_by(Quarantine.since, Quarantine.id)
        )
        for row, batch_id in on_benches:
            found.setdefault(batch_id, row)
    return found


def bench_quarantine(session: Session, bench_id: int) -> Quarantine | None:
    """The quarantine of a bench."""
    return session.scalar(_standing().where(Quarantine.bench_id == bench_id))


def all_standing(session: Session) -> Sequence[Quarantine]:
    """Everything that is shut off now, the longest first."""
    return session.scalars(_standing().order_by(Quarantine.since, Quarantine.id)).all()


def refuse_shut_off(session: Session, batch: Batch) -> None:
    """``Conflict`` when a batch is in quarantine, with the reason and how to lift it."""
    held = standing_quarantine(session, batch)
    if held is not None:
        raise Conflict(refusal(held))


def refusal(row: Quarantine) -> str:
    """Why nothing leaves, in words."""
    return _(
        "%(place)s has been in quarantine since %(day)s: %(reason)s. Nothing leaves it until"
        " somebody lifts the quarantine, with a reason, under Health.",
        place=place_name(row),
        day=format_date(row.since),
        reason=row.reason.rstrip(" ."),
    )


def place_name(row: Quarantine) -> str:
    """What is shut off, as people call it."""
    if row.batch is not None:
        return _("Batch %(code)s", code=row.batch.code)
    return _("Bench %(name)s", name=row.bench.name) if row.bench is not None else ""


def _standing() -> Select[Quarantine]:
    return (
        select(Quarantine)
        .options(joinedload(Quarantine.batch), joinedload(Quarantine.bench))
        .where(Quarantine.lifted_at.is_(None))
    )


def _moment(today: dt.date) -> dt.datetime:
    """Now; noon of the day told where the clock is on another one, as in records that are told afterwards."""
    now = utc_now()
    return now if now.date() == today else dt.datetime.combine(today, dt.time(12), dt.UTC)
