"""Each act on plants: what it does to the ledger, to trays and benches, and what it refuses."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select

from nursery.errors import Conflict, Invalid
from nursery.models import Batch, PlantMovement
from nursery.models.places import IndigenousStatus
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import batches
from nursery.services.batches.sums import PlantSums
from nursery.services.health.quarantine import lift, quarantine
from tests.services.batches.conftest import ANA, EMERGED, TODAY, Floor

DAY = dt.date(2026, 10, 20)
WHEN: dict[str, Any] = {"happened_on": DAY, "today": TODAY}


def stands(floor: Floor, batch: Batch) -> list[tuple[str, int]]:
    return [(one.bench.name, one.trays) for one in batches.standing(floor.session, batch)]


def test_a_loss_has_its_cause_and_the_trays_stay(floor: Floor) -> None:
    batch = floor.counted(300, bench_id=floor.benches[0].id)
    row = batches.lose(floor.session, ANA, batch=batch, plants=20, cause=Cause.PEST, reason="slugs", **WHEN)

    assert (row.change, row.cause, row.reason, batch.alive, batch.trays) == (-20, Cause.PEST, "slugs", 280, 10)
    assert stands(floor, batch) == [("North", 10)]


def test_a_batch_that_lost_all_leaves_its_benches(floor: Floor) -> None:
    batch = floor.counted(300, bench_id=floor.benches[0].id)
    batches.lose(floor.session, ANA, batch=batch, plants=300, cause=Cause.FROST, **WHEN)

    assert (batch.alive, batch.trays, stands(floor, batch)) == (0, 0, [])


def test_a_loss_says_which_trays_are_left(floor: Floor) -> None:
    batch = floor.counted(300, bench_id=floor.benches[0].id)
    batches.lose(floor.session, ANA, batch=batch, plants=80, cause=Cause.ANIMALS, trays_left=7, **WHEN)

    assert (batch.trays, stands(floor, batch)) == (7, [("North", 7)])
    for trays in (0, 8):
        with pytest.raises(Invalid) as refused:
            batches.lose(floor.session, ANA, batch=batch, plants=1, cause=Cause.ANIMALS, trays_left=trays, **WHEN)
        assert list(refused.value.errors) == ["trays"]
    assert batch.alive == 220


@pytest.mark.parametrize(
    ("plants", "day", "field"),
    [(301, DAY, "plants"), (0, DAY, "plants"), (5, TODAY + dt.timedelta(1), "happened_on"),
     (5, dt.date(2026, 8, 1), "happened_on")],
)  # fmt: skip
def test_what_cannot_be_lost_is_refused(floor: Floor, plants: int, day: dt.date, field: str) -> None:
    batch = floor.counted(300)

    with pytest.raises(Invalid) as refused:
        batches.lose(
            floor.session, ANA, batch=batch, plants=plants, cause=Cause.PEST, happened_on=day, today=TODAY
        )

    assert (list(refused.value.errors), batch.alive) == ([field], 300)


def test_trays_move_between_benches_and_history_stays(floor: Floor) -> None:
    north, south = floor.benches
    batch = floor.sow(bench_id=north.id)
    batches.move_trays(
        floor.session, ANA, batch=batch, from_bench_id=north.id, to_bench_id=south.id, trays=4, on=DAY, today=TODAY
    )

    assert stands(floor, batch) == [("North", 6), ("South", 4)]
    spans = sorted(
        (one.bench.name, one.trays, one.from_on, one.until_on) for one in batch.placements if one.until_on
    )
    assert spans == [("North", 10, batch.sown_on, DAY)]


@pytest.mark.parametrize(("trays", "field"), [(0, "trays"), (11, "trays")])
def test_no_more_trays_stand_somewhere_than_there_are(floor: Floor, trays: int, field: str) -> None:
    batch = floor.sow()

    with pytest.raises(Invalid) as refused:
        batches.place(
            floor.session, ANA, batch=batch, bench_id=floor.benches[0].id, trays=trays, from_on=DAY, today=TODAY
        )

    assert list(refused.value.errors) == [field]


def test_a_move_that_is_refused_changes_nothing(floor: Floor) -> None:
    north, south = floor.benches
    batch = floor.sow(bench_id=north.id)
    south.archived_at = dt.datetime.now(dt.UTC)
    floor.session.flush()

    with pytest.raises(Invalid, match="South is no longer in use"):
        batches.move_trays(
            floor.session, ANA, batch=batch, from_bench_id=north.id, to_bench_id=south.id, trays=4, on=DAY,
            today=TODAY,
        )  # fmt: skip
    assert stands(floor, batch) == [("North", 10)]


def test_a_split_keeps_origin_shares_seed_and_trays(floor: Floor) -> None:
    batch = floor.counted(300, bench_id=floor.benches[0].id)
    part = batches.split(floor.session, ANA, batch=batch, plants=90, **WHEN)

    assert (batch.alive, part.alive) == (210, 90)
    assert (batch.seeds, part.seeds, batch.trays, part.trays) == (280, 120, 7, 3)
    assert (part.lot_id, part.stage, part.sown_on, part.seed_act) == (
        batch.lot_id, batch.stage, batch.sown_on, batch.seed_act,
    )  # fmt: skip
    assert stands(floor, batch) == [("North", 7)]
    assert batches.batch_lots(floor.session, [part.id]) == {part.id: {floor.lot.id: 1.0}}


def test_a_sowing_is_split_by_trays_before_anything_comes_up(floor: Floor) -> None:
    batch = floor.sow()
    part = batches.split(floor.session, ANA, batch=batch, plants=0, trays=4, **WHEN)

    assert (batch.seeds, part.seeds, batch.trays, part.trays, part.alive) == (240, 160, 6, 4, 0)
    with pytest.raises(Invalid, match="Leave the plants at 0"):
        batches.split(floor.session, ANA, batch=batch, plants=5, trays=1, **WHEN)


@pytest.mark.parametrize(
    ("plants", "trays", "field"), [(300, None, "plants"), (0, 1, "plants"), (90, 11, "trays")]
)
def test_whole_batches_are_not_split(floor: Floor, plants: int, trays: int | None, field: str) -> None:
    with pytest.raises(Invalid) as refused:
        batches.split(floor.session, ANA, batch=floor.counted(300), plants=plants, trays=trays, **WHEN)

    assert list(refused.value.errors) == [field]


def test_a_part_for_another_target_is_not_the_lines(floor: Floor) -> None:
    first, second = floor.maker.target(), floor.maker.target()
    batch = floor.counted(300, target_id=first.id)
    part = batches.split(floor.session, ANA, batch=batch, plants=50, target_id=second.id, **WHEN)

    assert (part.target_id, part.line_id, batch.target_id) == (second.id, None, first.id)


def test_batches_of_different_lots_merge_by_the_rule_and_shares_stay_readable(floor: Floor) -> None:
    stand = floor.maker.population(code="P-901", region_code="R1", species=floor.lot.species)
    other = floor.maker.lot(code="L/B", pieces=900, population=stand, collected_on=dt.date(2026, 8, 20))
    one, two = floor.counted(300), floor.counted(100, lot=other, seeds=200, trays=5)
    merger = batches.judge_merger(floor.session, [one, two])
    merged = batches.merge(floor.session, ANA, batches=[one, two], **WHEN)

    assert (merger.refusals, merger.needs_certificate) == ([], True)
    assert (merged.alive, merged.lot_id, merged.trays, one.alive, one.trays) == (400, None, 15, 0, 0)
    assert batches.batch_lots(floor.session, [merged.id])[merged.id] == {floor.lot.id: 0.75, other.id: 0.25}
    part = batches.split(floor.session, ANA, batch=merged, plants=40, **WHEN)
    assert batches.batch_lots(floor.session, [part.id])[part.id] == {floor.lot.id: 0.75, other.id: 0.25}


@pytest.mark.parametrize(
    ("population", "told"),
    [
        ({"region_code": "R2"}, "mixed only within one region of provenance"),
        ({"region_code": ""}, "it is not written down for P-901"),
        ({"region_code": "R1", "indigenous_status": IndigenousStatus.INDIGENOUS}, "never mixed with material"),
    ],
)
def test_lots_that_may_not_be_mixed_are_not_merged_as_plants_either(
    floor: Floor, population: dict[str, Any], told: str
) -> None:
    stand = floor.maker.population(code="P-901", species=floor.lot.species, **population)
    other = floor.maker.lot(code="L/B", pieces=900, population=stand, collected_on=dt.date(2026, 8, 20))
    one, two = floor.counted(300), floor.counted(100, lot=other, seeds=200, trays=5)

    with pytest.raises(Invalid, match=told) as refused:
        batches.merge(floor.session, ANA, batches=[one, two], **WHEN)

    assert "RD 289/2003 art. 9(3)" in refused.value.errors["batches"]
    assert (one.alive, two.alive) == (300, 100)


def test_batches_in_different_containers_or_without_plants_are_not_merged(floor: Floor) -> None:
    other = floor.maker.container()
    one, two, three = floor.counted(300), floor.counted(100, container_id=other.id), floor.sow()

    with pytest.raises(Invalid) as refused:
        batches.merge(floor.session, ANA, batches=[one, two, three], **WHEN)

    told = refused.value.errors["batches"]
    assert "They stand in different containers." in told
    assert "They stand in different nurseries." in told
    assert f"{three.code} has no plants alive to merge." in told
    with pytest.raises(Invalid, match="at least two different batches"):
        batches.merge(floor.session, ANA, batches=[one, one], **WHEN)


def test_pricking_out_fills_trays_and_throws_the_surplus_away(floor: Floor) -> None:
    batch = floor.counted(900, method=Method.PRICKED_OUT, seeds=1200, trays=6, bench_id=floor.benches[0].id)
    moved = batches.prick_out(
        floor.session, ANA, batch=batch, pricked=610, container_id=floor.container.id, **WHEN
    )

    assert moved is batch
    assert (batch.alive, batch.trays, batch.cells_per_tray, batch.container_id) == (
        610,
        16,
        40,
        floor.container.id,
    )
    assert stands(floor, batch) == [("North", 16)]
    last = floor.session.scalars(select(PlantMovement).order_by(PlantMovement.id.desc())).first()
    assert last is not None
    assert (last.change, last.cause) == (-290, Cause.THINNED)


@pytest.mark.parametrize(
    ("counted", "surplus", "written"),
    [
        (900, 250, [("lost", -40, "unknown"), ("lost", -250, "thinned")]),
        (900, 310, [("counted", 20, None), ("lost", -310, "thinned")]),
        (None, 50, [("counted", 660, None), ("lost", -50, "thinned")]),
        (None, None, [("counted", 610, None)]),
        (500, None, [("counted", 110, None)]),
        (610, None, []),
    ],
)
def test_what_was_pricked_is_a_count(
    floor: Floor, counted: int | None, surplus: int | None, written: list[Any]
) -> None:
    batch = floor.sow(method=Method.PRICKED_OUT, seeds=1200, trays=6)
    if counted:
        floor.count(batch, counted)
    before = len(floor.session.scalars(select(PlantMovement)).all())
    batches.prick_out(
        floor.session, ANA, batch=batch, pricked=610, surplus=surplus, container_id=floor.container.id, **WHEN
    )

    rows = floor.session.scalars(select(PlantMovement).order_by(PlantMovement.id)).all()[before:]
    assert [(row.kind.value, row.change, row.cause and row.cause.value) for row in rows] == written
    assert (batch.alive, batch.stage) == (610, Stage.EMERGED)


def test_part_of_a_flat_is_pricked_out_and_the_rest_stays(floor: Floor) -> None:
    batch = floor.counted(900, method=Method.PRICKED_OUT, seeds=1200, trays=6)
    moved = batches.prick_out(
        floor.session, ANA, batch=batch, pricked=400, container_id=floor.container.id, rest_stays=True, **WHEN
    )

    assert (moved.alive, moved.trays, moved.cells_per_tray) == (400, 10, 40)
    assert (batch.alive, batch.cells_per_tray) == (500, None)


def test_pricking_out_needs_room_and_flats(floor: Floor) -> None:
    flats = floor.counted(900, method=Method.PRICKED_OUT, seeds=1200, trays=6)
    for batch, values, field in (
        (flats, {"pricked": 610, "trays": 15}, "trays"),
        (flats, {"pricked": 0}, "pricked"),
        (flats, {"pricked": 2401}, "pricked"),
        (flats, {"pricked": 1200, "surplus": 1201}, "pricked"),
        (flats, {"pricked": 5, "surplus": -1}, "surplus"),
        (floor.counted(300), {"pricked": 5}, "container_id"),
    ):
        with pytest.raises(Invalid) as refused:
            batches.prick_out(floor.session, ANA, batch=batch, container_id=floor.container.id, **values, **WHEN)
        assert list(refused.value.errors) == [field]


def test_thinning_is_a_loss_of_its_own_cause(floor: Floor) -> None:
    batch = floor.counted(700, seeds=800)
    row = batches.thin(floor.session, ANA, batch=batch, left=390, **WHEN)
    assert (row.change, row.cause, batch.alive) == (-310, Cause.THINNED, 390)

    batches.thin(floor.session, ANA, batch=batch, removed=10, **WHEN)
    assert batch.alive == 380
    for left in (0, 380):
        with pytest.raises(Invalid, match="after thinning fewer are left"):
            batches.thin(floor.session, ANA, batch=batch, left=left, **WHEN)


def test_plants_go_to_a_site_and_trays_with_them(floor: Floor) -> None:
    target = floor.maker.target(site=floor.site)
    batch = floor.counted(300, bench_id=floor.benches[0].id, target_id=target.id)
    row = batches.dispatch(floor.session, ANA, batch=batch, site_id=floor.site.id, plants=200, **WHEN)

    assert (row.change, row.site_id, row.target_id) == (-200, floor.site.id, target.id)
    assert (batch.alive, batch.trays, stands(floor, batch)) == (100, 4, [("North", 4)])
    batches.bring_back(floor.session, ANA, batch=batch, site_id=floor.site.id, plants=30, **WHEN)
    assert batches.dispatched_to(floor.session, batch) == {floor.site.id: 170}
    assert batches.plant_sums(floor.session, [batch.id])[batch.id] == PlantSums(300, 0, 0, 170)
    with pytest.raises(Invalid, match="170 plants went to Long bank; no more can come back"):
        batches.bring_back(floor.session, ANA, batch=batch, site_id=floor.site.id, plants=171, **WHEN)


def test_a_target_elsewhere_is_refused(floor: Floor) -> None:
    batch = floor.counted(300)
    with pytest.raises(Invalid, match="another site or species"):
        batches.dispatch(
            floor.session, ANA, batch=batch, site_id=floor.site.id, plants=5, target_id=floor.maker.target().id,
            **WHEN,
        )  # fmt: skip
    assert batch.alive == 300


def test_nothing_leaves_quarantine(floor: Floor) -> None:
    north, south = floor.benches
    batch, flats = floor.counted(300, bench_id=north.id), floor.counted(200, method=Method.PRICKED_OUT)
    other = floor.counted(100)
    shut = quarantine(floor.session, ANA, reason="spots on leaves", since=DAY, today=TODAY, batch_id=batch.id)
    quarantine(floor.session, ANA, reason="same room", since=DAY, today=TODAY, batch_id=flats.id)
    session = floor.session
    acts: list[Any] = [
        lambda: batches.dispatch(session, ANA, batch=batch, site_id=floor.site.id, plants=5, **WHEN),
        lambda: batches.split(session, ANA, batch=batch, plants=5, **WHEN),
        lambda: batches.merge(session, ANA, batches=[batch, other], **WHEN),
        lambda: batches.move_trays(
            session, ANA, batch=batch, from_bench_id=north.id, to_bench_id=south.id, trays=1, on=DAY, today=TODAY
        ),
        lambda: batches.prick_out(
            session, ANA, batch=flats, pricked=5, container_id=floor.container.id, **WHEN
        ),
    ]  # fmt: skip
    for act in acts:
        with pytest.raises((Conflict, Invalid), match="Nothing leaves it until somebody lifts the quarantine"):
            act()
    batches.lose(session, ANA, batch=batch, plants=5, cause=Cause.DISEASE, **WHEN)  # what died may be said

    lift(session, ANA, quarantine_id=shut.id, reason="sprayed, clean", today=TODAY)
    batches.dispatch(session, ANA, batch=batch, site_id=floor.site.id, plants=5, **WHEN)
    assert batch.alive == 290


def test_nothing_is_put_on_a_bench_that_is_shut_off(floor: Floor) -> None:
    quarantine(floor.session, ANA, reason="drip", since=DAY, today=TODAY, bench_id=floor.benches[0].id)

    with pytest.raises(Invalid, match="Bench North has been in quarantine"):
        floor.sow(bench_id=floor.benches[0].id)
    assert floor.lot.pieces == 5000


def test_a_stage_is_told_without_a_count_once_there_are_plants(floor: Floor) -> None:
    batch = floor.sow()
    with pytest.raises(Invalid, match="Count it first"):
        batches.set_stage(floor.session, ANA, batch=batch, stage=Stage.HARDENING, on=DAY, today=TODAY)
    floor.count(batch, 300, on=EMERGED)
    batches.set_stage(floor.session, ANA, batch=batch, stage=Stage.HARDENING, on=DAY, today=TODAY)

    assert (batch.stage, batch.stage_on) == (Stage.HARDENING, DAY)


def test_a_wrong_balance_is_told(floor: Floor) -> None:
    batch = floor.counted(300)
    assert batches.wrong_plant_balances(floor.session) == []
    batch.alive = 299
    floor.session.flush()

    assert batches.wrong_plant_balances(floor.session) == [
        f"Batch {batch.code} holds 299 plants, but its movements come to 300 plants."
    ]
