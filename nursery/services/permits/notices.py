"""Notices before collecting: what the authority was told, and from which day that makes a collection lawful."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Change, CollectionNeed, Permit, Trip
from nursery.services import auditing

NOTICED = "notice given"
#: Collections that one notice may name.
MOST_MARKS = 500
#: The day on which the authority was told, by permit and by what it was told of.
Told = Mapping[tuple[int, str], dt.date]


def season_mark(permit: Permit, need: CollectionNeed) -> tuple[str, dt.date]:
    """Under which mark the notice of a need's season is noted, and the day on which the season opens."""
    opens = max(need.opens_on, permit.valid_from)
    return f"{need.species_id} {opens.isoformat()}", opens


def trip_mark(trip: Trip) -> str:
    """Under which mark the notice of a trip is noted."""
    return f"trip {trip.id}"


def token(permit: Permit, mark: str) -> str:
    """A mark with its permit, as the button sends it."""
    return f"{permit.id}:{mark}"


def read_told(session: Session, permits: Sequence[Permit]) -> dict[tuple[int, str], dt.date]:
    """What the authorities were told, in one query at most."""
    ids = [permit.id for permit in permits if permit.notice_days]
    if not ids:
        return {}
    rows = session.execute(
        select(Change.subject_id, Change.details, Change.at)
        .where(Change.subject == Permit.__tablename__, Change.action == NOTICED, Change.subject_id.in_(ids))
        .order_by(Change.id.desc())  # the first notice of a mark counts
    )
    return {
        (permit_id, details["mark"][1]): dt.date.fromisoformat(details.get("told_on") or at.date().isoformat())
        for permit_id, details, at in rows
    }


def lawful_from(permit: Permit, need: CollectionNeed, told: Told, today: dt.date) -> dt.date | None:
    """The first day that the notice allows, told today if it was not told yet; None where none is asked for."""
    if not permit.notice_days:
        return None
    mark, _opens = season_mark(permit, need)
    return min(today, told.get((permit.id, mark), today)) + dt.timedelta(days=permit.notice_days)


def note_notice(session: Session, actor: str, *, marks: Sequence[str], told_on: dt.date) -> list[Permit]:
    """Write down that the authority was told of collections to come, each under its permit and mark."""
    unknown = Invalid({"mark": _("This notice is not known any more. Look at the permit’s tasks again.")})
    known = [mark.partition(":") for mark in dict.fromkeys(marks)]
    if not 0 < len(known) <= MOST_MARKS:
        raise unknown
    for number, _colon, mark in known:
        if not (number.isascii() and number.isdigit() and len(number) < 10):
            raise unknown
        if not mark or len(mark) > 80 or "\0" in mark:
            raise unknown
    ids = {int(number) for number, _colon, _mark in known}
    permits = {permit.id: permit for permit in session.scalars(select(Permit).where(Permit.id.in_(ids)))}
    if set(permits) != ids:
        raise unknown
    for number, _colon, mark in known:
        details = {"mark": [None, mark], "told_on": told_on.isoformat()}
        auditing.record(session, actor, action=NOTICED, row=permits[int(number)], details=details)
    return [permits[permit_id] for permit_id in sorted(ids)]
