"""The season's stock from the records: the forecast's plants, the plan's promises, the loads' own lines."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import astuple
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Batch, Dispatch, DispatchLine, PlanLine, Target
from nursery.planning.growing.words import Cause, Stage
from nursery.services.batches import counting, dispatching, losing
from nursery.services.dispatches import planning, returning, sending
from nursery.services.dispatches.reserving import reserved
from nursery.services.forecast.promises import read_forecasts
from nursery.services.forecast.reading import batch_forecasts
from nursery.services.health.quarantine import quarantine
from nursery.services.planning.plans import current_plan
from nursery.services.ready.allotting import read_reserved
from nursery.services.ready.query import By, ReadyQuery
from nursery.services.ready.reading import EverySeason, read_every_season
from nursery.services.ready.rows import Stock
from nursery.services.ready.season import read_ready
from nursery.services.ready.words import balance_text
from tests.conftest import TODAY, Maker
from tests.databases import Kept
from tests.services.forecast.season_maker import ANA, Season


@pytest.fixture
def season(session: Session, maker: Maker) -> Season:
    return Season(session, maker)


@pytest.fixture
def demo(demo_file: Kept, tmp_path: Path) -> Iterator[Session]:
    engine = make_engine(demo_file.copy(tmp_path, "demo"))
    with Session(engine) as session:
        yield session
    engine.dispose()


def everything(season: Season, today: dt.date = TODAY) -> EverySeason:
    season.session.flush()
    return read_every_season(season.session, today=today)


def a_ready_batch(season: Season, *, grades: dict[str, int] | None = None) -> tuple[Batch, dt.date]:
    """All cells of the north's sowing filled, counted stage by stage, and graded."""
    batch = season.sow(season.north)
    plants, day = batch.trays * 40, TODAY
    for stage, days in ((Stage.EMERGED, 20), (Stage.GROWING, 60), (Stage.HARDENING, 120)):
        season.count(batch, stage, plants, days)
    day = TODAY + dt.timedelta(days=150)
    counting.record_count(
        season.session,
        ANA,
        batch=batch,
        stage=Stage.READY,
        plants=plants,
        counted_on=day,
        today=day,
        grades=grades,
    )
    return batch, day


def a_load(
    season: Season, batch: Batch, plants: int, *, target_id: int | None, site_id: int, grade: str = ""
) -> None:
    season.maker.made += 1
    load = Dispatch(code=f"D-{season.maker.made}", site_id=site_id, planned_on=dt.date(2027, 11, 5))
    load.lines.append(DispatchLine(position=1, batch_id=batch.id, target_id=target_id, plants=plants, grade=grade))
    season.session.add(load)
    season.session.flush()


def of_batch(found: EverySeason, batch: Batch) -> list[Stock]:
    return [one for rows in found.stock.values() for one in rows if one.batch_id == batch.id]


def test_the_demo_stands_and_grows_as_the_forecast_says(demo: Session) -> None:
    found = read_every_season(demo, today=TODAY)
    sums: dict[int, Counter[str]] = {}
    for one in (one for rows in found.stock.values() for one in rows):
        sums.setdefault(one.batch_id, Counter()).update(expected=one.expected, low=one.low, high=one.high)
    forecasts = {
        key: {"expected": round(one.expected), "low": one.p10, "high": one.p90}
        for key, one in batch_forecasts(demo, today=TODAY).items()
    }
    alive = set(demo.scalars(select(Batch.id).where(Batch.archived_at.is_(None), Batch.alive > 0)))
    assert alive <= sums.keys()
    assert {key: dict(one) for key, one in sums.items()} == {key: forecasts[key] for key in sums}


def test_the_demo_promises_what_the_forecast_page_says(demo: Session) -> None:
    wants = {one.target_id: one for rows in read_every_season(demo, today=TODAY).wants.values() for one in rows}
    targets = read_forecasts(demo, today=TODAY).targets
    assert targets
    for target in targets:
        want = wants[target.target_id]
        assert want.sent == target.dispatched
        assert want.to_sow == min(target.pending, max(want.wanted - want.sent, 0))
        assert want.wanted == target.promised + target.pending


def test_planting_windows_are_those_the_plan_reckons_with(demo: Session) -> None:
    wants = {one.target_id: one for rows in read_every_season(demo, today=TODAY).wants.values() for one in rows}
    plan = current_plan(demo)
    assert plan is not None
    lines = demo.scalars(select(PlanLine).where(PlanLine.plan_id == plan.id)).all()
    assert lines
    for line in lines:
        want = wants[line.target_id]
        assert [want.opens_on.isoformat(), want.closes_on.isoformat()] == line.basis["window"]


def test_sizes_follow_the_latest_grading_in_the_same_shares(season: Season) -> None:
    batch, day = a_ready_batch(season, grades={"1": 100, "2": 60})
    losing.lose(
        season.session, ANA, batch=batch, plants=batch.alive // 4, cause=Cause.FROST, happened_on=day, today=day
    )
    rows = of_batch(everything(season, day), batch)
    sizes = {one.grade: one.ready for one in rows}
    counted = batch.trays * 40
    assert sum(sizes.values()) == batch.alive == counted - counted // 4
    assert sizes.keys() == {"1", "2", ""}
    assert abs(sizes["1"] - 100 * batch.alive / counted) < 1
    assert abs(sizes["2"] - 60 * batch.alive / counted) < 1
    assert all(one.ready == one.expected == one.low == one.high for one in rows)


def test_what_grows_has_no_size_and_stands_ready_for_nobody_yet(season: Season) -> None:
    batch = season.sow(season.north)
    season.count(batch, Stage.EMERGED, batch.trays * 40, 20)
    (row,) = of_batch(everything(season, TODAY + dt.timedelta(days=20)), batch)
    assert (row.grade, row.ready, row.site_name) == ("", 0, "North bank")
    assert row.low < row.expected < row.high
    assert row.allocated == min(row.expected, season.line(season.north).ready_plants)


def test_a_planned_load_takes_plants_first_and_counts_towards_its_target(season: Season) -> None:
    batch, day = a_ready_batch(season, grades={"1": 300, "2": 100})
    a_load(season, batch, 90, target_id=season.south.id, site_id=season.south.site_id, grade="2")
    a_load(season, batch, 50, target_id=season.north.id, site_id=season.north.site_id)
    found = everything(season, day)
    rows = of_batch(found, batch)
    wants = {want.target_id: want for want in found.wants[2027]}
    lines = {target.id: season.line(target).ready_plants for target in (season.north, season.south)}
    assert wants[season.south.id].covered == min(90, lines[season.south.id] - wants[season.south.id].to_sow)
    assert wants[season.north.id].covered == min(lines[season.north.id], batch.alive - 90)
    assert sum(one.allocated for one in rows) == 90 + wants[season.north.id].covered
    assert next(one for one in rows if one.grade == "2").allocated >= 90
    assert {one.lent for one in rows} == {(("South bank", 90),)}


def test_loads_are_read_as_dispatch_reserves_them(season: Season) -> None:
    batch, _day = a_ready_batch(season)
    for plants in (30, 12):
        a_load(season, batch, plants, target_id=None, site_id=season.south.site_id)
    gone = season.session.scalars(select(Dispatch)).first()
    assert gone is not None
    gone.status, gone.reason = "cancelled", "Snow"  # type: ignore[assignment]
    season.session.flush()
    found: Counter[int] = Counter()
    for one in read_reserved(season.session):
        found[one.batch_id] += one.plants
    assert dict(found) == reserved(season.session) == {batch.id: 12}


def test_plants_in_quarantine_are_not_free(season: Season) -> None:
    batch, day = a_ready_batch(season)
    quarantine(season.session, ANA, batch_id=batch.id, reason="Wilting", since=day, today=day)
    rows = of_batch(everything(season, day), batch)
    assert sum(one.free for one in rows) == 0
    assert sum(one.held + one.allocated for one in rows) == batch.alive


def test_what_is_left_once_planting_is_over_is_free_in_the_next_season(season: Season) -> None:
    batch, day = a_ready_batch(season)
    dispatching.dispatch(
        season.session, ANA, batch=batch, site_id=season.north.site_id, target_id=season.north.id, plants=100,
        happened_on=day, today=day,
    )  # fmt: skip
    later = dt.date(2028, 7, 1)
    found = everything(season, later)
    assert {key for key, rows in found.stock.items() if rows} == {2028}
    assert sum(one.free for one in of_batch(found, batch)) == batch.alive
    (want,) = (one for one in found.wants[2027] if one.target_id == season.north.id)
    assert (want.sent, want.covered) == (100, 0)


def test_the_season_shown_is_the_first_whose_planting_is_not_over(season: Season) -> None:
    season.maker.target(site=season.north.site, season=2028)
    found = everything(season)
    assert found.seasons == [2027, 2028]
    assert found.season_for(TODAY) == 2027
    assert found.season_for(dt.date(2028, 2, 28)) == 2027
    assert found.season_for(dt.date(2028, 2, 29)) == 2028
    assert EverySeason({}, {}).season_for(TODAY) == 2026


def test_filters_leave_out_and_origins_are_named(season: Season) -> None:
    batch, day = a_ready_batch(season)
    season.session.flush()

    def read(**asked: Any) -> tuple[int, ...]:
        found = read_ready(season.session, ReadyQuery(season=2027, **asked), today=day)
        return astuple(found.total)

    whole = read()
    assert read(species=season.north.species_id) == whole
    north, south = (read(site=target.site_id) for target in (season.north, season.south))
    assert [a + b for a, b in zip(north, south, strict=True)] == list(whole)
    assert read(nursery="Elsewhere") == read(species=999) == (0,) * len(whole)
    found = read_ready(season.session, ReadyQuery(season=2027, by=By.ORIGIN), today=day)
    assert [group.name for group in found.groups()] == [f"{season.lot.population.name} (R1)"]
    turned = read_ready(season.session, ReadyQuery(season=2027, by=By.SITE, sort="-ready"), today=day)
    assert [group.name for group in turned.groups()] == ["North bank", "South bank"]
    assert turned.groups()[0].numbers.ready == batch.alive


def test_more_batches_and_targets_take_no_more_queries(
    season: Season, engine: Engine, count_queries: Callable[[Engine], Any]
) -> None:
    counted = []
    for more in (1, 6):
        for _batch in range(more):
            batch = season.sow(season.north, part=0.2)
            season.count(batch, Stage.EMERGED, 20, 20)
            season.maker.target(season=2029)
            a_load(season, batch, 5, target_id=season.south.id, site_id=season.south.site_id)
        season.session.commit()
        with count_queries(engine) as statements:
            read_ready(season.session, ReadyQuery(), today=TODAY + dt.timedelta(days=20))
        counted.append(len(statements))
    assert counted[0] == counted[1]


def test_plants_sent_elsewhere_for_no_target_are_sent_to_where_they_went(season: Season) -> None:
    batch, day = a_ready_batch(season)
    site = season.maker.site(name="Old quarry")
    sent = dispatching.dispatch(
        season.session, ANA, batch=batch, site_id=site.id, plants=30, happened_on=day, today=day
    )
    season.session.flush()

    found = read_ready(season.session, ReadyQuery(season=2027, by=By.SITE), today=day)

    by_site = {group.name: group.numbers.sent for group in found.groups()}
    assert sent.target_id is None
    assert (by_site["Old quarry"], by_site[season.north.site.name]) == (30, 0)
    assert found.total.sent == 30
    (told,) = (one for one in read_forecasts(season.session, today=day).targets if one.batches)
    assert told.dispatched == 0

    dispatching.bring_back(
        season.session, ANA, batch=batch, site_id=site.id, plants=30, happened_on=day, today=day
    )
    season.session.flush()
    again = read_ready(season.session, ReadyQuery(season=2027, by=By.SITE), today=day)
    assert "Old quarry" not in {group.name for group in again.groups()}


def test_once_planting_is_over_the_season_tells_what_was_sent_and_what_never_was(season: Season) -> None:
    batch, day = a_ready_batch(season)
    dispatching.dispatch(
        season.session, ANA, batch=batch, site_id=season.north.site_id, target_id=season.north.id, plants=100,
        happened_on=day, today=day,
    )  # fmt: skip
    during, after = (
        read_ready(season.session, ReadyQuery(season=2027), today=today) for today in (day, dt.date(2028, 7, 1))
    )
    assert (during.is_past, after.is_past) == (False, True)
    lacking = sum(season.line(target).ready_plants for target in (season.north, season.south)) - 100
    assert after.total.to_sow + after.total.short == lacking
    assert balance_text(after).startswith("Planting is over: of ")
    assert "100 were sent" in balance_text(after)


def test_a_season_that_is_over_is_told_by_the_containers_its_plants_grew_in(demo: Session) -> None:
    over = read_ready(demo, ReadyQuery(season=2025, by=By.CONTAINER), today=TODAY)
    grown = demo.scalars(select(Batch).join(Batch.target).where(Target.season == 2025))
    names = {batch.container.name for batch in grown if batch.container is not None}

    assert {group.name for group in over.groups()} == names


def test_what_came_back_and_waits_is_neither_ready_nor_sent(season: Season) -> None:
    batch, day = a_ready_batch(season)
    load = planning.plan_load(
        season.session, ANA, site_id=season.north.site_id, planned_on=day, today=day, values={}
    )
    planning.add_line(
        season.session, ANA, load=load, batch_id=batch.id, target_id=season.north.id, plants=50, today=day
    )
    before = read_ready(season.session, ReadyQuery(season=2027), today=day)
    sending.send(season.session, ANA, load=load, sent_on=day, today=day, reason="Our own crew")
    returning.note_return(
        season.session, ANA, line=load.lines[0], plants=20, returned_on=day, condition="Dry", today=day
    )
    after = read_ready(season.session, ReadyQuery(season=2027), today=day)
    assert (before.waiting, after.waiting) == (0, 20)
    assert before.total.ready - after.total.ready == 50
    assert after.total.sent == 30
