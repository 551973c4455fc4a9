"""Bench by week: what grows on benches, what the plan still asks for, and where it gets too full."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Container
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services.space.footprint import set_room
from nursery.services.space.occupancy import Occupancy, read_occupancy
from nursery.services.weeks import Week
from tests.conftest import Maker
from tests.plan_lines import add_line, make_kept_plan, phases_of

TODAY = dt.date(2026, 11, 25)
MONDAY = dt.date(2026, 11, 23)


@pytest.fixture
def deep(maker: Maker) -> Container:
    """Trays of 0.2 m² in a nursery of 10 m²."""
    nursery = maker.nursery(name="Moinho yard", bench_area_m2=10.0)
    container: Container = maker.container(nursery=nursery, tray_length_mm=500.0, tray_width_mm=400.0)
    return container


def read(session: Session, weeks: int = 53) -> Occupancy:
    session.flush()
    session.expire_all()
    return read_occupancy(session, today=TODAY, weeks=weeks)


def rounded(values: Any) -> list[float]:
    return [round(float(value), 6) for value in values]


def test_a_line_takes_bench_from_sowing_to_planting_and_none_in_the_fridge(
    session: Session, maker: Maker, deep: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(
        maker, plan, phases_of(MONDAY, ("cold-stratify", 14), ("emergence", 14), ("growing", 14, 7)),
        container_id=deep.id, trays=10,
    )  # fmt: skip
    whole = read(session, weeks=8).nurseries[0].whole
    # Two weeks in the fridge, two edge to edge, one of growing with a quarter more, one of ready plants waiting.
    assert rounded(whole.planned) == [0.0, 0.0, 2.0, 2.0, 2.5, 2.0, 0.0, 0.0]
    assert rounded(whole.growing) == [0.0] * 8


def test_what_was_sown_of_a_line_stands_on_its_bench_and_only_the_rest_is_to_be_sown(
    session: Session, maker: Maker, deep: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    line = add_line(
        maker, plan, phases_of(MONDAY, ("emergence", 28), ("growing", 28)), container_id=deep.id, trays=10
    )
    bench = maker.bench(nursery=deep.nursery, name="East", area_m2=5.0)
    maker.batch(
        bench=bench, line_id=line.id, container_id=deep.id, seeds=720,
        trays=7, nursery_id=deep.nursery_id, sown_on=TODAY,
    )  # fmt: skip
    found = read(session, weeks=2).nurseries[0]
    assert rounded(found.whole.growing) == [1.4, 1.4]
    assert rounded(found.whole.planned) == [0.6, 0.6]  # 240 of 960 seeds are left: 2.5 trays, so three
    assert rounded(found.benches[0].taken) == [1.4, 1.4]


def test_a_line_that_was_sown_whole_is_no_longer_to_be_sown(
    session: Session, maker: Maker, deep: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    line = add_line(maker, plan, phases_of(MONDAY, ("emergence", 28)), container_id=deep.id)
    maker.batch(line_id=line.id, container_id=deep.id, seeds=960, nursery_id=deep.nursery_id, sown_on=TODAY)
    assert read(session).lines == []


def test_plants_stay_until_they_are_planted_out_and_the_weeks_too_full_are_told(
    session: Session, maker: Maker, deep: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    line = add_line(maker, plan, phases_of(MONDAY, ("growing", 14), ("hardening", 14)), container_id=deep.id)
    bench = maker.bench(nursery=deep.nursery, name="East", area_m2=2.2)
    maker.batch(
        bench=bench, line_id=line.id, container_id=deep.id, nursery_id=deep.nursery_id, stage=Stage.GROWING,
        sown_on=dt.date(2026, 6, 1), stage_on=MONDAY, alive=300, seeds=960, trays=10,
    )  # fmt: skip
    set_room(session, "Ana", stage=Stage.HARDENING, spacing=1.0, water_l_per_m2_day=None)
    set_room(session, "Ana", stage=Stage.GROWING, spacing=1.2, water_l_per_m2_day=None)
    east = read(session, weeks=6).nurseries[0].benches[0]
    assert rounded(east.taken) == [2.4, 2.4, 2.0, 2.0, 2.0, 0.0]  # ready on the last Monday, gone a day later
    assert rounded(east.over) == [0.2, 0.2, 0.0, 0.0, 0.0, 0.0]
    assert (east.weeks_over, east.worst) == (2, 0)


def test_seedlings_stand_in_flats_until_they_are_pricked_out(
    session: Session, maker: Maker, deep: Container
) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(
        maker, plan, phases_of(MONDAY, ("emergence", 7), ("pricking-out", 7), ("growing", 7)),
        method=Method.PRICKED_OUT, container_id=deep.id, trays=10, seeds=960,
    )  # fmt: skip
    planned = read(session, weeks=4).nurseries[0].whole.planned
    assert rounded(planned) == [0.48, 0.48, 2.5, 0.0]  # two flats of 500 seeds


def test_beds_are_no_benches(session: Session, maker: Maker, deep: Container) -> None:
    plan = make_kept_plan(session, TODAY)
    add_line(maker, plan, phases_of(MONDAY, ("growing", 28)), container_id=deep.id, method=Method.BAREROOT)
    assert read(session).items.rows == []


def test_a_batch_without_a_line_follows_the_catalogue_or_the_day_it_is_due(
    session: Session, maker: Maker, deep: Container
) -> None:
    known = maker.batch(container_id=deep.id, nursery_id=deep.nursery_id, sown_on=TODAY, protocol="fresh-direct")
    strange = maker.lot(population=maker.population(species=maker.species("nothing-known")))
    maker.batch(
        lot=strange, container_id=deep.id, nursery_id=deep.nursery_id, sown_on=TODAY, ready_on=dt.date(2026, 12, 9)
    )
    found = read(session)
    first, second = found.taken
    assert round(float(first[0]), 6) == round(float(second[0]), 6) == 2.0
    assert first.max() == pytest.approx(2.5)  # grown on with a quarter more bench
    assert second.max() == pytest.approx(2.0)
    # Neither has a day on which it leaves, so both stay.
    assert [item.out_on for item in found.items.rows] == [None, None]
    assert (first[-1] > 0, second[-1] > 0, known.id) == (True, True, found.items.rows[0].batch_id)


def test_dead_and_archived_batches_take_no_bench(session: Session, maker: Maker, deep: Container) -> None:
    maker.batch(container_id=deep.id, nursery_id=deep.nursery_id, stage=Stage.EMERGED, alive=0)
    maker.batch(
        container_id=deep.id, nursery_id=deep.nursery_id, archived_at=dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    )
    assert read(session).items.rows == []


def test_a_nursery_has_the_area_of_its_benches_where_that_is_more(
    session: Session, maker: Maker, deep: Container
) -> None:
    maker.bench(nursery=deep.nursery, area_m2=8.0)
    assert read(session).nurseries[0].whole.place.area_m2 == 10.0
    maker.bench(nursery=deep.nursery, area_m2=8.0)
    found = read(session)
    assert found.nurseries[0].whole.place.area_m2 == 16.0
    assert [(place.name, own, summed) for place, own, summed in found.differing] == [("Moinho yard", 10.0, 16.0)]


def test_a_nursery_without_any_area_is_never_told_to_be_full(session: Session, maker: Maker) -> None:
    nursery = maker.nursery(bench_area_m2=0.0)
    maker.batch(container_id=maker.container(nursery=nursery).id, nursery_id=nursery.id)
    whole = read(session).nurseries[0].whole
    assert (whole.place.area_m2, whole.weeks_over, whole.is_used) == (None, 0, True)


def test_what_belongs_to_no_nursery_is_told_apart(session: Session, maker: Maker, deep: Container) -> None:
    batch = maker.batch(container_id=deep.id)
    assert [item.batch_id for item in read(session).nowhere] == [batch.id]


def test_what_stands_in_a_week_is_listed_the_largest_first(
    session: Session, maker: Maker, deep: Container
) -> None:
    small, large = (
        maker.batch(container_id=deep.id, nursery_id=deep.nursery_id, trays=trays, sown_on=TODAY)
        for trays in (3, 9)
    )
    standing = read(session).standing(deep.nursery_id, 0)
    assert [(item.code, round(area, 6)) for item, area in standing] == [(large.code, 1.8), (small.code, 0.6)]


def test_it_costs_the_same_queries_for_one_batch_and_for_three(
    session: Session, engine: Any, maker: Maker, deep: Container, count_queries: Any
) -> None:
    bench, found = maker.bench(nursery=deep.nursery), []
    for _number in range(3):
        maker.batch(bench=bench, container_id=deep.id, nursery_id=deep.nursery_id)
        session.flush()
        session.expire_all()
        with count_queries(engine) as statements:
            read_occupancy(session, today=TODAY)
        found.append(len(statements))
    assert found == [found[0]] * 3


def test_weeks_begin_on_mondays(session: Session, deep: Container) -> None:
    found = read(session)
    assert (found.weeks[0], len(found.weeks), deep.name) == (Week(MONDAY), 53, deep.name)
