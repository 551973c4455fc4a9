"""What is open in matters of plant health: for the home page, a batch, a bench and the season."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.models import Batch, Bench, Placement, Quarantine, Scouting, Treatment
from nursery.models.health import Finding
from nursery.services.health.hygiene import Standing, standings
from nursery.services.health.quarantine import all_standing, bench_quarantine, standing_quarantine
from nursery.services.health.reentry import Reentry, reentries_of_batches, running_reentries

#: Notes of one place shown at most.
ROWS = 8
#: A walk is asked for after so many days (common practice: once a week).
WALK_EVERY = 7
#: The hygiene list is asked for again after so many days (common practice: once a month).
HYGIENE_EVERY = 31


@dataclass(frozen=True, slots=True)
class HealthGlance:
    """The home page of plant health."""

    open_notes: Sequence[Scouting]
    quarantines: Sequence[Quarantine]
    reentries: Sequence[Reentry]
    hygiene: Sequence[Standing]
    last_walk: dt.date | None
    #: Whether anything at all was ever written down.
    is_begun: bool

    @property
    def unreported(self) -> Sequence[Scouting]:
        """Suspicions of which the authority has not been told."""
        return [
            note
            for note in self.open_notes
            if note.finding is Finding.SUSPECTED_NOTIFIABLE and note.reported_on is None
        ]


@dataclass(frozen=True, slots=True)
class PlaceHealth:
    """What somebody must know who stands before one batch or bench."""

    quarantine: Quarantine | None
    reentries: Sequence[Reentry]
    open_notes: Sequence[Scouting]
    last_seen: dt.date | None
    treatments: int


@dataclass(frozen=True, slots=True)
class HealthNote:
    """One line for the season page."""

    text: str
    tone: str


def glance_at_health(session: Session, *, now: dt.datetime) -> HealthGlance:
    """Everything that is open; the number of queries is fixed."""
    last_walk = session.scalar(select(func.max(Scouting.seen_on)).where(Scouting.archived_at.is_(None)))
    hygiene = standings(session)
    open_notes, quarantines = _open_notes(session), all_standing(session)
    reentries = running_reentries(session, now=now)
    is_begun = bool(last_walk or quarantines or reentries or any(each.last for each in hygiene)) or bool(
        session.scalar(select(Treatment.id).limit(1))
    )
    return HealthGlance(open_notes, quarantines, reentries, hygiene, last_walk, is_begun)


def health_of_batch(session: Session, batch: Batch, *, now: dt.datetime) -> PlaceHealth:
    """A batch with the benches it stands on."""
    benches = select(Placement.bench_id).where(Placement.batch_id == batch.id, Placement.until_on.is_(None))
    return PlaceHealth(
        quarantine=standing_quarantine(session, batch),
        reentries=reentries_of_batches(session, [batch.id], now=now).get(batch.id, ()),
        open_notes=_open_notes(session, or_(Scouting.batch_id == batch.id, Scouting.bench_id.in_(benches))),
        last_seen=_last_seen(session, or_(Scouting.batch_id == batch.id, Scouting.bench_id.in_(benches))),
        treatments=_treatments(session, Treatment.batch_id == batch.id),
    )


def health_of_bench(session: Session, bench: Bench, *, now: dt.datetime) -> PlaceHealth:
    """A bench with the batches that stand on it."""
    batches = select(Placement.batch_id).where(Placement.bench_id == bench.id, Placement.until_on.is_(None))
    standing = set(session.scalars(batches))
    here = or_(Scouting.bench_id == bench.id, Scouting.batch_id.in_(batches))
    return PlaceHealth(
        quarantine=bench_quarantine(session, bench.id),
        reentries=[
            each
            for each in running_reentries(session, now=now)
            if each.batch_id in standing
            or each.covers(batch_id=None, bench_ids={bench.id}, nursery_ids={bench.nursery_id})
        ],
        open_notes=_open_notes(session, here),
        last_seen=_last_seen(session, here),
        treatments=_treatments(session, Treatment.bench_id == bench.id),
    )


def season_note(session: Session, *, now: dt.datetime) -> HealthNote | None:
    """One line when something is open; None when nothing is. Three queries."""
    notes = _open_notes(session)
    suspected = sum(note.finding is Finding.SUSPECTED_NOTIFIABLE for note in notes)
    shut, fresh = len(all_standing(session)), len(running_reentries(session, now=now))
    parts = [
        (
            suspected,
            ngettext("%(num)s suspected notifiable organism", "%(num)s suspected notifiable organisms", suspected),
        ),
        (
            len(notes) - suspected,
            ngettext("%(num)s open finding", "%(num)s open findings", len(notes) - suspected),
        ),
        (shut, ngettext("%(num)s quarantine", "%(num)s quarantines", shut)),
        (fresh, ngettext("%(num)s re-entry time running", "%(num)s re-entry times running", fresh)),
    ]
    told = [text for number, text in parts if number]
    if not told:
        return None
    tone = "stop" if suspected else "caution" if shut or fresh else "info"
    return HealthNote(_("Plant health: %(what)s.", what=", ".join(told)), tone)


def _open_notes(session: Session, where: ColumnElement[bool] | None = None) -> Sequence[Scouting]:
    """Open notes, suspicions of notifiable organisms first, then the newest."""
    query = (
        select(Scouting)
        .options(joinedload(Scouting.batch), joinedload(Scouting.bench), joinedload(Scouting.nursery))
        .where(Scouting.closed_on.is_(None), Scouting.archived_at.is_(None))
        .order_by((Scouting.finding != Finding.SUSPECTED_NOTIFIABLE), Scouting.seen_on.desc(), Scouting.id.desc())
    )
    return session.scalars(query if where is None else query.where(where).limit(ROWS)).all()


def _last_seen(session: Session, where: ColumnElement[bool]) -> dt.date | None:
    return session.scalar(select(func.max(Scouting.seen_on)).where(Scouting.archived_at.is_(None), where))


def _treatments(session: Session, where: ColumnElement[bool]) -> int:
    return session.scalar(select(func.count(Treatment.id)).where(Treatment.archived_at.is_(None), where)) or 0
