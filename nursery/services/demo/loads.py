"""The demo's loads beside those of the finished season: one in each state in which a load can be.

Plants go from batches that have the most beyond what their target wants, so that the forecast keeps its story.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Dispatch, DispatchLine, Site
from nursery.planning.growing.words import STAGES, Stage
from nursery.services.demo.tables import rows
from nursery.services.dispatches.judging import judge_batches
from nursery.services.dispatches.planning import add_line, cancel_load, plan_load
from nursery.services.dispatches.proposing import make_load
from nursery.services.dispatches.receiving import receive
from nursery.services.dispatches.returning import note_return
from nursery.services.dispatches.sending import send
from nursery.services.health.quarantine import standing_quarantines
from nursery.services.quality.checking import record_look
from nursery.services.quality.words import Defect
from nursery.services.work.following import all_at_once

#: Measures of the plants looked at; invented.
_HEIGHTS, _COLLARS = (24.0, 27.5, 31.0, 22.5, 26.0), (3.1, 3.6, 4.0, 2.9, 3.4)


class _Part(NamedTuple):
    """A batch with the plants that it can spare for a load."""

    batch: Batch
    site: Site


def write_loads(session: Session, actor: str, today: dt.date) -> None:
    """A load for each line of the table, from the next batch that fits."""
    parts = _parts(session, today)
    for part in parts[:2]:
        _look(session, actor, part.batch, today)
    with all_at_once(session, actor, today=today):
        for number, row in enumerate(rows("loads") if parts else ()):
            _write(session, actor, row, parts[number % len(parts)], today)


def _write(session: Session, actor: str, row: dict[str, str], part: _Part, today: dt.date) -> Dispatch:
    day = today + dt.timedelta(days=int(row["day"]))
    if row["story"] == "proposed":
        load = make_load(session, actor, site=part.site, planned_on=day, today=today)
        if not load.lines:
            _add(session, actor, load, part, int(row["plants"]), today)
        return load
    values = {"driver": row["driver"], "vehicle": row["vehicle"], "notes": row["notes"]}
    load = plan_load(session, actor, site_id=part.site.id, planned_on=day, today=today, values=values)
    line = _add(session, actor, load, part, int(row["plants"]), today)
    if row["story"] == "cancelled":
        return cancel_load(session, actor, load=load, reason=row["reason"])
    send(session, actor, load=load, sent_on=day, today=today, reason=row["reason"])
    if row["taken_by"]:
        receive(
            session, actor, load=load, received_on=day, received_by=row["taken_by"], received_time=row["time"],
            received={line.id: (line.sent or 0) - int(row["missing"])}, today=today,
        )  # fmt: skip
    if int(row["back"]):
        note_return(
            session, actor, line=line, plants=int(row["back"]), returned_on=day + dt.timedelta(days=1),
            condition=row["condition"], today=today,
        )  # fmt: skip
    return load


def _look(session: Session, actor: str, batch: Batch, today: dt.date) -> None:
    """Some plants of a batch are looked at before it goes."""
    seen = min(batch.alive, 20)
    record_look(
        session, actor, batch=batch, checked_on=today - dt.timedelta(days=1), looked_at=seen, fair=seen - 1,
        heights_cm=_HEIGHTS[:seen], collars_mm=_COLLARS[:seen], defects={Defect.ROOTS: 1}, today=today,
        notes="From every tray, not the best ones (example)",
    )  # fmt: skip


def _add(session: Session, actor: str, load: Dispatch, part: _Part, plants: int, today: dt.date) -> DispatchLine:
    return add_line(
        session, actor, load=load, batch_id=part.batch.id, plants=min(plants, part.batch.alive), today=today
    )


def _parts(session: Session, today: dt.date) -> Sequence[_Part]:
    """Batches that may go to their target's site, those furthest grown and with most to spare first."""
    held = set(session.scalars(select(DispatchLine.batch_id)))
    batches = [
        batch
        for batch in session.scalars(select(Batch).where(Batch.alive > 0, Batch.archived_at.is_(None)))
        if batch.target is not None and batch.id not in held and batch.stage is not Stage.SOWN
        and batch.target.site.recipient_id is None
    ]  # fmt: skip
    shut = standing_quarantines(session, [batch.id for batch in batches])
    found = [
        _Part(batch, batch.target.site)
        for batch in batches
        if batch.target is not None and batch.id not in shut
        and judge_batches(session, [batch.id], batch.target.site_id, today=today)[batch.id].allowed
    ]  # fmt: skip
    return sorted(found, key=lambda part: (-STAGES.index(part.batch.stage), -_spare(part.batch), part.batch.id))


def _spare(batch: Batch) -> int:
    wanted = batch.target.plants if batch.target is not None else 0
    return batch.alive - (wanted or 0)
