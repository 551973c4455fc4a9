"""Counts: what they do to the ledger, what they refuse, what they teach."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select

from nursery.catalog import load_catalog
from nursery.errors import Conflict, Invalid
from nursery.models import Evidence, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.models.lots import Material
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import batches
from tests.services.batches.conftest import ANA, EMERGED, TODAY, Floor

GROWING, HARDENING, READY = dt.date(2026, 10, 20), dt.date(2026, 11, 5), dt.date(2026, 11, 20)


def movements(floor: Floor) -> list[tuple[str, int, str | None]]:
    rows = floor.session.scalars(select(PlantMovement).order_by(PlantMovement.id))
    return [(row.kind.value, row.change, row.cause and row.cause.value) for row in rows]


def taught(floor: Floor) -> list[tuple[str, float, float]]:
    rows = floor.session.scalars(select(Evidence).where(Evidence.withdrawn_at.is_(None)).order_by(Evidence.id))
    return [(row.rate, row.successes, row.trials) for row in rows]


def test_more_plants_come_in_and_fewer_are_lost(floor: Floor) -> None:
    batch = floor.counted(300)
    floor.count(batch, 320, on=EMERGED + dt.timedelta(5))
    floor.count(batch, 290, Stage.GROWING, GROWING, cause=Cause.DROUGHT)

    assert movements(floor) == [("counted", 300, None), ("counted", 20, None), ("lost", -30, "drought")]
    assert (batch.alive, batch.stage) == (290, Stage.GROWING)
    assert [count.before for count in batch.counts] == [400, 300, 320]


def test_a_count_that_agrees_writes_no_movement(floor: Floor) -> None:
    batch = floor.counted(300)
    count = floor.count(batch, 300, on=EMERGED + dt.timedelta(1))

    assert (count.act, len(movements(floor))) == ("", 1)


def test_nothing_came_up_is_a_count_too(floor: Floor) -> None:
    batch = floor.counted(0)

    assert (batch.alive, batch.stage, movements(floor)) == (0, Stage.EMERGED, [])
    assert taught(floor)[0][:2] == ("emergence", 0.0)


def test_a_sample_of_trays_is_carried_to_all_with_its_interval(floor: Floor) -> None:
    batch = floor.sow()
    count = floor.count(batch, sample=[30, 34, 28, 32])

    # N 10, n 4, mean 31, s² 20/3, t(3 df, 95 %) 3.182: 310 ± 3.182·10·√(0.6·(20/3)/4) = 310 ± 31.8.
    assert (count.plants, count.low, count.high, count.trays) == (310, 278, 342, 10)
    assert (batch.alive, count.sample) == (310, [30, 34, 28, 32])


def test_every_tray_looked_at_is_a_full_count(floor: Floor) -> None:
    batch = floor.sow(seeds=80, trays=2)
    count = floor.count(batch, sample=[30, 34])

    assert (count.plants, count.low, count.high, count.sample) == (64, 64, 64, None)


def test_the_interval_never_falls_below_what_was_seen(floor: Floor) -> None:
    count = floor.count(floor.sow(), sample=[0, 40])

    assert (count.plants, count.low) == (200, 40)


def test_plants_that_left_after_the_day_of_a_count_written_later_are_not_lost_twice(floor: Floor) -> None:
    batch = floor.counted(300)
    batches.lose(floor.session, ANA, batch=batch, plants=40, cause=Cause.PEST, happened_on=HARDENING, today=TODAY)
    floor.count(batch, 295, Stage.GROWING, GROWING)

    assert batch.alive == 255
    assert movements(floor)[-1] == ("lost", -5, "unknown")


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"plants": None}, "plants"),
        ({"plants": 5, "sample": [1, 2]}, "plants"),
        ({"plants": -1}, "plants"),
        ({"plants": 801}, "plants"),
        ({"sample": [7]}, "sample"),
        ({"sample": [7, -1]}, "sample"),
        ({"sample": [7] * 11}, "sample"),
        ({"sample": [90, 95]}, "sample"),
        ({"plants": 5, "trays": 0}, "trays"),
        ({"plants": 5, "stage": Stage.SOWN}, "stage"),
        ({"plants": 5, "on": TODAY + dt.timedelta(1)}, "counted_on"),
        ({"plants": 5, "on": dt.date(2026, 8, 31)}, "counted_on"),
        ({"plants": 5, "grades": {"large": 6}}, "grades"),
    ],
)
def test_what_cannot_be_a_count_is_refused_at_its_field(floor: Floor, values: dict[str, Any], field: str) -> None:
    batch = floor.sow()

    with pytest.raises(Invalid) as refused:
        floor.count(batch, **values)

    assert list(refused.value.errors) == [field]
    assert (batch.alive, batch.stage, movements(floor)) == (0, Stage.SOWN, [])


def test_counts_follow_each_other_in_time_and_stage(floor: Floor) -> None:
    batch = floor.counted(300)
    floor.count(batch, 290, Stage.GROWING, GROWING)

    with pytest.raises(Invalid, match="was counted on 20 Oct 2026; a count from before it"):
        floor.count(batch, 280, Stage.GROWING, EMERGED)
    with pytest.raises(Invalid, match="counted at a later stage already"):
        floor.count(batch, 280, Stage.EMERGED, HARDENING)


def test_each_stage_teaches_the_rate_before_it(floor: Floor) -> None:
    batch = floor.counted(300)
    batch.viability = 0.8
    assert taught(floor)[0][:2] == ("emergence", 300.0)
    floor.count(batch, 270, Stage.GROWING, GROWING)
    floor.count(batch, 260, Stage.HARDENING, HARDENING)
    batches.lose(
        floor.session, ANA, batch=batch, plants=12, cause=Cause.GRADED_OUT, happened_on=READY, today=TODAY
    )
    floor.count(batch, 248, Stage.READY, READY)

    assert taught(floor)[1:] == [("establishment", 270, 300), ("hardening", 260, 270), ("cull", 12, 260)]


def test_a_sample_teaches_only_what_it_saw(floor: Floor) -> None:
    batch = floor.sow()
    viability = batch.viability or 0
    floor.count(batch, sample=[30, 34, 28, 32])

    assert taught(floor) == [("emergence", 124, round(400 * viability * 0.4))]


def test_the_best_count_of_emergence_stands(floor: Floor) -> None:
    batch = floor.counted(200)
    floor.count(batch, 310, on=EMERGED + dt.timedelta(7))
    floor.count(batch, 280, on=EMERGED + dt.timedelta(9))

    assert [row[:2] for row in taught(floor)] == [("emergence", 310)]


def test_cells_with_several_seedlings_teach_nothing_of_establishment(floor: Floor) -> None:
    batch = floor.counted(700, seeds=800)
    floor.count(batch, 380, Stage.GROWING, GROWING)

    assert "establishment" not in {row[0] for row in taught(floor)}


def test_thinned_seedlings_are_no_failures(floor: Floor) -> None:
    batch = floor.counted(500, seeds=800)
    batches.thin(floor.session, ANA, batch=batch, left=380, happened_on=EMERGED, today=TODAY)
    floor.count(batch, 361, Stage.GROWING, GROWING)

    assert taught(floor)[-1] == ("establishment", 361, 380)


def test_a_batch_that_plants_joined_or_left_teaches_nothing(floor: Floor) -> None:
    batch = floor.counted(300)
    batches.split(floor.session, ANA, batch=batch, plants=100, happened_on=EMERGED, today=TODAY)
    floor.count(batch, 190, Stage.GROWING, GROWING)

    assert {row[0] for row in taught(floor)} == {"emergence"}


def test_cuttings_teach_nothing_when_they_shoot(floor: Floor) -> None:
    cuttings = floor.maker.lot(material=Material.CUTTINGS, pieces=90, collected_on=dt.date(2026, 8, 20))
    floor.counted(30, lot=cuttings, seeds=40, trays=1, method=Method.CUTTINGS)

    assert taught(floor) == []


def test_a_withdrawn_count_takes_its_movement_and_its_lesson_back(floor: Floor) -> None:
    batch = floor.counted(300)
    second = floor.count(batch, 260, Stage.GROWING, GROWING)
    batches.withdraw_count(floor.session, ANA, count=second, reason="the wrong batch", today=TODAY)

    assert movements(floor)[-1] == ("reversal", 40, "unknown")
    assert (batch.alive, batch.stage, batch.stage_on) == (300, Stage.EMERGED, EMERGED)
    assert [row[0] for row in taught(floor)] == ["emergence"]
    with pytest.raises(Conflict, match="withdrawn already"):
        batches.withdraw_count(floor.session, ANA, count=second, reason="again", today=TODAY)
    floor.count(batch, 255, Stage.GROWING, GROWING)
    assert batches.wrong_plant_balances(floor.session) == []


def test_a_count_withdrawn_after_a_later_one_leaves_the_plants_that_the_later_one_found(floor: Floor) -> None:
    batch = floor.counted(150)
    floor.count(batch, 360, Stage.GROWING, GROWING)
    batches.withdraw_count(floor.session, ANA, count=batch.counts[0], reason="slip of the keys", today=TODAY)

    assert (batch.alive, batch.stage) == (360, Stage.GROWING)
    assert [count.plants for count in batch.counts if count.withdrawn_at is None] == [360]
    assert batches.wrong_plant_balances(floor.session) == []


def test_later_counts_too_are_held_against_the_seeds(floor: Floor) -> None:
    batch = floor.counted(300)
    with pytest.raises(Invalid, match="801 plants cannot have come of 400 seeds"):
        floor.count(batch, 801, Stage.GROWING, GROWING)


def test_a_count_whose_plants_have_left_is_not_withdrawn(floor: Floor) -> None:
    batch = floor.counted(300)
    batches.dispatch(
        floor.session, ANA, batch=batch, site_id=floor.site.id, plants=10, happened_on=GROWING, today=TODAY
    )

    with pytest.raises(Invalid, match="has 290 plants alive; 300 plants cannot leave it"):
        batches.withdraw_count(floor.session, ANA, count=batch.counts[0], reason="slip", today=TODAY)
    assert batch.counts[0].withdrawn_at is None
    assert floor.session.scalars(
        select(PlantMovement).where(PlantMovement.kind == PlantMovementKind.REVERSAL)
    ).all() == []  # fmt: skip


def test_growing_began_when_the_seedlings_had_come_up_not_when_they_were_counted_again(floor: Floor) -> None:
    batch = floor.counted(300)

    floor.count(batch, 280, Stage.GROWING, GROWING)
    assert (batch.stage, batch.stage_on) == (Stage.GROWING, EMERGED)

    floor.count(batch, 270, Stage.HARDENING, HARDENING)
    assert (batch.stage, batch.stage_on) == (Stage.HARDENING, HARDENING)


def test_without_a_count_of_what_came_up_growing_began_when_that_was_due(floor: Floor) -> None:
    batch = floor.sow()
    protocol = load_catalog().species[batch.species.key].protocol_for(batch.protocol, batch.method)
    emergence = next(phase.days for phase in protocol.nursery if phase.key == "emergence")

    floor.count(batch, 280, Stage.GROWING, GROWING)

    assert batch.stage_on == min(GROWING, batch.sown_on + dt.timedelta(days=emergence or 0))
