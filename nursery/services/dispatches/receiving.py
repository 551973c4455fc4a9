"""Taking a load over: who, when, and how many of each line; what is missing is lost on the way."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Dispatch, DispatchLine, ReturnedPlants
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.services.batches.words import plants_text
from nursery.services.dispatches.expecting import Expected, expected
from nursery.services.dispatches.holding import hold, note, whole
from nursery.services.dispatches.settling import come_back_and_be_lost, take_settled_back

_TIME = re.compile(r"([01]?\d|2[0-3])[:.h]([0-5]\d)")


def receive(
    session: Session,
    actor: str,
    *,
    load: Dispatch,
    received_on: dt.date,
    received_by: str,
    today: dt.date,
    received_time: str = "",
    received: Mapping[int, int] | None = None,
    version: int | None = None,
) -> Dispatch:
    """Write down who took a load over; plants by line id, lines left out came whole.

    What is missing comes back and is lost in the ledger at once, of handling, so that what stands at the site is
    what was taken over.

    Raises
    ------
    Invalid
        At ``received_by`` without a name, at ``received_time`` for what is no time, at ``received_on`` for a day
        to come or before it was sent, at ``received-<line id>`` for more than was on the way.
    Conflict
        For a load that was not sent, or was taken over already.
    """
    hold(session, load, DispatchStatus.SENT, version=version)
    awaited = expected(session, load)
    came = {key: one.most if received is None else received.get(key, one.most) for key, one in awaited.items()}
    clock = _time(received_time)
    _check(load, awaited, came, received_on, received_by, clock, today)
    with whole(session, load):
        for line in load.lines:
            missing = awaited[line.id].most - came[line.id]
            line.received = came[line.id]
            if missing:
                _miss(session, actor, line, missing, received_on, today)
        load.status, load.received_on = DispatchStatus.RECEIVED, received_on
        load.received_by, load.received_time = received_by.strip(), clock or ""
        note(session, actor, load, "load received", {"plants": [None, sum(came.values())]})
    return load


def take_receipt_back(
    session: Session, actor: str, *, load: Dispatch, reason: str, today: dt.date, version: int | None = None
) -> Dispatch:
    """A receipt was written down wrongly: the load is on the road again, with what was missing."""
    if not reason.strip():
        raise Invalid({"reason": _("Write down why the receipt is taken back.")})
    hold(session, load, DispatchStatus.RECEIVED, version=version)
    with whole(session, load):
        undo_receipt(session, actor, load, reason=reason, today=today)
        note(session, actor, load, "receipt taken back", {"why": [None, reason.strip()]})
    return load


def undo_receipt(session: Session, actor: str, load: Dispatch, *, reason: str, today: dt.date) -> None:
    """The receipt alone, as part of a larger act."""
    for line in load.lines:
        for one in [one for one in line.returns if one.is_missing]:
            take_settled_back(session, actor, one, reason=reason, today=today)
            session.delete(one)
        line.received = None
    load.status, load.received_on, load.received_by, load.received_time = DispatchStatus.SENT, None, "", ""
    session.flush()
    for line in load.lines:
        session.expire(line, ["returns"])


def _miss(session: Session, actor: str, line: DispatchLine, plants: int, day: dt.date, today: dt.date) -> None:
    reason = _("Missing when %(load)s was taken over", load=line.dispatch.code)
    row = ReturnedPlants(
        line_id=line.id, plants=plants, returned_on=day, is_missing=True, person=actor,
        decision=ReturnDecision.DISCARDED, decided_on=day, decided_by=actor, decided_reason=reason,
    )  # fmt: skip
    session.add(row)
    session.flush()
    session.expire(line, ["returns"])
    row.act = come_back_and_be_lost(session, actor, row, happened_on=day, today=today, reason=reason)
    session.flush()


def _time(text: str) -> str | None:
    """``HH:MM``; empty for nothing, None for what cannot be read."""
    if not text.strip():
        return ""
    found = _TIME.fullmatch(text.strip().lower().replace(" ", ""))
    return f"{int(found[1]):02d}:{found[2]}" if found else None


def _check(
    load: Dispatch,
    awaited: Mapping[int, Expected],
    came: Mapping[int, int],
    day: dt.date,
    person: str,
    clock: str | None,
    today: dt.date,
) -> None:
    refused: dict[str, str] = {}
    for line in load.lines:
        on_the_way, came_back = awaited[line.id].most, awaited[line.id].came_back
        if 0 <= came[line.id] < came_back:
            refused[f"received-{line.id}"] = _(
                "%(plants)s of %(batch)s came back after the load was taken over: no fewer can have come.",
                plants=plants_text(came_back),
                batch=line.batch.code,
            )
        elif not 0 <= came[line.id] <= on_the_way:
            refused[f"received-{line.id}"] = _(
                "%(sent)s of %(batch)s were on the way; no more can have come. Check the number, or take the load"
                " back if more was sent.",
                sent=plants_text(on_the_way),
                batch=line.batch.code,
            )
    if not person.strip():
        refused["received_by"] = _("Write down who took the load over.")
    elif len(person.strip()) > 80:
        refused["received_by"] = _("At most 80 characters fit. Shorten the name.")
    if clock is None:
        refused["received_time"] = _("That is no time of day. Write it as 14:30, or leave it empty.")
    if day > today:
        refused["received_on"] = _("The day lies in the future. Write it down once the load is there.")
    elif load.sent_on is not None and day < load.sent_on:
        refused["received_on"] = _(
            "The load was sent on %(day)s and cannot have come before.", day=format_date(load.sent_on)
        )
    if refused:
        raise Invalid(refused)
