"""Who acts through a session: the account that signed in, and the nursery it is bound to.

The web and the API say so when they open the session; the command line, whose user owns the machine, says nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Forbidden
from nursery.i18n import gettext as _
from nursery.models import Base, Batch, Bench, Nursery
from nursery.services.accounts.rights import Right

_KEY = "nursery_acting"
#: Columns that lead from a record to what stands in a nursery.
_OWNERS: dict[str, type[Batch] | type[Bench]] = {"batch_id": Batch, "bench_id": Bench}


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


def must_reach(session: Session, row: Base) -> None:
    """Refuse to change what belongs to another nursery than the account's, or to one that is put aside.

    Raises
    ------
    Forbidden
        When the account is bound to another nursery.
    Conflict
        When the nursery is archived.
    """
    found = acting_in(session)
    if found is None:
        return
    nursery_id = _nursery_of(session, row)
    if nursery_id is None:
        return
    if found.nursery_id is not None and found.nursery_id != nursery_id:
        names = dict(session.execute(
            select(Nursery.id, Nursery.name).where(Nursery.id.in_((nursery_id, found.nursery_id)))
        ).tuples())  # fmt: skip
        raise Forbidden(
            _(
                "This belongs to the nursery %(other)s; your account may change what belongs to %(own)s only."
                " Ask a coordinator.",
                other=names.get(nursery_id, ""),
                own=names.get(found.nursery_id, ""),
            )
        )
    nursery = session.get(Nursery, nursery_id)
    if nursery is not None and nursery.archived_at is not None and row is not nursery:
        raise Conflict(
            _(
                "The nursery %(name)s is archived. Bring it back before you change what belongs to it.",
                name=nursery.name,
            )
        )


def _nursery_of(session: Session, row: Base) -> int | None:
    """The nursery that a record belongs to: its own, that of its batch, or that of its bench."""
    if isinstance(row, Nursery):
        return row.id
    given: Any = getattr(row, "nursery_id", None)
    for column, model in _OWNERS.items():
        if given is None and (owner_id := getattr(row, column, None)) is not None:
            given = session.scalar(select(model.nursery_id).where(model.id == owner_id))
    return given if isinstance(given, int) else None
