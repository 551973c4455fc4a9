"""Plants that go to a site, and those that come back from it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, PlantMovement, Site, Target
from nursery.models.batches import PlantMovementKind
from nursery.services import records
from nursery.services.batches.leaving import settle_trays, trays_after
from nursery.services.batches.moving import alive_now, check_act, new_act, whole_act
from nursery.services.batches.settling import move_on_day, next_count
from nursery.services.batches.words import plants_text
from nursery.services.dispatches.waiting import read_waiting
from nursery.services.health.quarantine import refuse_shut_off
from nursery.services.work.following import note_dispatched


def dispatch(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    site_id: int,
    plants: int,
    happened_on: dt.date,
    today: dt.date,
    target_id: int | None = None,
    trays_left: int | None = None,
    trays: int | None = None,
    benches: Mapping[int, int] | None = None,
    reason: str = "",
) -> PlantMovement:
    """Send plants to a site.

    ``trays_left`` left out is what ``trays`` that went leave, or is in proportion to the plants that stay;
    ``benches`` are trays by the id of the bench that they were fetched from.

    Raises
    ------
    Invalid
        At ``plants`` for more than are alive, at ``target_id`` for a target of another site or species.
    Conflict
        For a batch in quarantine.
    """
    check_act(batch, happened_on=happened_on, today=today, plants=plants)
    site = records.get(session, Site, site_id)
    refuse_shut_off(session, batch)
    target_id = _target_at(session, batch, site, target_id)
    alive = alive_now(session, batch)
    if trays_left is None and next_count(session, batch, happened_on) is not None:
        trays_left = batch.trays  # the count found the trays as they stand
    elif trays_left is None and plants < alive:
        trays_left = trays_after(batch, alive, alive - plants, trays)
    act = new_act()
    with whole_act(session, [batch]):
        moved = move_on_day(
            session, actor, batch=batch, kind=PlantMovementKind.DISPATCHED, change=-plants, reason=reason,
            happened_on=happened_on, today=today, act=act, site_id=site.id, target_id=target_id,
        )  # fmt: skip
        settle_trays(session, actor, batch, trays_left, happened_on, act, benches or {})
        note_dispatched(session, actor, batch=batch, plants=plants, happened_on=happened_on, today=today)
    return moved


def bring_back(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    site_id: int,
    plants: int,
    happened_on: dt.date,
    today: dt.date,
    reason: str = "",
    target_id: int | None = None,
) -> PlantMovement:
    """Plants that were dispatched come back alive; no more than went there, less those that wait for a decision.

    What people write down goes through `services.dispatches`, which asks for that decision first.
    """
    check_act(batch, happened_on=happened_on, today=today, plants=plants)
    site = records.get(session, Site, site_id)
    alive_now(session, batch)  # nobody else brings the same plants back meanwhile
    there = dispatched_to(session, batch).get(site_id, 0)
    if plants > there:
        raise Invalid(
            {
                "plants": _(
                    "Of %(batch)s, %(there)s went to %(site)s; no more can come back.",
                    batch=batch.code,
                    there=plants_text(there),
                    site=site.name,
                )
            }
        )
    if target_id is None:
        target_id = session.scalar(
            select(PlantMovement.target_id)
            .where(PlantMovement.batch_id == batch.id, PlantMovement.site_id == site_id)
            .order_by(PlantMovement.id.desc())
            .limit(1)
        )
    moved = move_on_day(
        session, actor, batch=batch, kind=PlantMovementKind.RETURNED, change=plants, reason=reason,
        happened_on=happened_on, today=today, site_id=site_id, target_id=target_id,
    )  # fmt: skip
    note_dispatched(session, actor, batch=batch, plants=-plants, happened_on=happened_on, today=today)
    return moved


def dispatched_to(session: Session, batch: Batch) -> dict[int, int]:
    """Plants of a batch by the site they went to; those that came back (whatever is decided about them) or were
    taken back left out."""
    undone = aliased(PlantMovement)
    site = func.coalesce(PlantMovement.site_id, undone.site_id)
    rows = session.execute(
        select(site, -func.sum(PlantMovement.change))
        .outerjoin(undone, PlantMovement.reverses_id == undone.id)
        .where(PlantMovement.batch_id == batch.id, site.is_not(None))
        .group_by(site)
    )
    found = {site_id: int(plants) for site_id, plants in rows if plants}
    for one in read_waiting(session, [batch.id]):
        found[one.site_id] = found.get(one.site_id, 0) - one.plants
    return {site_id: plants for site_id, plants in found.items() if plants}


def _target_at(session: Session, batch: Batch, site: Site, target_id: int | None) -> int | None:
    """The target named, else the one the batch was sown for where that is at this site."""
    if target_id is None:
        own = batch.target
        return own.id if own is not None and own.site_id == site.id else None
    target = records.get(session, Target, target_id)
    if target.site_id != site.id or target.species_id != batch.species_id:
        raise Invalid(
            {"target_id": _("That target is of another site or species. Choose one of %(site)s.", site=site.name)}
        )
    return target.id
