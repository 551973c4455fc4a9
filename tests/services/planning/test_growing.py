"""Batches as a plan takes them from the records: by target, by lot through mergers, and what is told of them."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from sqlalchemy.orm import Session

from nursery.planning.growing.words import Stage
from nursery.services.batches.dispatching import dispatch
from nursery.services.batches.merging import merge
from nursery.services.batches.reversing import reverse_act
from nursery.services.planning import make_plan, plan_as_data
from nursery.services.planning.fingerprint import as_json, fingerprint
from nursery.services.planning.gather import gather
from tests.conftest import TODAY, Maker
from tests.services.forecast.season_maker import ANA, Season


@pytest.fixture
def season(session: Session, maker: Maker) -> Season:
    return Season(session, maker)


def test_without_batches_a_plan_is_given_nothing(season: Season) -> None:
    gathered = gather(season.session, today=TODAY)
    assert gathered.inputs.growing is None
    assert as_json(gathered.inputs)["growing"] is None


def test_a_batch_counts_for_its_own_target_and_one_for_nobody_for_none(season: Season) -> None:
    batch = season.sow(season.north)
    season.sow(None)
    gathered = gather(season.session, today=TODAY)
    growing, lines = gathered.inputs.growing, gathered.inputs.lines["target_id"].tolist()
    assert growing is not None
    north = lines.index(season.north.id)
    assert growing.some.tolist() == [target == season.north.id for target in lines]
    assert [each["code"] for each in gathered.growing.batches[north]] == [batch.code]
    assert growing.parts["line"].tolist() == [north]
    assert growing.lots["lot_id"].tolist() == [season.lot.id]


def test_every_count_makes_another_fingerprint(season: Season) -> None:
    batch = season.sow(season.north)
    before = fingerprint(as_json(gather(season.session, today=TODAY).inputs))
    day = season.count(batch, Stage.EMERGED, 300, 30)
    after = fingerprint(as_json(gather(season.session, today=TODAY).inputs))
    assert before != after
    assert after == fingerprint(as_json(gather(season.session, today=TODAY).inputs))
    assert day > TODAY


def test_plants_sent_to_another_target_count_there(season: Season) -> None:
    batch = season.sow(season.north)
    day = season.count(batch, Stage.READY, 420, 300)
    dispatch(
        season.session, ANA, batch=batch, site_id=season.south.site_id, plants=120, happened_on=day, today=day,
        target_id=season.south.id,
    )  # fmt: skip
    gathered = gather(season.session, today=day)
    growing, lines = gathered.inputs.growing, gathered.inputs.lines["target_id"].tolist()
    assert growing is not None
    by_target = dict(zip(lines, growing.expected.tolist(), strict=True))
    assert by_target == {season.north.id: 300.0, season.south.id: 120.0}
    south = gathered.growing.batches[lines.index(season.south.id)]
    assert [(each["code"], each["expected"], each["dispatched"]) for each in south] == [(batch.code, 0.0, 120)]


def test_a_merged_batch_keeps_the_shares_of_its_lots(season: Season, maker: Maker) -> None:
    near = maker.lot(population=maker.population(region_code="R1", name="Levada"), amount_mg=40_000_000)
    one, other = season.sow(season.north, part=0.5), season.sow(season.north, part=0.5, lot=near)
    day = season.count(one, Stage.READY, 300, 300)
    season.count(other, Stage.READY, 100, 300)
    merged = merge(
        season.session, ANA, batches=[one, other], happened_on=day, today=day, reason="one bench is enough",
    )  # fmt: skip
    assert merged.target_id == season.north.id
    growing = gather(season.session, today=day).inputs.growing
    assert growing is not None
    lots = growing.lots["lot_id"].to_numpy()[growing.parts["lot"].to_numpy(np.int64)].tolist()
    assert dict(zip(lots, growing.parts["plants"].tolist(), strict=True)) == {season.lot.id: 300.0, near.id: 100.0}


def test_the_plan_tells_what_grows(season: Season) -> None:
    batch = season.sow(season.north)
    day = season.count(batch, Stage.READY, 600, 300)
    plan = make_plan(season.session, ANA, today=day)
    line = next(one for one in plan_as_data(season.session, plan)["lines"] if one["target"] == season.north.id)
    assert (line["seeds"], line["trays"], line["seeds_missing"], line["shortfall"]) == (0, 0, 0, 0)
    assert (line["status"], line["expected"], line["p10"], line["p90"]) == ("on-track", 600.0, 600, 600)
    assert line["growing"]["covered"] is True
    assert line["growing"]["batches"] == [
        {"batch_id": batch.id, "code": batch.code, "expected": 600.0, "p10": 600, "p90": 600, "dispatched": 0,
         "ready_on": day.isoformat()}
    ]  # fmt: skip
    assert line["mix"]["plants"] == 600.0
    assert line["lots"] == []


def test_a_target_that_plants_went_to_leaves_the_plan_when_its_window_is_over(season: Season) -> None:
    batch = season.sow(season.north)
    day = season.count(batch, Stage.READY, 420, 300)
    sent = dispatch(
        season.session, ANA, batch=batch, site_id=season.south.site_id, plants=120, happened_on=day, today=day,
        target_id=season.south.id,
    )  # fmt: skip
    long_after = dt.date(season.south.season + 2, 7, 1)

    def planned(today: dt.date) -> set[int]:
        return set(gather(season.session, today=today).inputs.lines["target_id"])

    assert planned(day) == {season.north.id, season.south.id}
    assert planned(long_after) == {season.north.id}
    reverse_act(season.session, ANA, act=sent.act, reason="another site", today=day)
    assert planned(long_after) == {season.north.id, season.south.id}
