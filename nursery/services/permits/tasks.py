"""What permits ask of a person: notice before collecting, a report after, a new permit in time.

What one authority is to be told at one time under several permits is one task: it is one letter.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Permit, Trip
from nursery.services.permits import task_words
from nursery.services.permits.allowances import Allowance
from nursery.services.permits.covering import Book
from nursery.services.permits.notices import Told, read_told, season_mark, token, trip_mark
from nursery.services.permits.takings import Taking

#: A permit is to be renewed when it ends within this many days; authorities take their time (common practice).
RENEWAL_DAYS = 90
#: A notice is shown this many days before it is due; one letter serves what falls due so soon after the first.
AHEAD_DAYS = 14


class Kind(StrEnum):
    """Which of the three."""

    NOTICE = "notice"
    REPORT = "report"
    RENEWAL = "renewal"


@dataclass(frozen=True, slots=True)
class PermitTask:
    """One thing to do, and by when."""

    kind: Kind
    #: Permits of one authority that ask for it.
    permits: tuple[Permit, ...]
    due_on: dt.date
    text: str
    #: Lots to be reported, id and code.
    lots: tuple[tuple[int, str], ...] = ()
    #: What a notice is noted under, each with its permit.
    marks: tuple[str, ...] = ()
    #: Of a notice of several species: each with the day from which it may be collected.
    species: tuple[tuple[str, dt.date], ...] = ()

    def is_late(self, today: dt.date) -> bool:
        """Whether its day has passed."""
        return self.due_on < today


@dataclass(frozen=True, slots=True)
class _Asked:
    """What one permit asks for; alike ones become one task."""

    permit: Permit
    due_on: dt.date
    #: Marks of a notice with the species and its first day.
    seasons: tuple[tuple[str, str, dt.date], ...] = ()
    trip: Trip | None = None
    taking: Taking | None = None


def read_tasks(session: Session, book: Book, allowances: Sequence[Allowance], today: dt.date) -> list[PermitTask]:
    """Tasks of all permits of a book, the first due on top, in two queries."""
    told = read_told(session, book.permits)
    trips = _trips(session, book.permits, today)
    notices, outings, reports, renewals = [], [], [], []
    for permit in book.permits:
        own = [allowance for allowance in allowances if allowance.permit is permit]
        notices += list(_notice(permit, own, today, told))
        outings += list(_trip_notices(permit, trips, today, told))
        reports += [asked for _line, taking in book.under(permit) if (asked := _report(permit, taking))]
        renewals += [_Asked(permit, permit.valid_to)] if _ends(permit, book.permits, today) else []
    found = [_notice_task(alike) for alike in _together(notices, AHEAD_DAYS)]
    found += [_trip_task(alike) for alike in _together(outings, AHEAD_DAYS)]
    found += [_report_task(alike) for alike in _together(reports, 0)]
    found += [_renewal_task(alike) for alike in _together(renewals, 0)]
    return sorted(found, key=lambda task: (task.due_on, task.permits[0].id, task.text))


def _together(asked: Iterable[_Asked], days: int) -> Iterator[list[_Asked]]:
    """What one authority asks for within some days of the first, of one trip where it is about trips."""
    open_ones: dict[tuple[str, int], list[_Asked]] = {}
    for one in sorted(asked, key=lambda one: (one.due_on, one.permit.id)):
        key = one.permit.authority.casefold(), one.trip.id if one.trip else 0
        alike = open_ones.get(key)
        if alike is not None and (one.due_on - alike[0].due_on).days <= days:
            alike.append(one)
            continue
        if alike is not None:
            yield alike
        open_ones[key] = [one]
    yield from open_ones.values()


def _permits(alike: Iterable[_Asked]) -> tuple[Permit, ...]:
    return tuple(sorted({one.permit for one in alike}, key=lambda permit: permit.id))


def _notice(permit: Permit, allowances: Iterable[Allowance], today: dt.date, told: Told) -> Iterator[_Asked]:
    """All collecting seasons that open soon or are open and that the authority does not know of."""
    if not permit.notice_days:
        return
    last = today + dt.timedelta(days=permit.notice_days + AHEAD_DAYS)
    due: dict[str, tuple[str, str, dt.date]] = {}
    for allowance in allowances:
        for need in allowance.needs:
            mark, opens = season_mark(permit, need)
            if need.closes_on >= today and opens <= last and (permit.id, mark) not in told:
                due.setdefault(mark, (mark, need.species_name, opens))
    if due:
        first = min(opens for _mark, _name, opens in due.values())
        yield _Asked(permit, first - dt.timedelta(days=permit.notice_days), tuple(due.values()))


def _notice_task(alike: Sequence[_Asked]) -> PermitTask:
    opening: dict[str, dt.date] = {}
    for one in alike:
        for _mark, name, opens in one.seasons:
            opening[name] = min(opens, opening.get(name, opens))
    species = tuple(sorted(opening.items(), key=lambda one: (one[1], one[0])))
    marks = tuple(token(one.permit, mark) for one in alike for mark, _name, _opens in one.seasons)
    text = task_words.notice(alike[0].permit.authority, species)
    listed = species if len(species) > 1 else ()
    return PermitTask(Kind.NOTICE, _permits(alike), alike[0].due_on, text, marks=marks, species=listed)


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


def _trip_notices(permit: Permit, trips: Iterable[Trip], today: dt.date, told: Told) -> Iterator[_Asked]:
    for trip in trips:
        due = trip.collected_on - dt.timedelta(days=permit.notice_days)
        soon = due - dt.timedelta(days=AHEAD_DAYS) <= today
        inside = permit.valid_from <= trip.collected_on <= permit.valid_to
        if permit.notice_days and soon and inside and (permit.id, trip_mark(trip)) not in told:
            yield _Asked(permit, due, trip=trip)


def _trip_task(alike: Sequence[_Asked]) -> PermitTask:
    trip, permits = alike[0].trip, _permits(alike)
    if trip is None:  # pragma: no cover -- a notice of a trip has one
        raise ValueError(alike)
    marks = tuple(token(permit, trip_mark(trip)) for permit in permits)
    text = task_words.trip_notice(permits[0].authority, trip.code, trip.collected_on, len(permits))
    return PermitTask(Kind.NOTICE, permits, alike[0].due_on, text, marks=marks)


def _report(permit: Permit, taking: Taking) -> _Asked | None:
    if permit.report_days is None or taking.reported_on is not None or not taking.amount:
        return None
    return _Asked(permit, taking.collected_on + dt.timedelta(days=permit.report_days), taking=taking)


def _report_task(alike: Sequence[_Asked]) -> PermitTask:
    takings = [one.taking for one in alike if one.taking is not None]
    text = task_words.report(alike[0].permit.authority, takings)
    lots = tuple((taking.lot_id, taking.lot_code) for taking in takings)
    return PermitTask(Kind.REPORT, _permits(alike), alike[0].due_on, text, lots=lots)


def _ends(permit: Permit, permits: Iterable[Permit], today: dt.date) -> bool:
    """Whether it ends soon and no later one of the same authority goes on with one of its species."""
    if not today <= permit.valid_to <= today + dt.timedelta(days=RENEWAL_DAYS):
        return False
    species = {line.species_id for line in permit.lines}
    for other in permits:
        goes_on = other.valid_from <= permit.valid_to + dt.timedelta(days=1) and other.valid_to > permit.valid_to
        if other.authority == permit.authority and goes_on and species & {line.species_id for line in other.lines}:
            return False
    return True


def _renewal_task(alike: Sequence[_Asked]) -> PermitTask:
    permits = _permits(alike)
    text = task_words.renewal(permits[0].authority, [permit.number for permit in permits], alike[0].due_on)
    return PermitTask(Kind.RENEWAL, permits, alike[0].due_on, text)
