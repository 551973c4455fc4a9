"""Forecasts of batches by their latest counts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.models import Batch, PlantMovement
from nursery.models.batches import Count, PlantMovementKind
from nursery.planning.growing.words import Cause, Stage
from nursery.services.catalogue import effective_entries
from nursery.services.forecast.reading import batch_forecasts
from tests.conftest import TODAY, Maker


def add_count(session: Session, batch: Batch, stage: Stage, plants: int, **values: Any) -> Count:
    """A full count, unless told otherwise, and the plants of the batch after it."""
    defaults: dict[str, Any] = {
        "batch_id": batch.id, "stage": stage, "counted_on": dt.date(2026, 11, 20), "plants": plants, "low": plants,
        "high": plants, "trays": batch.trays, "before": batch.seeds, "person": "Ana Seabra",
    }  # fmt: skip
    count = Count(**{**defaults, **values})
    batch.alive, batch.stage, batch.stage_on = plants, stage, count.counted_on
    session.add(count)
    session.flush()
    return count


def test_before_any_count_it_is_the_cells_filled_times_all_rates(session: Session, maker: Maker) -> None:
    batch = maker.batch(seeds=800, seeds_per_cell=2, trays=10, cells_per_tray=40, viability=0.6)
    entry = effective_entries(session)[batch.species_id]
    rates = entry.protocols[0].rates
    weight = min(rates["germination"].weight, rates["emergence"].weight)
    mean = 0.6 * rates["emergence"].mean
    # E (1 − g)² of a Beta, exactly.
    empty = (1 - mean) * ((1 - mean) * weight + 1) / (weight + 1)
    ready = 400 * (1 - empty) * rates["establishment"].mean * rates["hardening"].mean * (1 - rates["cull"].mean)
    found = batch_forecasts(session, today=TODAY)[batch.id]
    assert found.expected == pytest.approx(ready, rel=1e-9)
    assert found.p10 < found.expected < found.p90
    assert (found.stage, found.counted_on) == (Stage.SOWN, batch.sown_on)


def test_a_count_leaves_only_the_rates_behind_it(session: Session, maker: Maker) -> None:
    batch = maker.batch()
    rates = effective_entries(session)[batch.species_id].protocols[0].rates
    for stage, ahead in (
        (Stage.EMERGED, rates["establishment"].mean * rates["hardening"].mean * (1 - rates["cull"].mean)),
        (Stage.GROWING, rates["hardening"].mean * (1 - rates["cull"].mean)),
        (Stage.HARDENING, 1 - rates["cull"].mean),
        (Stage.READY, 1.0),
    ):
        add_count(session, batch, stage, 200)
        assert batch_forecasts(session, today=TODAY)[batch.id].expected == pytest.approx(200 * ahead)
    found = batch_forecasts(session, today=TODAY)[batch.id]
    assert (found.p10, found.p90, found.ready_on) == (200, 200, dt.date(2026, 11, 20))


def test_seedlings_that_share_cells_are_one_plant_each_cell(session: Session, maker: Maker) -> None:
    batch = maker.batch(seeds=800, seeds_per_cell=2, trays=10, cells_per_tray=40)
    rates = effective_entries(session)[batch.species_id].protocols[0].rates
    ahead = rates["establishment"].mean * rates["hardening"].mean * (1 - rates["cull"].mean)
    add_count(session, batch, Stage.EMERGED, 480)
    # 480 of 800 places have a seedling: 1 − 0.4² of 400 cells have one or two.
    assert batch_forecasts(session, today=TODAY)[batch.id].expected == pytest.approx(336 * ahead)
    thinned = PlantMovement(
        batch_id=batch.id, kind=PlantMovementKind.LOST, cause=Cause.THINNED, change=-130, person="Ana Seabra",
        happened_on=TODAY, act="t",
    )  # fmt: skip
    session.add(thinned)
    batch.alive = 350
    session.flush()
    assert batch_forecasts(session, today=TODAY)[batch.id].expected == pytest.approx(350 * ahead)


def test_plants_lost_since_the_count_are_taken_off(session: Session, maker: Maker) -> None:
    batch = maker.batch()
    add_count(session, batch, Stage.HARDENING, 200)
    before = batch_forecasts(session, today=TODAY)[batch.id].expected
    batch.alive = 150
    session.flush()
    assert batch_forecasts(session, today=TODAY)[batch.id].expected == pytest.approx(before * 0.75)


def test_a_count_that_was_withdrawn_says_nothing(session: Session, maker: Maker) -> None:
    batch = maker.batch()
    first = batch_forecasts(session, today=TODAY)[batch.id]
    count = add_count(session, batch, Stage.EMERGED, 10)
    count.withdrawn_at, count.withdrawn_reason = dt.datetime(2026, 11, 21, tzinfo=dt.UTC), "Wrong tray"
    batch.alive, batch.stage, batch.stage_on = 0, Stage.SOWN, batch.sown_on
    session.flush()
    assert batch_forecasts(session, today=TODAY)[batch.id] == first


def test_a_sampled_count_widens_the_range(session: Session, maker: Maker) -> None:
    full, sampled = maker.batch(), maker.batch()
    add_count(session, full, Stage.HARDENING, 300)
    add_count(session, sampled, Stage.HARDENING, 300, low=200, high=400, sample=[20, 40])
    found = batch_forecasts(session, today=TODAY)
    assert found[sampled.id].p10 < found[full.id].p10
    assert found[sampled.id].p90 > found[full.id].p90


def test_what_was_sent_out_stands_beside_the_forecast(session: Session, maker: Maker) -> None:
    batch, site = maker.batch(), maker.site()
    add_count(session, batch, Stage.READY, 200)
    sent = PlantMovement(
        batch_id=batch.id, kind=PlantMovementKind.DISPATCHED, change=-120, person="Ana Seabra",
        happened_on=TODAY, act="a", site_id=site.id,
    )  # fmt: skip
    session.add(sent)
    session.flush()
    session.add(
        PlantMovement(
            batch_id=batch.id,
            kind=PlantMovementKind.RETURNED,
            change=20,
            person="Ana Seabra",
            happened_on=TODAY,
            act="b",
            site_id=site.id,
        )
    )
    batch.alive = 100
    session.flush()
    found = batch_forecasts(session, today=TODAY)[batch.id]
    assert (found.expected, found.dispatched, found.total) == (100.0, 100, 200.0)


def test_it_is_ready_when_the_phases_ahead_have_passed(session: Session, maker: Maker) -> None:
    batch = maker.batch(sown_on=dt.date(2026, 11, 2))
    nursery = effective_entries(session)[batch.species_id].protocols[0].nursery
    days = [round(phase.days or 0) for phase in nursery]
    found = batch_forecasts(session, today=TODAY)[batch.id]
    assert found.ready_on == dt.date(2026, 11, 2) + dt.timedelta(days=sum(days))
    add_count(session, batch, Stage.EMERGED, 300)
    found = batch_forecasts(session, today=TODAY)[batch.id]
    assert found.ready_on == dt.date(2026, 11, 20) + dt.timedelta(days=sum(days[1:]))


def test_the_number_of_queries_does_not_grow_with_the_batches(
    session: Session,
    engine: Engine,
    maker: Maker,
    count_queries: Callable[[Engine], AbstractContextManager[list[str]]],
) -> None:
    add_count(session, maker.batch(), Stage.EMERGED, 100)
    with count_queries(engine) as few:
        batch_forecasts(session, today=TODAY)
    for _ in range(12):
        add_count(session, maker.batch(), Stage.GROWING, 50)
    with count_queries(engine) as many:
        assert len(batch_forecasts(session, today=TODAY)) == 13
    assert len(few) == len(many) <= 9
