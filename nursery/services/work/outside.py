"""Tasks that come from outside the plan's phases: letters to authorities, collecting trips, tests of seed."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Permit, Trip
from nursery.planning.work.words import Job
from nursery.services.permits.allowances import read_allowances
from nursery.services.permits.books import read_book
from nursery.services.permits.notices import season_mark, token
from nursery.services.permits.tasks import Kind, read_tasks
from nursery.services.programme import Programme, read_programme
from nursery.services.programme.trips import OutlinedTrip
from nursery.services.watch_words import Reason
from nursery.services.watching import watch_lots
from nursery.services.work.wanted import Wanted

#: A test that is overdue, or was refused, is made within so many days (common practice, no source).
TEST_WITHIN = 14


def outside_tasks(session: Session, *, today: dt.date) -> list[Wanted]:
    """Notices, reports and renewals of permits, collecting trips, and seed to test again."""
    programme = read_programme(session, today=today)
    return [
        *(_collecting(programme) if programme is not None else ()),
        *_trips(session, today),
        *_letters(session, today),
        *_retests(session, today),
    ]


def _collecting(programme: Programme) -> Iterator[Wanted]:
    """Each trip of the programme, behind its notices; what one authority is told on one day is one letter."""
    letters: dict[tuple[str, dt.date], Wanted] = {}
    seen: set[str] = set()
    for trip in programme.trips:
        key = _trip_key(trip)
        if key in seen:  # the same stand twice in a year for the same species: one more outing
            key = f"{key}-{trip.week.name}"
        seen.add(key)
        last: Wanted | None = None
        days = 0
        for permit, notice in _notices(trip, key):
            letter = letters.setdefault((permit.authority.casefold(), notice.planned_on), notice)
            if letter is not notice:
                for name in ("names", "marks", "permits"):
                    letter.details[name] = sorted({*letter.details[name], *notice.details[name]})
            if last is None or permit.notice_days > days:
                last, days = letter, permit.notice_days
        stand = trip.picks[0].stand
        yield Wanted(
            key=key, job=Job.COLLECT, planned_on=trip.first_day,
            until_on=trip.last_day if trip.last_day > trip.first_day else None,
            latest_on=min(pick.last_day for pick in trip.picks), amount=float(len(trip.picks)), hours=trip.hours,
            after=last.key if last is not None else "", gap_days=days if last is not None else None,
            links={"population_id": stand.population_id},
            details={
                "trip": trip.key, "names": trip.species, "basin": trip.basin,
                "species_ids": sorted({pick.sheet.need.species_id for pick in trip.picks}),
                "places": [stand.name for stand, _picks in trip.stops],
            },
        )  # fmt: skip
    yield from letters.values()


def _trip_key(trip: OutlinedTrip) -> str:
    first = trip.picks[0]
    need = first.sheet.need
    return f"collect-{need.opens_on.year}-p{first.stand.population_id}-s{need.species_id}"


def _notices(trip: OutlinedTrip, trip_key: str) -> Iterator[tuple[Permit, Wanted]]:
    """A letter for each permit that a trip collects under and whose authority does not know of it."""
    by_permit: defaultdict[int, list[tuple[Permit, str, str, dt.date]]] = defaultdict(list)
    for pick in trip.picks:
        tell_by = trip.tell_by(pick)
        if tell_by is not None and pick.permit is not None:
            mark, _opens = season_mark(pick.permit, pick.sheet.need)
            name = pick.sheet.need.species_name
            by_permit[pick.permit.id].append((pick.permit, token(pick.permit, mark), name, tell_by))
    for permit_id, asked in by_permit.items():
        permit = asked[0][0]
        notice = Wanted(
            key=f"notice-{permit_id}-{trip_key}", job=Job.NOTICE, planned_on=min(one[3] for one in asked),
            amount=1.0, links={"permit_id": permit_id},
            details={
                "kind": Kind.NOTICE.value, "authority": permit.authority, "permits": [permit.number],
                "names": sorted({one[2] for one in asked}), "marks": sorted({one[1] for one in asked}),
            },
        )  # fmt: skip
        yield permit, notice


def _trips(session: Session, today: dt.date) -> Iterator[Wanted]:
    """Trips that people have written down for a day to come."""
    for trip in session.scalars(select(Trip).where(Trip.archived_at.is_(None), Trip.collected_on >= today)):
        yield Wanted(
            key=f"trip-{trip.id}", job=Job.COLLECT, planned_on=trip.collected_on, hours=trip.hours,
            details={"recorded": trip.id, "code": trip.code, "people": trip.people},
        )  # fmt: skip


def _letters(session: Session, today: dt.date) -> Iterator[Wanted]:
    """What permits ask for beside the notices of the programme's trips."""
    book = read_book(session)
    if not book.permits:
        return
    for task in read_tasks(session, book, read_allowances(session, book), today):
        if task.kind is Kind.NOTICE and not any(_of_a_trip(mark) for mark in task.marks):
            continue  # told of with the trip that needs it
        permit = task.permits[0]
        what = "-".join(str(lot_id) for lot_id, _code in task.lots[:6]) or task.due_on.isoformat()
        if task.marks:
            what = task.marks[0].partition(":")[2].replace(" ", "")
        yield Wanted(
            key=f"{task.kind}-{permit.id}-{what}"[:120], job=Job.NOTICE, planned_on=task.due_on, amount=1.0,
            links={"permit_id": permit.id},
            details={
                "kind": task.kind.value, "authority": permit.authority,
                "permits": [permit.number for permit in task.permits],
                "lots": [code for _lot_id, code in task.lots], "marks": list(task.marks),
            },
        )  # fmt: skip


def _of_a_trip(mark: str) -> bool:
    """Whether a notice's mark tells of a recorded trip."""
    return mark.partition(":")[2].startswith("trip ")


def _retests(session: Session, today: dt.date) -> Iterator[Wanted]:
    """Lots to test again, or for the first time; a refused test is repeated soon."""
    seen: set[int] = set()
    for lot in watch_lots(session, today=today):
        if lot.reason not in {Reason.RETEST, Reason.REPEAT} or lot.lot_id in seen:
            continue
        seen.add(lot.lot_id)
        is_overdue = lot.reason is Reason.REPEAT or lot.day is None or lot.day < today
        day = today + dt.timedelta(days=TEST_WITHIN) if is_overdue else lot.day
        yield Wanted(
            key=f"retest-l{lot.lot_id}", job=Job.RETEST, planned_on=day or today, is_standing=is_overdue,
            amount=1.0, links={"lot_id": lot.lot_id},
            details={"lot": lot.code, "species": lot.species_name, "reason": lot.reason.value},
        )  # fmt: skip
