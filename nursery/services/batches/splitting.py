"""Part of a batch becomes a batch of its own and keeps its origin."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import inspect
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.models.batches import PlantMovementKind
from nursery.services import records
from nursery.services.batches.leaving import settle_trays, trays_in_proportion
from nursery.services.batches.moving import alive_now, alter, check_act, move, new_act, whole_act
from nursery.services.batches.placing import fit_places
from nursery.services.batches.settling import refuse_before_count
from nursery.services.batches.words import plants_text, trays_text
from nursery.services.codes import check_lot_code, next_code
from nursery.services.health.quarantine import refuse_shut_off
from nursery.services.work.following import note_batch

#: What a new batch does not take over from the one it was taken from.
_OWN = {"id", "version", "created_at", "archived_at", "code", "notes", "alive", "seeds", "trays"}


def split(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    plants: int,
    happened_on: dt.date,
    today: dt.date,
    trays: int | None = None,
    code: str = "",
    target_id: int | None = None,
    reason: str = "",
    act: str = "",
) -> Batch:
    """A new batch of some plants (or, before anything has come up, of some trays) of this one.

    ``trays`` left out is in proportion to the plants. Seeds sown are shared as the plants are, so that they add up
    to what was withdrawn. Something stays behind: whole batches are not split.

    Raises
    ------
    Invalid
        At ``plants`` or ``trays`` for more than there is, at ``happened_on`` for a day that cannot be.
    Conflict
        For a batch in quarantine.
    """
    check_act(batch, happened_on=happened_on, today=today)
    refuse_before_count(session, batch, happened_on)
    refuse_shut_off(session, batch)
    alive = alive_now(session, batch)
    gone = _trays_gone(batch, alive, plants, trays)
    share = plants / alive if alive else gone / batch.trays
    seeds = round(batch.seeds * share)
    left = batch.trays - gone if alive else None
    act = act or new_act()
    with whole_act(session, [batch]):
        part = records.create(
            session, actor, Batch, _like(session, batch, code, target_id, seeds, gone) | {"alive": 0}
        )
        alter(session, actor, batch, {"seeds": batch.seeds - seeds}, act=act)
        if alive:
            for one, other, change in ((batch, part, -plants), (part, batch, plants)):
                move(
                    session, actor, batch=one, kind=PlantMovementKind.SPLIT, change=change, reason=reason,
                    happened_on=happened_on, act=act, other_batch=other,
                )  # fmt: skip
            settle_trays(session, actor, batch, max(left or 0, 1), happened_on, act)
        else:
            alter(session, actor, batch, {"trays": batch.trays - gone}, act=act)
            fit_places(session, actor, batch, happened_on)
        for one in (batch, part):
            note_batch(session, actor, batch=one, today=today)
    return part


def _trays_gone(batch: Batch, alive: int, plants: int, trays: int | None) -> int:
    refused = {}
    if alive and not 0 < plants < alive:
        refused["plants"] = _(
            "%(batch)s has %(alive)s alive; fewer than that can be taken out, and at least one.",
            batch=batch.code,
            alive=plants_text(alive),
        )
    elif not alive and plants:
        refused["plants"] = _(
            "Nothing of %(batch)s has been counted yet. Leave the plants at 0 and give the trays.",
            batch=batch.code,
        )
    elif not alive and batch.lot_id is None:
        refused["plants"] = _("%(batch)s has no plants to take out.", batch=batch.code)
    if refused:
        raise Invalid(refused)
    gone = trays if trays is not None else batch.trays - trays_in_proportion(batch, alive, alive - plants)
    most = batch.trays if alive else batch.trays - 1
    least = 1 if trays is not None or not alive else 0
    if not least <= gone <= most:
        raise Invalid(
            {
                "trays": _(
                    "%(batch)s stands in %(trays)s; give from 1 to %(most)s for the new batch.",
                    batch=batch.code,
                    trays=trays_text(batch.trays),
                    most=most,
                )
            }
        )
    return max(gone, 1)


def _like(
    session: Session, batch: Batch, code: str, target_id: int | None, seeds: int, trays: int
) -> dict[str, Any]:
    values = {name: getattr(batch, name) for name in inspect(Batch).columns.keys() if name not in _OWN}  # noqa: SIM118 -- a column collection, not a dict
    if target_id is not None and target_id != batch.target_id:
        values |= {"target_id": target_id, "line_id": None}
    return values | {"code": code_for(session, code, batch.sown_on), "seeds": seeds, "trays": trays}


def code_for(session: Session, typed: str, sown_on: dt.date) -> str:
    """The code typed, else the next one of the year of sowing."""
    return check_lot_code(typed) if typed else next_code(session, Batch.code, f"B{sown_on:%y}-")
