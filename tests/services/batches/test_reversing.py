"""Acts taken back: whole, with what they wrote beside the ledger, or not at all."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select

from nursery.errors import Conflict, Invalid, NotFound
from nursery.models import PlantMovement
from nursery.planning.growing.words import Cause
from nursery.planning.words import Method
from nursery.services import batches
from tests.services.batches.conftest import ANA, TODAY, Floor

DAY = dt.date(2026, 10, 20)
WHEN: dict[str, Any] = {"happened_on": DAY, "today": TODAY}


def test_a_split_is_taken_back_whole(floor: Floor) -> None:
    batch = floor.counted(300)
    part = batches.split(floor.session, ANA, batch=batch, plants=90, **WHEN)
    act = floor.session.scalars(select(PlantMovement.act).order_by(PlantMovement.id.desc())).first()
    batches.reverse_act(floor.session, ANA, act=act or "", reason="not needed", today=TODAY)

    assert (batch.alive, batch.trays, batch.seeds) == (300, 10, 400)
    assert (part.alive, part.trays, part.seeds, part.archived_at is None) == (0, 0, 0, False)


def test_a_pricking_out_is_taken_back_with_its_container(floor: Floor) -> None:
    batch = floor.counted(900, method=Method.PRICKED_OUT, seeds=1200, trays=6)
    batches.prick_out(floor.session, ANA, batch=batch, pricked=610, container_id=floor.container.id, **WHEN)
    act = floor.session.scalars(select(PlantMovement.act).order_by(PlantMovement.id.desc())).first()
    batches.reverse_act(floor.session, ANA, act=act or "", reason="the other flat", today=TODAY)

    assert (batch.alive, batch.trays, batch.cells_per_tray, batch.container_id) == (900, 6, None, None)


def test_a_split_whose_plants_have_moved_on_is_not_taken_back(floor: Floor) -> None:
    batch = floor.counted(300)
    part = batches.split(floor.session, ANA, batch=batch, plants=90, **WHEN)
    act = floor.session.scalars(select(PlantMovement.act).order_by(PlantMovement.id.desc())).first()
    batches.lose(floor.session, ANA, batch=part, plants=1, cause=Cause.PEST, **WHEN)

    with pytest.raises(Invalid, match="has 89 plants alive; 90 plants cannot leave it"):
        batches.reverse_act(floor.session, ANA, act=act or "", reason="not needed", today=TODAY)
    assert (batch.alive, part.alive) == (210, 89)


def test_a_dispatch_whose_plants_came_back_is_not_taken_back_too(floor: Floor) -> None:
    batch = floor.counted(300)
    row = batches.dispatch(floor.session, ANA, batch=batch, site_id=floor.site.id, plants=50, **WHEN)
    batches.bring_back(floor.session, ANA, batch=batch, site_id=floor.site.id, plants=1, **WHEN)

    with pytest.raises(Invalid, match="have come back already"):
        batches.reverse_act(floor.session, ANA, act=row.act, reason="slip", today=TODAY)
    assert batch.alive == 251


def test_a_count_is_not_taken_back_once_the_batch_was_counted_again(floor: Floor) -> None:
    batch = floor.counted(150)
    floor.count(batch, 360, on=DAY)

    with pytest.raises(Conflict, match="was counted again on 20 Oct 2026"):
        batches.reverse_act(floor.session, ANA, act=batch.counts[0].act, reason="slip", today=TODAY)
    assert batch.alive == 360


def test_reversals_need_a_reason_and_an_act_that_stands(floor: Floor) -> None:
    batch = floor.counted(300)
    act = batch.counts[0].act
    with pytest.raises(Invalid, match="why this is taken back"):
        batches.reverse_act(floor.session, ANA, act=act, reason=" ", today=TODAY)
    with pytest.raises(NotFound):
        batches.reverse_act(floor.session, ANA, act="none", reason="slip", today=TODAY)
    done = batches.reverse_act(floor.session, ANA, act=act, reason="slip", today=TODAY)
    with pytest.raises(Conflict, match="taken back already"):
        batches.reverse_act(floor.session, ANA, act=act, reason="slip", today=TODAY)
    with pytest.raises(Invalid, match="is not taken back itself"):
        batches.reverse_act(floor.session, ANA, act=done[0].act, reason="slip", today=TODAY)
