"""What the plant ledger says of plants that came back, and of those that never arrived."""

from __future__ import annotations

import datetime as dt
import uuid

from sqlalchemy.orm import Session

from nursery.models import PlantMovement, ReturnedPlants
from nursery.models.dispatches import ReturnDecision
from nursery.planning.growing.words import Cause
from nursery.planning.rounding import whole
from nursery.services.batches.dispatching import bring_back
from nursery.services.batches.losing import lose
from nursery.services.batches.moving import alter
from nursery.services.batches.reversing import reverse_act
from nursery.services.batches.settling import next_count


def loss_mark(act: str) -> str:
    """Mark of the loss that follows a return: a return and its loss are two acts, since a batch that has nothing
    else alive takes them back one after the other."""
    return uuid.uuid5(uuid.UUID(hex=act), "lost").hex


def come_back(
    session: Session, actor: str, row: ReturnedPlants, *, happened_on: dt.date, today: dt.date, reason: str
) -> str:
    """Plants are in their batch again, with the trays in which they came; one that has no tray gets those that
    they need. Returns the act."""
    batch, act = row.line.batch, _returned(session, actor, row, happened_on, today, reason).act
    trays = batch.trays
    if next_count(session, batch, happened_on) is None:  # else that count found the trays as they stand
        trays += row.trays or 0
    if batch.alive and not trays:
        trays = max(int(whole(batch.alive / (batch.cells_per_tray or batch.alive))), 1)
    if trays != batch.trays:
        alter(session, actor, batch, {"trays": trays}, act=act)
        session.flush()
    return act


def come_back_and_be_lost(
    session: Session, actor: str, row: ReturnedPlants, *, happened_on: dt.date, today: dt.date, reason: str
) -> str:
    """Plants leave the site and are lost at once: neither site nor batch counts them. Returns the act."""
    act = _returned(session, actor, row, happened_on, today, reason).act
    lose(
        session, actor, batch=row.line.batch, plants=row.plants, happened_on=happened_on, today=today,
        cause=Cause.HANDLING if row.is_missing else Cause.DESTROYED, reason=reason, act=loss_mark(act),
    )  # fmt: skip
    return act


def take_settled_back(session: Session, actor: str, row: ReturnedPlants, *, reason: str, today: dt.date) -> None:
    """What the ledger says of plants that came back or were missing is reversed."""
    if row.decision is ReturnDecision.DISCARDED:
        reverse_act(session, actor, act=loss_mark(row.act), reason=reason, today=today)
    reverse_act(session, actor, act=row.act, reason=reason, today=today)


def _returned(
    session: Session, actor: str, row: ReturnedPlants, happened_on: dt.date, today: dt.date, reason: str
) -> PlantMovement:
    line = row.line
    return bring_back(
        session, actor, batch=line.batch, site_id=line.dispatch.site_id, plants=row.plants,
        happened_on=happened_on, today=today, reason=reason, target_id=line.target_id,
    )  # fmt: skip
