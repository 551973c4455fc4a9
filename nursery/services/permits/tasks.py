"""What permits ask of a person: notice before collecting, a report after, a new permit in time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date, ngettext
from nursery.i18n import gettext as _
from nursery.models import Change, CollectionNeed, Permit, Trip
from nursery.services import auditing
from nursery.services.permits.allowances import Allowance
from nursery.services.permits.covering import Book
from nursery.services.permits.takings import Taking

#: A permit is to be renewed when it ends within this many days; authorities take their time (common practice).
RENEWAL_DAYS = 90
#: A notice is shown this many days before it is due.
AHEAD_DAYS = 14
NOTICED = "notice given"
#: Collections that one notice may name.
MOST_MARKS = 500


class Kind(StrEnum):
    """Which of the three."""

    NOTICE = "notice"
    REPORT = "report"
    RENEWAL = "renewal"


@dataclass(frozen=True, slots=True)
class PermitTask:
    """One thing to do, and by when."""

    kind: Kind
    permit: Permit
    due_on: dt.date
    text: str
    #: What the task is about: a lot to be reported, or the marks under which a notice is noted.
    lot_id: int | None = None
    marks: tuple[str, ...] = ()
    #: Of a notice of several species: each with the day from which it may be collected.
    species: tuple[tuple[str, dt.date], ...] = ()

    def is_late(self, today: dt.date) -> bool:
        """Whether its day has passed."""
        return self.due_on < today


def read_tasks(session: Session, book: Book, allowances: Sequence[Allowance], today: dt.date) -> list[PermitTask]:
    """Tasks of all permits of a book, the first due on top, in two queries."""
    told = _told(session, [permit.id for permit in book.permits if permit.notice_days])
    trips = _trips(session, book.permits, today)
    found: list[PermitTask] = []
    for permit in book.permits:
        own = [allowance for allowance in allowances if allowance.permit is permit]
        noted = {mark for permit_id, mark in told if permit_id == permit.id}
        found += _notices(permit, own, today, noted)
        found += [task for task in _trip_notices(permit, trips, today) if not noted.issuperset(task.marks)]
        found += [task for _line, taking in book.under(permit) if (task := _report(permit, taking))]
        if (renewal := _renewal(permit, book.permits, today)) is not None:
            found.append(renewal)
    return sorted(found, key=lambda task: (task.due_on, task.permit.id, task.text))


def note_notice(session: Session, actor: str, *, permit: Permit, marks: Sequence[str]) -> None:
    """Write down that the authority was told of collections to come, each under its mark."""
    known = list(dict.fromkeys(marks))
    if not 0 < len(known) <= MOST_MARKS or any(not mark or len(mark) > 80 or "\0" in mark for mark in known):
        raise Invalid({"mark": _("This notice is not known any more. Look at the permit’s tasks again.")})
    for mark in known:
        auditing.record(session, actor, action=NOTICED, row=permit, details={"mark": [None, mark]})


def _told(session: Session, permit_ids: Sequence[int]) -> set[tuple[int, str]]:
    if not permit_ids:
        return set()
    rows = session.execute(
        select(Change.subject_id, Change.details).where(
            Change.subject == Permit.__tablename__, Change.action == NOTICED, Change.subject_id.in_(permit_ids)
        )
    )
    return {(permit_id, details["mark"][1]) for permit_id, details in rows}


def _notices(permit: Permit, allowances: Iterable[Allowance], today: dt.date, noted: set[str]) -> list[PermitTask]:
    """One notice of all collecting seasons that open soon or are open and that the authority does not know of."""
    if not permit.notice_days:
        return []
    last = today + dt.timedelta(days=permit.notice_days + AHEAD_DAYS)
    due: dict[str, tuple[str, dt.date]] = {}
    for allowance in allowances:
        for need in allowance.needs:
            opens = _opens(permit, need)
            mark = f"{need.species_id} {opens.isoformat()}"
            if need.closes_on >= today and opens <= last and mark not in noted:
                due.setdefault(mark, (need.species_name, opens))
    if not due:
        return []
    species = tuple(sorted(due.values(), key=lambda one: (one[1], one[0])))
    name, first = species[0]
    names = {name for name, _opening in species}
    if len(names) == 1:
        text = _(
            "Tell %(authority)s before collecting %(species)s, which may begin on %(day)s.",
            authority=permit.authority, species=name, day=format_date(first),
        )  # fmt: skip
    else:
        text = ngettext(
            "Tell %(authority)s before collecting: %(num)s species, the first from %(day)s.",
            "Tell %(authority)s before collecting: %(num)s species, the first from %(day)s.",
            len(names), authority=permit.authority, day=format_date(first),
        )  # fmt: skip
    due_on = first - dt.timedelta(days=permit.notice_days)
    listed = species if len(species) > 1 else ()
    return [PermitTask(Kind.NOTICE, permit, due_on, text, marks=tuple(due), species=listed)]


def _opens(permit: Permit, need: CollectionNeed) -> dt.date:
    return max(need.opens_on, permit.valid_from)


def _trips(session: Session, permits: Iterable[Permit], today: dt.date) -> Sequence[Trip]:
    days = [permit.notice_days for permit in permits if permit.notice_days]
    if not days:
        return []
    last = today + dt.timedelta(days=max(days) + AHEAD_DAYS)
    return session.scalars(
        select(Trip)
        .where(Trip.archived_at.is_(None), Trip.collected_on > today, Trip.collected_on <= last)
        .order_by(Trip.collected_on, Trip.id)
    ).all()


def _trip_notices(permit: Permit, trips: Iterable[Trip], today: dt.date) -> list[PermitTask]:
    found = []
    for trip in trips:
        due = trip.collected_on - dt.timedelta(days=permit.notice_days)
        soon = due - dt.timedelta(days=AHEAD_DAYS) <= today
        if permit.notice_days and soon and permit.valid_from <= trip.collected_on <= permit.valid_to:
            text = _(
                "Tell %(authority)s of trip %(code)s on %(day)s, if it collects under this permit.",
                authority=permit.authority,
                code=trip.code,
                day=format_date(trip.collected_on),
            )
            found.append(PermitTask(Kind.NOTICE, permit, due, text, marks=(f"trip {trip.id}",)))
    return found


def _report(permit: Permit, taking: Taking) -> PermitTask | None:
    if permit.report_days is None or taking.reported_on is not None or not taking.amount:
        return None
    due = taking.collected_on + dt.timedelta(days=permit.report_days)
    text = _(
        "Report the quantity of %(code)s (%(species)s, collected on %(day)s) to %(authority)s.",
        code=taking.lot_code,
        species=taking.species_name,
        day=format_date(taking.collected_on),
        authority=permit.authority,
    )
    return PermitTask(Kind.REPORT, permit, due, text, lot_id=taking.lot_id)


def _renewal(permit: Permit, permits: Iterable[Permit], today: dt.date) -> PermitTask | None:
    """A permit that ends soon, unless a later one of the same authority goes on with one of its species."""
    if not today <= permit.valid_to <= today + dt.timedelta(days=RENEWAL_DAYS):
        return None
    species = {line.species_id for line in permit.lines}
    for other in permits:
        goes_on = other.valid_from <= permit.valid_to + dt.timedelta(days=1) and other.valid_to > permit.valid_to
        if other.authority == permit.authority and goes_on and species & {line.species_id for line in other.lines}:
            return None
    text = _(
        "Ask %(authority)s for a new permit: %(number)s ends on %(day)s.",
        authority=permit.authority,
        number=permit.number,
        day=format_date(permit.valid_to),
    )
    return PermitTask(Kind.RENEWAL, permit, permit.valid_to, text)
