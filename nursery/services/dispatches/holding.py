"""Writing to a load: one person at a time, and each change is counted, so that an old page overwrites nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified
from sqlalchemy.orm.exc import StaleDataError

from nursery.errors import Conflict
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Dispatch
from nursery.models.dispatches import DispatchStatus
from nursery.services import acting, auditing
from nursery.services.dispatches.words import STATUS_LABELS


def hold(session: Session, load: Dispatch, *statuses: DispatchStatus, version: int | None = None) -> Dispatch:
    """The load as it is now, which nobody else can change until this transaction ends.

    Raises
    ------
    Conflict
        Where it has come further than the act allows, or has changed since the person saw ``version`` of it.
    """
    session.flush()
    session.refresh(load, with_for_update={"of": Dispatch})
    session.expire(load, ["lines"])
    acting.must_reach(session, load)  # before a line is taken away that made it another nursery's
    if load.archived_at is not None:
        raise Conflict(_("%(load)s is archived. Bring it back first.", load=load.code))
    if statuses and load.status not in statuses:
        raise Conflict(_refusal(load))
    if version is not None and version != load.version:
        raise Conflict(
            _(
                "Somebody else changed %(load)s while you were looking at it. Nothing was written: look again.",
                load=load.code,
            )
        )
    return load


def _refusal(load: Dispatch) -> str:
    if load.status is DispatchStatus.SENT and load.sent_on is not None:
        return _(
            "%(load)s was sent already, on %(day)s. Nothing was written a second time.",
            load=load.code,
            day=format_date(load.sent_on),
        )
    if load.status is DispatchStatus.RECEIVED and load.received_on is not None:
        return _(
            "%(load)s was taken over already, on %(day)s by %(person)s. Nothing was written a second time.",
            load=load.code,
            day=format_date(load.received_on),
            person=load.received_by,
        )
    if load.status is DispatchStatus.CANCELLED:
        return _("%(load)s was cancelled: %(reason)s. Plan a new load.", load=load.code, reason=load.reason)
    return _(
        "%(load)s is “%(state)s”; that cannot be done with it now.",
        load=load.code,
        state=STATUS_LABELS[load.status],
    )


@contextmanager
def whole(session: Session, load: Dispatch) -> Iterator[None]:
    """Several writes together: where one is refused, none is made, and the load reads as before."""
    try:
        with session.begin_nested():
            yield
    except StaleDataError as stale:
        session.expire(load)
        raise Conflict(
            _("Somebody else changed this load while you were typing. Nothing was overwritten.")
        ) from stale
    except BaseException:
        session.expire_all()
        raise


def note(
    session: Session, actor: str, load: Dispatch, action: str, details: Mapping[str, Any] | None = None
) -> None:
    """Note what was done to a load; its version rises even where only its lines changed."""
    noted = {**auditing.changed_fields(load), **(details or {})}
    flag_modified(load, "code")
    try:
        auditing.record(session, actor, action=action, row=load, details=noted)
    except StaleDataError as stale:
        raise Conflict(
            _("Somebody else changed this load while you were typing. Nothing was overwritten.")
        ) from stale
    session.flush()
