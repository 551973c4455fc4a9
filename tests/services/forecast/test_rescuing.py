"""Shortages told at the count that shows them, and what can still be done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.models import Batch, Lot, PlanLine
from nursery.planning.growing.words import Cause, Stage
from nursery.services.batches.dispatching import dispatch
from nursery.services.batches.losing import lose
from nursery.services.forecast.moving import move_to, takers_of
from nursery.services.forecast.promises import Standing, read_forecasts
from nursery.services.forecast.rescuing import read_rescue
from nursery.services.planning import make_plan
from tests.conftest import TODAY, Maker
from tests.services.forecast.season_maker import ANA, Season


@pytest.fixture
def season(session: Session, maker: Maker) -> Season:
    return Season(session, maker)


def test_what_is_sown_by_the_plan_is_enough_and_what_is_not_sown_yet_is_pending(season: Season) -> None:
    line = season.line(season.north)
    season.sow(season.north, part=0.5)
    half = read_forecasts(season.session, today=TODAY).targets
    assert [one.target_id for one in half] == [season.north.id]
    assert half[0].promised + half[0].pending == line.ready_plants
    assert half[0].pending == pytest.approx(line.ready_plants / 2, abs=1)
    season.sow(season.north, part=0.5)
    whole = read_forecasts(season.session, today=TODAY).targets[0]
    assert (whole.pending, whole.promised) == (0, line.ready_plants)
    assert whole.standing in {Standing.ENOUGH, Standing.SPARE}
    assert whole.shown_by is None


def test_an_older_batch_given_to_a_target_is_no_sowing_of_its_plan(season: Season) -> None:
    season.sow(season.north, part=0.5)
    before = read_forecasts(season.session, today=TODAY).target(season.north.id)
    older = season.sow(None, part=0.2)
    older.target_id, older.sown_on = season.north.id, TODAY - dt.timedelta(days=1)
    season.session.flush()
    after = read_forecasts(season.session, today=TODAY).target(season.north.id)
    assert before is not None
    assert after is not None
    assert (after.pending, after.promised) == (before.pending, before.promised)
    assert after.now.expected > before.now.expected


def test_the_first_count_that_shows_a_shortage_is_named(season: Season) -> None:
    batch = season.sow(season.north)
    cells = batch.trays * 40
    season.count(batch, Stage.EMERGED, round(0.95 * batch.seeds), 60)
    first = season.count(batch, Stage.EMERGED, round(0.2 * batch.seeds), 75)
    last = season.count(batch, Stage.GROWING, round(0.3 * cells), 120)
    found = read_forecasts(season.session, today=last).targets[0]
    assert found.standing is Standing.SHORT
    assert found.shown_by is not None
    assert (found.shown_by.day, found.shown_by.code, found.shown_by.stage) == (first, batch.code, Stage.EMERGED)
    assert [point.kind for point in found.points] == ["sown", "counted", "counted", "counted", "today"]
    assert found.lacking == found.promised - found.now.secured > 0


def test_a_shortage_that_a_later_count_lifts_is_no_shortage(season: Season) -> None:
    batch = season.sow(season.north)
    season.count(batch, Stage.EMERGED, round(0.1 * batch.seeds), 30)
    last = season.count(batch, Stage.EMERGED, round(0.95 * batch.seeds), 60)
    found = read_forecasts(season.session, today=last, told=[season.north.id]).targets[0]
    assert found.points[1].chance < 0.1
    assert (found.is_short, found.shown_by, found.lacking) == (False, None, 0)


def test_what_was_short_when_its_planting_time_ended_is_over_and_takes_from_nobody(season: Season) -> None:
    poor, rich = season.sow(season.north, part=0.5), season.sow(season.south)
    season.count(poor, Stage.READY, 100, 300)
    season.count(rich, Stage.READY, 900, 300)
    last = dt.date(2028, 2, 29)
    rescue = {}
    for day in (dt.date(2028, 2, 28), last):
        found = read_forecasts(season.session, today=day)
        north = found.target(season.north.id)
        assert north is not None
        rescue[day] = read_rescue(season.session, north, found, today=day)
        assert (north.standing, north.is_short, north.lacking > 0) == (
            (Standing.OVER, False, False) if day == last else (Standing.SHORT, True, True)
        )
    assert [bool(one.moves) for one in rescue.values()] == [True, False]


def test_losses_after_the_count_show_today(season: Season) -> None:
    batch = season.sow(season.north)
    day = season.count(batch, Stage.GROWING, batch.trays * 40, 120)
    assert not read_forecasts(season.session, today=day).targets[0].is_short
    lose(season.session, ANA, batch=batch, plants=300, cause=Cause.FROST, happened_on=day, today=day)
    found = read_forecasts(season.session, today=day).targets[0]
    assert found.is_short
    assert found.shown_by is not None
    assert found.shown_by.kind == "today"


def test_plants_sent_out_count_for_the_target_they_went_to(season: Season) -> None:
    batch = season.sow(season.north)
    day = season.count(batch, Stage.READY, 500, 300)
    dispatch(
        season.session, ANA, batch=batch, site_id=season.south.site_id, plants=100, happened_on=day, today=day,
        target_id=season.south.id,
    )  # fmt: skip
    found = {one.target_id: one for one in read_forecasts(season.session, today=day).targets}
    assert (found[season.north.id].now.expected, found[season.north.id].dispatched) == (400.0, 0)
    assert (found[season.south.id].now.expected, found[season.south.id].dispatched) == (100.0, 100)


def test_the_rescue_says_how_much_to_sow_of_which_lot_and_until_when(season: Season) -> None:
    batch = season.sow(season.north)
    day = season.count(batch, Stage.EMERGED, 200, 60)
    found = read_forecasts(season.session, today=day)
    target = found.targets[0]
    rescue = read_rescue(season.session, target, found, today=day)
    assert rescue.lacking == target.lacking
    assert rescue.sowing is not None
    assert [code for _id, code, _seeds, _grams in rescue.sowing.lots] == [season.lot.code]
    assert rescue.sowing.trays == pytest.approx(batch.trays * target.lacking / target.promised, abs=2)
    assert day <= rescue.sowing.begin_on <= rescue.sowing.last_on
    assert (rescue.region_code, rescue.must_buy) == ("R1", 0)
    assert rescue.buy <= target.lacking
    # A new plan says the same.
    plan = make_plan(season.session, ANA, today=day)
    line = season.session.scalar(
        select(PlanLine).where(PlanLine.plan_id == plan.id, PlanLine.target_id == season.north.id)
    )
    assert line is not None
    assert (line.seeds, line.trays, line.sow_on) == (
        rescue.sowing.seeds,
        rescue.sowing.trays,
        rescue.sowing.sow_on,
    )
    assert line.growing is not None
    assert line.growing["secured"] == target.now.secured
    assert [each["code"] for each in line.growing["batches"]] == [batch.code]


def test_when_it_is_too_late_to_sow_what_is_left_is_to_buy_in(season: Season) -> None:
    batch = season.sow(season.north)
    day = season.count(batch, Stage.HARDENING, 100, 330)
    found = read_forecasts(season.session, today=day)
    rescue = read_rescue(season.session, found.targets[0], found, today=day)
    assert rescue.sowing is None
    assert rescue.buy == rescue.must_buy > 0
    assert rescue.buy_by == dt.date(2028, 2, 28)


def both(season: Season, *, lot: Lot | None = None) -> tuple[Batch, Batch, dt.date]:
    """The north has half of what it needs, the south far more."""
    poor, rich = season.sow(season.north), season.sow(season.south, lot=lot)
    cells = poor.trays * 40
    season.count(poor, Stage.GROWING, round(0.5 * cells), 120)
    extra = season.sow(None, part=0.4)
    extra.target_id = season.south.id
    season.session.flush()
    return poor, rich, season.count(rich, Stage.GROWING, cells, 121)


def test_what_one_target_can_spare_is_offered_to_the_one_that_is_short_and_one_click_moves_it(
    season: Season,
) -> None:
    _poor, _rich, day = both(season)
    found = read_forecasts(season.session, today=day)
    north, south = found.target(season.north.id), found.target(season.south.id)
    assert north is not None
    assert south is not None
    assert (north.standing, south.standing) == (Standing.SHORT, Standing.SPARE)
    offers = takers_of(season.session, south, found, today=day)
    assert {taker.target_id for taker, _move in offers} == {north.target_id}
    move = max((move for _taker, move in offers), key=lambda move: move.ready)
    assert 0 < move.ready <= min(south.spare, north.lacking)
    part = move_to(season.session, ANA, batch_id=move.batch_id, target_id=season.north.id, today=day)
    assert part.target_id == season.north.id
    after = read_forecasts(season.session, today=day)
    now_north, now_south = after.target(season.north.id), after.target(season.south.id)
    assert now_north is not None
    assert now_south is not None
    assert now_north.lacking < north.lacking
    assert not now_south.is_short


def test_a_batch_whose_lot_may_not_go_to_the_site_is_not_offered(season: Season, maker: Maker) -> None:
    far = maker.lot(
        population=maker.population(region_code="R9", latitude=43.9, longitude=3.0), amount_mg=40_000_000
    )
    poor = season.sow(season.north)
    free = season.sow(None, lot=far)
    day = season.count(poor, Stage.GROWING, 50, 120)
    found = read_forecasts(season.session, today=day)
    assert read_rescue(season.session, found.targets[0], found, today=day).moves == []
    with pytest.raises(Conflict):
        move_to(season.session, ANA, batch_id=free.id, target_id=season.north.id, today=day)


def test_a_batch_that_nobody_was_promised_goes_whole_where_all_of_it_is_needed(season: Season) -> None:
    poor, free = season.sow(season.north), season.sow(None, part=0.3)
    day = season.count(poor, Stage.GROWING, 50, 120)
    found = read_forecasts(season.session, today=day)
    moves = read_rescue(season.session, found.targets[0], found, today=day).moves
    assert [(move.code, move.is_whole, move.giver) for move in moves] == [(free.code, True, None)]
    assert move_to(season.session, ANA, batch_id=free.id, target_id=season.north.id, today=day) is free


def test_reading_takes_the_same_number_of_queries_whatever_the_targets(
    season: Season, engine: Engine, count_queries: Callable[[Engine], AbstractContextManager[list[str]]]
) -> None:
    season.sow(season.north)
    season.session.expire_all()
    with count_queries(engine) as few:
        read_forecasts(season.session, today=TODAY)
    season.count(season.sow(season.south), Stage.EMERGED, 100, 30)
    season.session.expire_all()
    with count_queries(engine) as many:
        assert len(read_forecasts(season.session, today=TODAY).targets) == 2
    assert len(few) == len(many) <= 14


def test_a_target_that_only_got_plants_of_others_has_them(season: Season) -> None:
    batch = season.sow(None)
    day = season.count(batch, Stage.READY, 500, 300)
    dispatch(
        season.session, ANA, batch=batch, site_id=season.south.site_id, plants=100, happened_on=day, today=day,
        target_id=season.south.id,
    )  # fmt: skip
    found = read_forecasts(season.session, today=day, told=[season.south.id])
    assert [(one.target_id, one.now.expected, one.batches) for one in found.targets] == [
        (season.south.id, 100.0, [])
    ]
    assert [code for code, _one in found.free[batch.species_id]] == [batch.code]
