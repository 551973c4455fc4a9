"""Writing plantings down and correcting them; what was planted beyond what arrived."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch, Lot, Planting, Site
from nursery.services import checking, limits, records
from nursery.services.batches.dispatching import dispatched_to
from nursery.services.batches.origins import batch_lots
from nursery.services.batches.words import plants_text
from nursery.services.planting_people import AREA_M2, HOURS, VOLUNTEERS, refuse_hours
from nursery.services.plantings.arrived import Arrived, arrived_line
from nursery.services.work.syncing import sync_surveys

_COLUMNS = (
    "site_id", "lot_id", "batch_id", "planted_on", "plants", "dispatch_line_id", "people", "volunteers", "hours",
    "area_m2",
)  # fmt: skip


def create_planting(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Planting:
    """Write a planting down. What the rules of origin say of it refuses nothing: it has happened."""
    _check(session, values, today)
    row = records.create(session, actor, Planting, values)
    sync_surveys(session, actor, today=today, sites={row.site_id})
    return row


def change_planting(
    session: Session,
    actor: str,
    *,
    row: Planting,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Planting:
    """Correct a planting."""
    _check(session, {**{name: getattr(row, name) for name in _COLUMNS}, **values}, today, row)
    before = row.site_id
    changed = records.update(session, actor, row, values, version=version)
    sync_surveys(session, actor, today=today, sites={before, changed.site_id})
    return changed


def archive_planting(session: Session, actor: str, *, row: Planting, today: dt.date) -> Planting:
    """Put a planting aside: nobody is asked any longer to count what lives of it."""
    put = records.archive(session, actor, row)
    sync_surveys(session, actor, today=today, sites={put.site_id})
    return put


def restore_planting(session: Session, actor: str, *, row: Planting, today: dt.date) -> Planting:
    """Bring a planting back, and with it the counts of what lives."""
    put = records.restore(session, actor, row)
    sync_surveys(session, actor, today=today, sites={put.site_id})
    return put


def _check(session: Session, values: Mapping[str, Any], today: dt.date, row: Planting | None = None) -> None:
    refused: dict[str, str] = {}
    lot = records.get(session, Lot, values["lot_id"])
    records.get(session, Site, values["site_id"])
    day, plants = values["planted_on"], values["plants"]
    if refusal := limits.PLANTS.refusal(plants):
        refused["plants"] = refusal
    elif plants != int(plants):
        refused["plants"] = _("%(value)s is not a whole number. Leave the decimals out.", value=plants)
    if day > today:
        refused["planted_on"] = _(
            "%(day)s is still to come. Write a planting down on its day or later.", day=format_date(day)
        )
    elif day < lot.collected_on:
        refused["planted_on"] = _(
            "%(day)s is before lot %(lot)s was collected, on %(collected)s. Correct the day or the lot.",
            day=format_date(day),
            lot=lot.code,
            collected=format_date(lot.collected_on),
        )
    if (batch_id := values.get("batch_id")) is not None:
        refused |= _wrong_batch(session, records.get(session, Batch, batch_id), lot)
    refused |= checking.beyond(values, {"volunteers": VOLUNTEERS, "hours": HOURS, "area_m2": AREA_M2})
    refused |= {name: told for name, told in refuse_hours(values).items() if name not in refused}
    refused = _wrong_line(session, values, row) | refused
    if refused:
        raise Invalid(refused)


def _wrong_batch(session: Session, batch: Batch, lot: Lot) -> dict[str, str]:
    """A batch tells its lots; the planting names one of them."""
    if lot.id in batch_lots(session, [batch.id])[batch.id]:
        return {}
    return {
        "batch_id": _(
            "%(batch)s holds no plants of lot %(lot)s. Correct one of them, or leave the lot empty.",
            batch=batch.code,
            lot=lot.code,
        )
    }


def _wrong_line(session: Session, values: Mapping[str, Any], row: Planting | None) -> dict[str, str]:
    """The line of a load that a planting names brought its plants, of its batch, to its site before its day."""
    line_id = values.get("dispatch_line_id")
    if line_id is None:
        return {}
    line = arrived_line(session, line_id)
    if line is None:
        return {"dispatch_line_id": _("This load has not arrived. Write down first who took it over.")}
    if line.site_id != values["site_id"] or values.get("batch_id") not in {None, line.batch_id}:
        told = _(
            "Load %(load)s brought %(batch)s to %(site)s. Correct the load, the batch or the site.",
            load=line.dispatch_code,
            batch=line.batch_code,
            site=line.site_name,
        )
        return {"dispatch_line_id": told}
    if values["planted_on"] < line.received_on:
        told = _(
            "%(day)s is before load %(load)s arrived, on %(arrived)s. Correct the day.",
            day=format_date(values["planted_on"]),
            load=line.dispatch_code,
            arrived=format_date(line.received_on),
        )
        return {"planted_on": told}
    return _beyond_load(line, values["plants"], row)


def _beyond_load(line: Arrived, plants: float, row: Planting | None) -> dict[str, str]:
    """No more is planted of a load than arrived; what was planted before some came back may be corrected."""
    own = _own(line, row) if row is not None and row.archived_at is None else 0
    left = max(line.received - line.planted + own, 0)
    if plants <= max(left, own):
        return {}
    told = _(
        "Of load %(load)s, %(plants)s of %(batch)s are left to be planted. Write down no more than that.",
        load=line.dispatch_code,
        plants=plants_text(left),
        batch=line.batch_code,
    )
    return {"plants": told}


def _own(line: Arrived, row: Planting) -> int:
    """Plants of a line that a planting holds already; where it names no load yet, those it fills of this one."""
    if row.dispatch_line_id == line.line_id:
        return row.plants
    fills = row.dispatch_line_id is None and (row.batch_id, row.site_id) == (line.batch_id, line.site_id)
    return min(row.plants, line.unnamed) if fills else 0


def more_than_arrived(session: Session, row: Planting) -> Arrived | None:
    """The line of the load by which the plants came, where more of it was planted than arrived."""
    if row.dispatch_line_id is None or row.archived_at is not None:
        return None
    line = arrived_line(session, row.dispatch_line_id)
    return line if line is not None and line.planted > line.received else None


def not_dispatched(session: Session, row: Planting) -> int:
    """Plants of the planting's batch that were planted at its site beyond what the batch sent there."""
    batch = session.get(Batch, row.batch_id) if row.batch_id is not None else None
    if batch is None or row.archived_at is not None:
        return 0
    planted = session.scalar(
        select(func.sum(Planting.plants)).where(
            Planting.batch_id == batch.id, Planting.site_id == row.site_id, Planting.archived_at.is_(None)
        )
    )
    return max(int(planted or 0) - dispatched_to(session, batch).get(row.site_id, 0), 0)
