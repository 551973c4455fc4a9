"""How the demo's last season ended: loads that went and arrived, plantings, and the plants left over."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy.orm import Session

from nursery.models import Batch, Dispatch, DispatchLine, Planting
from nursery.planning.growing.words import Cause
from nursery.services.batches.losing import lose
from nursery.services.demo.tables import rows
from nursery.services.dispatches.planning import plan_load
from nursery.services.dispatches.receiving import receive
from nursery.services.dispatches.sending import send
from nursery.services.plantings import create_planting

#: Days from grading to the load, from there to its planting, and on to the day when what is left is thrown away.
_SENT_AFTER, _PLANTED_AFTER, _CLEARED_AFTER = 5, 2, 45


def write_finished(session: Session, actor: str, batches: Sequence[Batch], today: dt.date) -> list[Planting]:
    """A load to each site of the table with what these batches gave for it, planted; the rest is thrown away."""
    by_site: dict[str, list[Batch]] = defaultdict(list)
    for batch in batches:
        if batch.target is not None and batch.alive:
            by_site[batch.target.site.code].append(batch)
    planted: list[Planting] = []
    for row in rows("finished_plantings"):
        own = by_site[row["site"]]
        day = max((_may_leave(batch) for batch in own), default=today)
        if not own or day + _days(_CLEARED_AFTER) > today:
            continue
        load = _load(session, actor, row, own, day, today)
        planted += [_plant(session, actor, row, line, day, today) for line in load.lines if line.received]
        for batch in own:
            _clear(session, actor, batch, day + _days(_CLEARED_AFTER), today)
    return planted


def _days(number: int) -> dt.timedelta:
    return dt.timedelta(days=number)


def _may_leave(batch: Batch) -> dt.date:
    """Some days after grading, and not before the planting that was planned."""
    graded = batch.stage_on + _days(_SENT_AFTER)
    return graded if batch.line is None else max(graded, batch.line.plant_on)


def _load(
    session: Session, actor: str, row: dict[str, str], batches: Sequence[Batch], day: dt.date, today: dt.date
) -> Dispatch:
    lines = [
        {"batch_id": batch.id, "target_id": target.id, "plants": min(batch.alive, target.plants or batch.alive)}
        for batch in batches
        if (target := batch.target) is not None
    ]
    site = batches[0].target
    load = plan_load(
        session, actor, site_id=site.site_id if site else 0, planned_on=day, today=today,
        values={"driver": row["driver"], "vehicle": row["vehicle"]}, lines=lines,
    )  # fmt: skip
    send(session, actor, load=load, sent_on=day, today=today)
    came = {line.id: line.sent or 0 for line in load.lines}
    came[load.lines[0].id] -= int(row["missing"])
    return receive(
        session, actor, load=load, received_on=day, received_by=row["taken_by"], received_time=row["time"],
        received=came, today=today,
    )  # fmt: skip


def _plant(
    session: Session, actor: str, row: dict[str, str], line: DispatchLine, day: dt.date, today: dt.date
) -> Planting:
    plants = line.received or 0
    values = {
        "site_id": line.dispatch.site_id, "lot_id": line.batch.lot_id, "batch_id": line.batch_id,
        "dispatch_line_id": line.id, "planted_on": day + _days(_PLANTED_AFTER), "plants": plants,
        "people": row["people"], "volunteers": int(row["volunteers"]),
        "hours": round(plants / float(row["plants_per_hour"]), 1), "area_m2": plants * float(row["m2_per_plant"]),
        "notes": row["notes"],
    }  # fmt: skip
    return create_planting(session, actor, values=values, today=today)


def _clear(session: Session, actor: str, batch: Batch, day: dt.date, today: dt.date) -> None:
    if batch.alive:
        lose(
            session, actor, batch=batch, plants=batch.alive, cause=Cause.DESTROYED, happened_on=day, today=today,
            reason="Left over and outgrown (example)",
        )  # fmt: skip
