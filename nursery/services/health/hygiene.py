"""Going through the hygiene list, and what was not as it should be the last time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from nursery.errors import Invalid, NotFound
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import HygieneCheck, Nursery
from nursery.services import acting, auditing, limits, records
from nursery.services.health.hygiene_points import ANSWERS, POINTS, Point
from nursery.services.health.texts import words
from nursery.services.listing import Column, Filter, Listing, options_of

KEYS = tuple(point.key for point in POINTS)

LISTING = Listing(
    model=HygieneCheck,
    order="-day",
    joins=lambda query: query.join(Nursery, HygieneCheck.nursery_id == Nursery.id),
    columns=(
        Column("day", _l("Day"), HygieneCheck.checked_on, "date", link=("health.hygiene_detail", HygieneCheck.id)),
        Column("nursery", _l("Nursery"), Nursery.name),
        Column("person", _l("Person"), HygieneCheck.person),
        Column("notes", _l("Notes"), HygieneCheck.notes),
    ),
    search=(Nursery.name, HygieneCheck.person, HygieneCheck.notes),
    filters=(Filter("nursery", _l("Nursery"), Nursery.name, options_of(Nursery.name)),),
)


@dataclass(frozen=True, slots=True)
class Standing:
    """How a nursery stands: its last check, and what was not as it should be."""

    nursery: Nursery
    last: HygieneCheck | None

    @property
    def open_points(self) -> Sequence[Point]:
        """Points answered no, until the next check."""
        return open_points(self.last) if self.last else ()


def check_hygiene(
    session: Session,
    actor: str,
    *,
    nursery_id: int,
    answers: Mapping[str, str],
    checked_on: dt.date,
    today: dt.date,
    notes: str = "",
) -> HygieneCheck:
    """Write down that the list was gone through; each point needs its answer."""
    nursery = records.get(session, Nursery, nursery_id)
    refused = {
        point.key: _("Answer yes, no, or that there is none here.")
        for point in POINTS
        if answers.get(point.key) not in ANSWERS
    }
    if not limits.SEASON.low <= checked_on.year or checked_on > today:
        refused["checked_on"] = _(
            "%(day)s is still to come, or too long ago. Correct the date.", day=format_date(checked_on)
        )
    if refused:
        raise Invalid(refused)
    kept: dict[str, Any] = {key: answers[key] for key in KEYS}
    row = HygieneCheck(
        nursery_id=nursery.id, checked_on=checked_on, answers=kept, notes=words("notes", notes), person=actor
    )
    session.add(row)
    session.flush()
    acting.must_reach(session, row)
    auditing.record(session, actor, action="checked hygiene", row=nursery, details={"hygiene": [None, row.id]})
    return row


def open_points(check: HygieneCheck) -> Sequence[Point]:
    """What was not as it should be."""
    return [point for point in POINTS if check.answers.get(point.key) == "no"]


def standings(session: Session) -> Sequence[Standing]:
    """Every nursery with its last check, in two queries."""
    latest = (
        select(func.max(HygieneCheck.id))
        .join(
            newest := select(HygieneCheck.nursery_id, func.max(HygieneCheck.checked_on).label("day"))
            .group_by(HygieneCheck.nursery_id)
            .subquery(),
            (newest.c.nursery_id == HygieneCheck.nursery_id) & (newest.c.day == HygieneCheck.checked_on),
        )
        .group_by(HygieneCheck.nursery_id)
    )
    checks = session.scalars(
        select(HygieneCheck).options(joinedload(HygieneCheck.nursery)).where(HygieneCheck.id.in_(latest))
    )
    last = {check.nursery_id: check for check in checks}
    nurseries = session.scalars(select(Nursery).where(Nursery.archived_at.is_(None)).order_by(Nursery.name))
    return [Standing(nursery, last.get(nursery.id)) for nursery in nurseries]


def get_check(session: Session, check_id: int) -> HygieneCheck:
    """A check, or ``NotFound``."""
    row = session.get(HygieneCheck, check_id, options=[joinedload(HygieneCheck.nursery)])
    if row is None:
        raise NotFound(_("There is no such hygiene check."))
    return row
