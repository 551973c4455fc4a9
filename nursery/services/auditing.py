"""The record of who changed what; every service that writes calls it in the same transaction.

When a transaction ends well its changes are sealed: each gets a hash over itself and the seal before it, so that a
change that is altered, added or taken away behind the product's back breaks the chain.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import event, func, insert, inspect, select, text
from sqlalchemy.orm import Session, SessionTransaction

from nursery.i18n import format_moment
from nursery.i18n import gettext as _
from nursery.models import Base, Change, Seal
from nursery.models.types import utc_now
from nursery.services import acting

#: Where a session keeps what is to be sealed when it commits: changes, or the lowest id of many written at once.
UNSEALED = "nursery_unsealed"
#: What stands before the first seal.
START = "0" * 64
#: On PostgreSQL, one transaction at a time seals; any number that no other lock of this database uses.
LOCK = 7_201_126
_CHANGES = Change.__table__
#: What a seal covers, fixed for good: a column that comes later needs seals of a second kind.
_SEALED = [_CHANGES.c[name] for name in (
    "id", "at", "person", "account_id", "action", "subject", "subject_id", "details", "reason",
)]  # fmt: skip
#: Seals read at a time while the chain is checked.
BLOCK = 5_000


def plain(value: Any) -> Any:
    """A column's value as JSON can hold it."""
    return value.isoformat() if isinstance(value, (dt.date, dt.datetime)) else value


def changed_fields(row: Base) -> dict[str, list[Any]]:
    """Fields of ``row`` that differ from the database, as ``{field: [before, after]}``."""
    found: dict[str, list[Any]] = {}
    state = inspect(row)
    for name in state.mapper.columns.keys():  # noqa: SIM118 -- a column collection, not a dict
        history = state.attrs[name].history
        if history.has_changes():
            before = history.deleted[0] if history.deleted else None
            after = history.added[0] if history.added else None
            if before != after:
                found[name] = [plain(before), plain(after)]
    return found


def record(
    session: Session,
    actor: str,
    *,
    action: str,
    row: Base,
    details: Mapping[str, Any] | None = None,
    reason: str = "",
) -> None:
    """Note that ``actor`` did ``action`` to ``row``; a new row gets its id first.

    Raises
    ------
    Forbidden
        When the account may change one nursery's records only, and this is another's.
    Conflict
        When the nursery is archived.
    """
    noted = dict(changed_fields(row) if details is None else details)
    acting.must_reach(session, row)
    session.flush()  # a new row's id is part of the record
    asked = noted.get("reason")  # most services tell the reason among the fields
    change = Change(
        person=actor,
        account_id=acting.account_of(session),
        action=action,
        subject=row.__tablename__,
        subject_id=row.id,
        details=noted,
        reason=reason or (str(asked[1] or "") if isinstance(asked, list) else ""),
    )
    session.add(change)
    session.info.setdefault(UNSEALED, []).append(change)


def record_many(session: Session, actor: str, *, action: str, subject: str, details: Mapping[int, Any]) -> None:
    """Note one change of each of many records of a table at once: ``{id: {field: [before, after]}}``."""
    if not details:
        return
    acting.must_reach_all(session, subject, details)
    newest = session.scalar(select(func.max(Change.id))) or 0
    account, at = acting.account_of(session), utc_now()
    session.execute(
        insert(Change),
        [
            {
                "at": at,
                "person": actor,
                "account_id": account,
                "action": action,
                "subject": subject,
                "subject_id": row_id,
                "details": noted,
                "reason": "",
            }
            for row_id, noted in details.items()
        ],
    )
    session.info.setdefault(UNSEALED, []).append(newest + 1)


def history(session: Session, row: Base, limit: int = 50) -> Sequence[Change]:
    """The newest changes of one record first."""
    return session.scalars(
        select(Change)
        .where(Change.subject == row.__tablename__, Change.subject_id == row.id)
        .order_by(Change.id.desc())
        .limit(limit)
    ).all()


def sealed(before: str, change: Mapping[str, Any]) -> str:
    """The hash that seals a change, a row of ``changes``, after the seal ``before``: SHA-256, hexadecimal.

    What is hashed is a JSON text with sorted keys, so that any program can check it.
    """
    told = {name: plain(value) for name, value in change.items()}
    written = json.dumps(told, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(f"{before}\n{written}".encode()).hexdigest()


@event.listens_for(Session, "before_commit")
def seal(session: Session) -> None:
    """Seal what this transaction changed, in the order in which transactions end."""
    if session.in_nested_transaction() or not session.info.get(UNSEALED):
        return
    session.flush()
    # What a savepoint took back is no longer there to be sealed.
    first = min(
        (
            known if isinstance(known, int) else known.id
            for known in session.info.pop(UNSEALED)
            if isinstance(known, int) or inspect(known).persistent
        ),
        default=None,
    )
    if first is None:
        return
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
    place, before = newest_seal(session)
    links = []
    new = select(*_SEALED).outerjoin(Seal).where(_CHANGES.c.id >= first, Seal.id.is_(None)).order_by(_CHANGES.c.id)
    for change in session.execute(new).mappings():
        place, before = place + 1, sealed(before, dict(change))
        links.append({"id": place, "change_id": change["id"], "hash": before})
    if links:
        session.execute(insert(Seal), links)


@event.listens_for(Session, "after_soft_rollback")
def forget(session: Session, taken_back: SessionTransaction) -> None:
    """Nothing of a transaction that was taken back is to be sealed; of a savepoint `seal` sees to it."""
    if not taken_back.nested:
        session.info.pop(UNSEALED, None)


def newest_seal(session: Session) -> tuple[int, str]:
    """Number of changes under seal and the newest seal, which proves tampering later to who kept it elsewhere."""
    found = session.execute(select(Seal.id, Seal.hash).order_by(Seal.id.desc()).limit(1)).first()
    return (found.id, found.hash) if found else (0, START)


def broken_seals(session: Session) -> list[str]:
    """What speaks against the chain of changes, in words; empty when every seal holds."""
    faults = [
        _("Change %(change)s (%(table)s, row %(row)s) has no seal: it was not written by the planner.",
          change=row.id, table=row.subject, row=row.subject_id)
        for row in session.execute(
            select(Change.id, Change.subject, Change.subject_id)
            .outerjoin(Seal, Seal.change_id == Change.id)
            .where(Seal.id.is_(None))
            .order_by(Change.id)
            .limit(20)
        )
    ]  # fmt: skip
    before, expected = START, 1
    for place, change_id, kept, change in _chain(session):
        if place != expected:
            faults.append(_("Seals %(first)s to %(last)s are missing.", first=expected, last=place - 1))
        if change is None:
            faults.append(_("Change %(change)s was taken away; its seal is still there.", change=change_id))
        elif place == expected and sealed(before, change) != kept:
            faults.append(
                _("Change %(change)s of %(day)s is not what was sealed: it, or the seal before it, was altered.",
                  change=change_id, day=format_moment(change["at"]))
            )  # fmt: skip
        before, expected = kept, place + 1
        if len(faults) > 20:
            break
    return faults


def _chain(session: Session) -> Iterator[tuple[int, int, str, Mapping[str, Any] | None]]:
    """Place, change's id, hash and change (None when it is gone), in the order of the chain, a block at a time."""
    last = 0
    while True:
        rows = session.execute(
            select(Seal.id.label("seal"), Seal.change_id, Seal.hash, *_SEALED)
            .outerjoin(_CHANGES, _CHANGES.c.id == Seal.change_id)
            .where(Seal.id > last)
            .order_by(Seal.id)
            .limit(BLOCK)
        ).all()
        for place, change_id, kept, *values in rows:
            change = dict(zip((column.name for column in _SEALED), values, strict=True))
            yield place, change_id, kept, None if change["id"] is None else change
        if len(rows) < BLOCK:
            return
        last = rows[-1].seal
