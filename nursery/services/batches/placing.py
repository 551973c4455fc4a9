"""Trays on benches: put there, taken away, moved from one to another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, Bench, Placement
from nursery.services import acting, auditing, records
from nursery.services.batches.moving import alter, check_act, whole_act
from nursery.services.batches.words import trays_text
from nursery.services.health.quarantine import bench_quarantine, refusal, refuse_shut_off


def standing(session: Session, batch: Batch) -> Sequence[Placement]:
    """Where trays of a batch stand now, the oldest place first."""
    return session.scalars(
        select(Placement)
        .where(Placement.batch_id == batch.id, Placement.until_on.is_(None))
        .options(joinedload(Placement.bench))
        .order_by(Placement.from_on, Placement.id)
    ).all()


def place(
    session: Session, actor: str, *, batch: Batch, bench_id: int, trays: int, from_on: dt.date, today: dt.date
) -> Placement:
    """Put trays that stand on no bench yet onto one.

    Raises
    ------
    Invalid
        At ``trays`` when so many are not free to be placed, at ``bench_id`` for a bench that is not in use or is
        shut off, at ``from_on`` for a day that cannot be.
    """
    check_act(batch, happened_on=from_on, today=today, field="from_on")
    bench = records.get(session, Bench, bench_id)
    if bench.archived_at is not None:
        raise Invalid({"bench_id": _("%(bench)s is no longer in use. Choose another bench.", bench=bench.name)})
    if (shut := bench_quarantine(session, bench.id)) is not None:
        raise Invalid({"bench_id": refusal(shut)})
    free = batch.trays - sum(one.trays for one in standing(session, batch))
    if trays < 1:
        raise Invalid({"trays": _("Give a number of trays above zero.")})
    if trays > free:
        raise Invalid(
            {
                "trays": _(
                    "Of %(batch)s, %(free)s stand on no bench; %(asked)s cannot be placed. Move those that stand"
                    " elsewhere, or correct the trays.",
                    batch=batch.code,
                    free=trays_text(max(free, 0)),
                    asked=trays_text(trays),
                )
            }
        )
    row = Placement(batch_id=batch.id, bench_id=bench.id, trays=trays, from_on=from_on, person=actor)
    session.add(row)
    acting.must_reach(session, row)  # the bench may be another nursery's
    auditing.record(session, actor, action="placed", row=batch, details={"bench": [None, bench.name]})
    session.flush()
    _follow_home(session, actor, batch)
    session.expire(batch, ["placements"])
    return row


def _follow_home(session: Session, actor: str, batch: Batch) -> None:
    """A batch is of the nursery where all of its trays stand; one that has none, of that of its first bench."""
    stands = standing(session, batch)
    homes = {session.get_one(Bench, one.bench_id).nursery_id for one in stands}
    is_whole = sum(one.trays for one in stands) == batch.trays and len(homes) == 1
    if batch.nursery_id is None or (is_whole and batch.nursery_id not in homes):
        alter(session, actor, batch, {"nursery_id": session.get_one(Bench, stands[-1].bench_id).nursery_id})


def leave(
    session: Session, actor: str, *, batch: Batch, bench_id: int, trays: int, on: dt.date, today: dt.date
) -> None:
    """Take trays away from a bench, those that came first going first; the rest stays."""
    check_act(batch, happened_on=on, today=today, field="from_on")
    refuse_shut_off(session, batch)
    _take_away(session, actor, batch, bench_id, trays, on)


def move_trays(
    session: Session, actor: str, *, batch: Batch, from_bench_id: int, to_bench_id: int, trays: int,
    on: dt.date, today: dt.date,
) -> Placement:  # fmt: skip
    """From one bench to another on one day; refused whole for what is in quarantine."""
    if from_bench_id == to_bench_id:
        raise Invalid({"bench_id": _("The trays stand there already. Choose another bench.")})
    with whole_act(session, [batch]):
        leave(session, actor, batch=batch, bench_id=from_bench_id, trays=trays, on=on, today=today)
        return place(session, actor, batch=batch, bench_id=to_bench_id, trays=trays, from_on=on, today=today)


def fit_places(session: Session, actor: str, batch: Batch, on: dt.date) -> None:
    """Take from benches what the batch no longer has in trays, the newest places first."""
    rows = list(standing(session, batch))
    over = sum(one.trays for one in rows) - batch.trays
    for row in reversed(rows):
        if over <= 0:
            return
        gone = min(over, row.trays)
        _take_away(session, actor, batch, row.bench_id, gone, max(on, row.from_on))
        over -= gone


def take_from(
    session: Session, actor: str, batch: Batch, benches: Mapping[int, int], most: int, on: dt.date
) -> None:
    """Take trays from benches by their id, as many as stand there, and not more than ``most`` in all."""
    for bench_id, trays in benches.items():
        rows = [one for one in standing(session, batch) if one.bench_id == bench_id]
        gone = min(trays, most, sum(one.trays for one in rows))
        if gone:
            _take_away(session, actor, batch, bench_id, gone, max(on, *(one.from_on for one in rows)))
            most -= gone


def _take_away(session: Session, actor: str, batch: Batch, bench_id: int, trays: int, on: dt.date) -> None:
    rows = [one for one in standing(session, batch) if one.bench_id == bench_id]
    there = sum(one.trays for one in rows)
    if trays < 1 or trays > there:
        raise Invalid(
            {
                "trays": _(
                    "%(there)s of %(batch)s stand there; give a number from 1 to that.",
                    there=trays_text(there),
                    batch=batch.code,
                )
            }
        )
    if on < max(one.from_on for one in rows):
        raise Invalid(
            {
                "from_on": _(
                    "They stand there since %(day)s and cannot have left before. Correct the day.",
                    day=format_date(max(one.from_on for one in rows)),
                )
            }
        )
    left = trays
    for row in rows:
        if not left:
            break
        gone = min(left, row.trays)
        left -= gone
        row.until_on = on
        if row.trays > gone:  # the days before stay as they were; what remains goes on from here
            session.add(
                Placement(
                    batch_id=batch.id, bench_id=bench_id, trays=row.trays - gone, from_on=on, person=row.person
                )
            )
    auditing.record(session, actor, action="placed", row=batch, details={"bench": [rows[0].bench.name, None]})
    session.flush()
    session.expire(batch, ["placements"])
