"""Standard times: the nursery's own figures, and the working figures where it has none."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import StandardTime as Row
from nursery.models.types import utc_now
from nursery.planning.work.times import OWN, WORKING_TIMES, StandardTime
from nursery.planning.work.words import Job
from nursery.services import auditing
from nursery.services.limits import Bounds

#: A thousand of anything takes less than ten years of one person.
HOURS_PER_1000 = Bounds(0, 20_000)


def standard_times(session: Session) -> Mapping[Job, StandardTime]:
    """The time of every job, own figures first."""
    own = own_times(session)
    return {
        job: StandardTime(own[job].hours_per_1000, working.unit, OWN) if job in own else working
        for job, working in WORKING_TIMES.items()
    }


def own_times(session: Session) -> Mapping[Job, Row]:
    """The nursery's own figures, with who set them and why."""
    return {row.job: row for row in session.scalars(select(Row))}


def set_standard_time(session: Session, actor: str, *, job: Job, hours_per_1000: float | None, reason: str) -> Row:
    """Put an own figure in the place of the working one; `sync_tasks` brings it to the open tasks."""
    refused = {}
    if hours_per_1000 is None:
        raise Invalid({"hours_per_1000": _("Fill this in.")})
    if told := HOURS_PER_1000.refusal(hours_per_1000):
        refused["hours_per_1000"] = told
    if not reason.strip():
        refused["reason"] = _("Say where the figure comes from, such as “timed on 3 March, four trays”.")
    if refused:
        raise Invalid(refused)
    row = session.scalar(select(Row).where(Row.job == job))
    if row is None:
        row = Row(job=job, hours_per_1000=hours_per_1000, reason=reason.strip(), person=actor)
        session.add(row)
        auditing.record(session, actor, action="created", row=row)
        return row
    row.hours_per_1000, row.reason = hours_per_1000, reason.strip()
    if auditing.changed_fields(row):
        row.person, row.at = actor, utc_now()
        auditing.record(session, actor, action="changed", row=row)
    return row


def drop_standard_time(session: Session, actor: str, *, job: Job) -> None:
    """Go back to the working figure."""
    row = session.scalar(select(Row).where(Row.job == job))
    if row is None:
        return
    was = {"job": row.job.value, "hours_per_1000": row.hours_per_1000, "reason": row.reason}
    auditing.record(session, actor, action="removed", row=row, details=was)
    session.delete(row)
    session.flush()
