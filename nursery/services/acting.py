"""Who acts through a session: the account that signed in, and the nursery it is bound to.

The web and the API say so when they open the session; the command line, whose user owns the machine, says nothing.
Bound to a nursery, an account reads what all others of its roles read, and changes what belongs to its own nursery
and what belongs to all together: seed, sites and the plan are common, and nobody could follow them who saw a part.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Forbidden
from nursery.i18n import gettext as _
from nursery.models import Base, Nursery
from nursery.services.accounts.rights import Right
from nursery.services.belonging import AFTERWARDS, COMMON, model_of, nurseries_of, values_before

_KEY = "nursery_acting"
#: Where a session keeps which nurseries are archived, once it has asked.
_CLOSED = "nursery_closed"
#: SQLite takes so many values in one statement, and more.
_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Acting:
    """An account as far as requests and services need to know it."""

    account_id: int
    name: str
    rights: frozenset[Right]
    #: The only nursery whose records may be changed; None means all.
    nursery_id: int | None = None


def act_as(session: Session, acting: Acting) -> None:
    """Say who acts through this session."""
    session.info[_KEY] = acting


def acting_in(session: Session) -> Acting | None:
    """Who acts through this session; None at the command line."""
    found: Acting | None = session.info.get(_KEY)
    return found


def account_of(session: Session) -> int | None:
    """Id of the account that acts, for the record of changes."""
    found = acting_in(session)
    return found.account_id if found else None


def is_bound(session: Session) -> bool:
    """Whether who acts may change the records of one nursery only."""
    found = acting_in(session)
    return found is not None and found.nursery_id is not None


def elsewhere(session: Session, row: Base) -> str:
    """Why the account may not change a record, when it belongs to another nursery; else nothing."""
    return _told(session, nurseries_of(session, row)) if is_bound(session) else ""


def must_reach(session: Session, row: Base, before: Mapping[str, Any] | None = None) -> None:
    """Refuse to change what belongs to another nursery than the account's, or to one that is put aside.

    What left another nursery is refused too; ``before`` are columns as they were, if the session no longer knows.

    Raises
    ------
    Forbidden
        When the account is bound to another nursery.
    Conflict
        When the nursery is archived.
    """
    if isinstance(row, Nursery):
        session.info.pop(_CLOSED, None)  # it may be archived, or brought back, just now
    if acting_in(session) is None or type(row) in COMMON:
        return
    was = values_before(row) if before is None else before  # the questions that follow make the session forget
    closed = _closed(session)
    if not is_bound(session) and not closed:
        return
    session.flush()  # what a record leads to may be new as well
    owners = nurseries_of(session, row, was)
    if told := _told(session, owners):
        raise Forbidden(told)
    if owners & closed.keys() and not isinstance(row, Nursery) and type(row) not in AFTERWARDS:
        raise Conflict(
            _(
                "The nursery %(name)s is archived. Bring it back before you change what belongs to it.",
                name=", ".join(sorted(closed[owner] for owner in owners & closed.keys())),
            )
        )


def must_reach_all(session: Session, table: str, changes: Mapping[int, Mapping[str, Any]]) -> None:
    """`must_reach` for many records of a table, just written at once: ``{id: {column: [before, after]}}``."""
    model = model_of(table)
    if acting_in(session) is None or model in COMMON or not (is_bound(session) or _closed(session)):
        return
    ids = sorted(changes)
    for first in range(0, len(ids), _AT_ONCE):
        for row in session.scalars(select(model).where(model.id.in_(ids[first : first + _AT_ONCE]))):
            left = {name: both[0] for name, both in changes[row.id].items() if both[0] is not None}
            must_reach(session, row, left)


def _closed(session: Session) -> dict[int, str]:
    """Names of the nurseries that are archived, by id; asked once a session."""
    found: dict[int, str] | None = session.info.get(_CLOSED)
    if found is None:
        archived = select(Nursery.id, Nursery.name).where(Nursery.archived_at.is_not(None))
        found = session.info[_CLOSED] = dict(session.execute(archived).all())
    return found


def _told(session: Session, owners: set[int]) -> str:
    found = acting_in(session)
    if found is None or found.nursery_id is None or owners <= {found.nursery_id}:
        return ""
    names = dict(session.execute(select(Nursery.id, Nursery.name)).all())
    return _(
        "This belongs to the nursery %(other)s; your account may change what belongs to %(own)s only."
        " Ask a coordinator.",
        other=", ".join(sorted(names[owner] for owner in owners - {found.nursery_id})),
        own=names.get(found.nursery_id, ""),
    )
