"""Pricking out: seedlings from flats into trays of cells; what is not pricked is thrown away, or stays."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, Bench, Container
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.rounding import whole
from nursery.services import records
from nursery.services.batches.counting import too_many
from nursery.services.batches.moving import alive_now, alter, check_act, move, new_act, whole_act
from nursery.services.batches.placing import fit_places, place, standing
from nursery.services.batches.settling import refuse_before_count
from nursery.services.batches.splitting import split
from nursery.services.batches.words import plants_text
from nursery.services.health.quarantine import refuse_shut_off
from nursery.services.work.following import note_batch


def prick_out(
    session: Session,
    actor: str,
    *,
    batch: Batch,
    pricked: int,
    container_id: int,
    happened_on: dt.date,
    today: dt.date,
    trays: int | None = None,
    surplus: int | None = None,
    rest_stays: bool = False,
    bench_id: int | None = None,
    reason: str = "",
) -> Batch:
    """Write down what was pricked out, and give back the batch that stands in cells now.

    What the ledger knew beyond the plants ``pricked`` is surplus and lost of cause thinned; ``surplus`` says how
    many those were where somebody counted them. With ``rest_stays`` the rest stays in its flats, and the pricked
    plants become a batch of their own. ``trays`` left out are as many as the cells need. The trays stand on
    ``bench_id``, else where the flats stood if that was one bench.

    Raises
    ------
    Invalid
        At ``pricked``, ``container_id``, ``trays``, ``surplus`` or ``happened_on``.
    Conflict
        For a batch in quarantine.
    """
    check_act(batch, happened_on=happened_on, today=today)
    container = records.get(session, Container, container_id)
    refuse_before_count(session, batch, happened_on)
    trays = _check(batch, pricked, container, trays, surplus)
    refuse_shut_off(session, batch)
    act = new_act()
    with whole_act(session, [batch]):
        _reckon(session, actor, batch, pricked, surplus, rest_stays, happened_on, act, reason)
        if rest_stays and batch.alive > pricked:
            moved = split(
                session, actor, batch=batch, plants=pricked, trays=1, happened_on=happened_on, today=today,
                reason=reason, act=act,
            )  # fmt: skip
        else:
            moved = batch
        where = {one.bench_id for one in standing(session, batch)}
        _pot(session, actor, moved, container, trays, happened_on, act)
        bench = bench_id if bench_id is not None else where.pop() if len(where) == 1 else None
        if bench is not None and session.get_one(Bench, bench).nursery_id == container.nursery_id:
            place(session, actor, batch=moved, bench_id=bench, trays=trays, from_on=happened_on, today=today)
        note_batch(session, actor, batch=moved, today=today)
    return moved


def _reckon(
    session: Session,
    actor: str,
    batch: Batch,
    pricked: int,
    surplus: int | None,
    rest_stays: bool,
    happened_on: dt.date,
    act: str,
    reason: str,
) -> None:
    """Bring the plants alive to what was found, and write the surplus off."""
    alive = alive_now(session, batch)
    found = pricked + surplus if surplus is not None else max(pricked, alive)
    steps: list[tuple[PlantMovementKind, int, Cause | None]] = []
    if found > alive:
        steps.append((PlantMovementKind.COUNTED, found - alive, None))
    elif found < alive and not rest_stays:
        steps.append((PlantMovementKind.LOST, found - alive, Cause.UNKNOWN))
    thrown = surplus if surplus is not None else (0 if rest_stays else found - pricked)
    if thrown:
        steps.append((PlantMovementKind.LOST, -thrown, Cause.THINNED))
    for kind, change, cause in steps:
        move(
            session, actor, batch=batch, kind=kind, change=change, cause=cause, reason=reason,
            happened_on=happened_on, act=act,
        )  # fmt: skip


def _pot(
    session: Session, actor: str, batch: Batch, container: Container, trays: int, on: dt.date, act: str
) -> None:
    """From flats into cells: the flats leave the benches, the trays are free to be placed."""
    alter(session, actor, batch, {"trays": 0}, act=act)
    fit_places(session, actor, batch, on)
    values: dict[str, Any] = {
        "trays": trays,
        "container_id": container.id,
        "cells_per_tray": container.cells_per_tray,
        "nursery_id": container.nursery_id,
        "seeds_per_cell": 1,
    }
    if batch.stage is Stage.SOWN:
        values |= {"stage": Stage.EMERGED, "stage_on": on}
    alter(session, actor, batch, values, act=act)


def _check(batch: Batch, pricked: int, container: Container, trays: int | None, surplus: int | None) -> int:
    refused = {}
    if pricked < 1:
        refused["pricked"] = _("Give the seedlings that were pricked out, one or more.")
    elif refusal := too_many(batch, pricked + max(surplus or 0, 0)):
        refused["pricked"] = refusal
    if surplus is not None and surplus < 0:
        refused["surplus"] = _("Give the seedlings thrown away: 0 or more.")
    if batch.cells_per_tray is not None:
        refused["container_id"] = _("%(batch)s stands in cells already.", batch=batch.code)
    needed = int(whole(pricked / container.cells_per_tray))
    if trays is not None and trays < needed:
        refused["trays"] = _(
            "%(plants)s need %(needed)s trays of %(cells)s cells. Give at least as many.",
            plants=plants_text(pricked),
            needed=needed,
            cells=container.cells_per_tray,
        )
    if refused:
        raise Invalid(refused)
    return trays if trays is not None else needed
