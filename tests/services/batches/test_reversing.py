"""Acts taken back: whole, with what they wrote beside the ledger, or not at all."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select

from nursery.errors import Conflict, Invalid, NotFound
from nursery.models import Evidence, PlantMovement
from nursery.planning.growing.words import Cause, Stage
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


EARLIER = dt.date(2026, 10, 10)


def test_a_dispatch_taken_back_after_a_count_leaves_the_plants_that_the_count_found(floor: Floor) -> None:
    batch = floor.counted(300)
    sent = batches.dispatch(
        floor.session, ANA, batch=batch, site_id=floor.site.id, plants=50, happened_on=EARLIER, today=TODAY
    )
    floor.count(batch, 240, on=DAY)
    batches.reverse_act(floor.session, ANA, act=sent.act, reason="it never left", today=TODAY)

    sums = batches.plant_sums(floor.session)[batch.id]
    assert (batch.alive, batch.trays, sums.counted, sums.lost, sums.dispatched) == (240, 9, 300, 60, 0)
    assert batches.dispatched_to(floor.session, batch) == {}
    newest = batches.read_ledger(floor.session, batch)[0]
    assert (newest.change, newest.cause, newest.reason) == (
        -50,
        Cause.UNKNOWN,
        "Not found at the count of 20 Oct 2026",
    )


def test_a_loss_taken_back_takes_away_what_the_later_count_found_too_many(floor: Floor) -> None:
    batch = floor.counted(300)
    lost = batches.lose(
        floor.session, ANA, batch=batch, plants=50, cause=Cause.PEST, happened_on=EARLIER, today=TODAY
    )
    floor.count(batch, 290, on=DAY)  # it came to 40 more than were known
    batches.reverse_act(floor.session, ANA, act=lost.act, reason="the other bench", today=TODAY)

    sums = batches.plant_sums(floor.session)[batch.id]
    assert (batch.alive, sums.counted, sums.lost) == (290, 300, 10)


def test_a_later_count_that_is_withdrawn_takes_along_what_was_settled_at_it(floor: Floor) -> None:
    batch = floor.counted(300)
    sent = batches.dispatch(
        floor.session, ANA, batch=batch, site_id=floor.site.id, plants=50, happened_on=EARLIER, today=TODAY
    )
    later = floor.count(batch, 250, on=DAY)
    batches.reverse_act(floor.session, ANA, act=sent.act, reason="it never left", today=TODAY)
    batches.withdraw_count(floor.session, ANA, count=later, reason="the wrong batch", today=TODAY)

    assert batch.alive == 300
    assert batches.plant_sums(floor.session)[batch.id].lost == 0


def test_a_return_taken_back_after_a_count_leaves_the_plants_at_their_site(floor: Floor) -> None:
    batch = floor.counted(300)
    batches.dispatch(
        floor.session, ANA, batch=batch, site_id=floor.site.id, plants=50, happened_on=EARLIER, today=TODAY
    )
    back = batches.bring_back(
        floor.session, ANA, batch=batch, site_id=floor.site.id, plants=30, happened_on=EARLIER, today=TODAY
    )
    floor.count(batch, 270, on=DAY)
    batches.reverse_act(floor.session, ANA, act=back.act, reason="they stayed", today=TODAY)

    assert batch.alive == 270
    assert batches.dispatched_to(floor.session, batch) == {floor.site.id: 50}


def test_a_dispatch_written_late_explains_what_a_count_had_missed(floor: Floor) -> None:
    batch = floor.counted(300)
    floor.count(batch, 240, on=DAY)
    batches.dispatch(
        floor.session, ANA, batch=batch, site_id=floor.site.id, plants=50, happened_on=EARLIER, today=TODAY
    )

    sums = batches.plant_sums(floor.session)[batch.id]
    assert (batch.alive, batch.trays, sums.counted, sums.lost, sums.dispatched) == (240, 10, 300, 10, 50)


def test_no_more_can_have_left_before_a_count_than_were_known(floor: Floor) -> None:
    batch = floor.counted(300)
    floor.count(batch, 240, on=DAY)
    with pytest.raises(Invalid, match="Before the count of 20 Oct 2026, B26-001 was thought to hold 300 plants"):
        batches.lose(
            floor.session, ANA, batch=batch, plants=301, cause=Cause.PEST, happened_on=EARLIER, today=TODAY
        )
    assert batch.alive == 240


def test_what_is_taken_back_belongs_to_its_own_day_when_an_older_day_is_counted_late(floor: Floor) -> None:
    batch = floor.counted(300)
    lost = batches.lose(
        floor.session, ANA, batch=batch, plants=50, cause=Cause.PEST, happened_on=EARLIER, today=TODAY
    )
    batches.reverse_act(floor.session, ANA, act=lost.act, reason="slip", today=TODAY)
    floor.count(batch, 300, on=DAY)
    assert batch.alive == 300


@pytest.mark.parametrize("counted", ["whole", "part"])
def test_a_split_is_not_taken_back_once_either_side_was_counted(floor: Floor, counted: str) -> None:
    batch = floor.counted(300)
    part = batches.split(floor.session, ANA, batch=batch, plants=90, happened_on=EARLIER, today=TODAY)
    act = floor.session.scalars(select(PlantMovement.act).order_by(PlantMovement.id.desc())).first()
    floor.count(batch if counted == "whole" else part, 80, on=DAY)

    with pytest.raises(Conflict, match=r"as it stood after this\. If batches are to be brought together"):
        batches.reverse_act(floor.session, ANA, act=act or "", reason="not needed", today=TODAY)


def test_a_batch_is_not_split_on_a_day_before_it_was_counted_whole(floor: Floor) -> None:
    batch = floor.counted(300)
    floor.count(batch, 240, on=DAY)
    with pytest.raises(Invalid, match="was counted on 20 Oct 2026, with all that stood in it then"):
        batches.split(floor.session, ANA, batch=batch, plants=90, happened_on=EARLIER, today=TODAY)


def test_a_loss_from_before_the_pricking_out_is_not_taken_back(floor: Floor) -> None:
    batch = floor.counted(900, method=Method.PRICKED_OUT, seeds=1200, trays=6)
    lost = batches.lose(
        floor.session, ANA, batch=batch, plants=50, cause=Cause.PEST, happened_on=EARLIER, today=TODAY
    )
    batches.prick_out(floor.session, ANA, batch=batch, pricked=610, container_id=floor.container.id, **WHEN)

    with pytest.raises(Conflict, match="was pricked out since"):
        batches.reverse_act(floor.session, ANA, act=lost.act, reason="slip", today=TODAY)


def test_a_thinning_taken_back_changes_what_the_next_count_had_taught(floor: Floor) -> None:
    batch = floor.counted(390)
    pulled = batches.thin(floor.session, ANA, batch=batch, left=320, happened_on=EARLIER, today=TODAY)
    floor.count(batch, 300, stage=Stage.GROWING, on=DAY)
    batches.reverse_act(floor.session, ANA, act=pulled.act, reason="they died", today=TODAY)

    query = select(Evidence.successes, Evidence.trials).where(
        Evidence.rate == "establishment", Evidence.withdrawn_at.is_(None)
    )
    assert floor.session.execute(query).all() == [(300, 390)]
    assert batch.alive == 300
