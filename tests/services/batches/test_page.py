"""What the page of a batch proposes and sums up."""

from __future__ import annotations

import datetime as dt

from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import batches
from nursery.services.batches.page import read_page, stage_to_count
from nursery.services.batches.sampling import LOOK_AT, trays_to_look_at
from tests.services.batches.conftest import ANA, EMERGED, TODAY, Floor


def test_the_next_count_is_of_what_comes_up_then_of_the_same_stage_then_of_the_next(floor: Floor) -> None:
    batch = floor.sow()
    assert stage_to_count(batch, TODAY) is Stage.EMERGED
    floor.count(batch, 300)
    assert stage_to_count(batch, EMERGED + dt.timedelta(13)) is Stage.EMERGED
    assert stage_to_count(batch, EMERGED + dt.timedelta(14)) is Stage.GROWING


def test_seedlings_in_flats_stay_emerged_until_they_are_pricked_out(floor: Floor) -> None:
    flats = floor.counted(300, method=Method.PRICKED_OUT)

    assert stage_to_count(flats, TODAY) is Stage.EMERGED


def test_trays_to_look_at_are_drawn_by_chance_and_stay_the_same_all_day(floor: Floor) -> None:
    batch = floor.sow()
    drawn = trays_to_look_at(batch, TODAY)

    assert drawn == trays_to_look_at(batch, TODAY)
    assert len(set(drawn)) == LOOK_AT
    assert set(drawn) <= set(range(1, 11))
    days = [tuple(trays_to_look_at(batch, TODAY + dt.timedelta(n))) for n in range(8)]
    assert len(set(days)) > 4
    assert trays_to_look_at(floor.sow(seeds=40, trays=6), TODAY) == []


def test_the_page_sums_its_plants_and_names_its_relations(floor: Floor) -> None:
    batch = floor.counted(300, bench_id=floor.benches[0].id)
    when = {"happened_on": EMERGED, "today": TODAY}
    batches.lose(floor.session, ANA, batch=batch, plants=20, cause=Cause.PEST, **when)
    part = batches.split(floor.session, ANA, batch=batch, plants=80, **when)
    batches.dispatch(floor.session, ANA, batch=batch, site_id=floor.site.id, plants=50, **when)
    page = read_page(floor.session, batch, today=TODAY)

    assert (page.sums.came, page.sums.lost, page.sums.dispatched, batch.alive) == (220, 20, 50, 150)
    assert [(one.code, one.plants) for one in page.went_into] == [(part.code, 80)]
    assert [(site.name, plants) for site, plants in page.sent] == [("Long bank", 50)]
    assert page.unplaced == batch.trays - sum(one.trays for one in page.places) == 0
    came = read_page(floor.session, part, today=TODAY).came_from
    assert [(one.code, one.plants) for one in came] == [(batch.code, 80)]
