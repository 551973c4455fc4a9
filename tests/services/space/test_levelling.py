"""Making the plan of the demo fit: last season's plants still stand where the new sowings should."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.models import Batch, Bench, Change, Nursery, Plan, PlanLine, Target
from nursery.models.types import utc_now
from nursery.planning.growing.words import Stage
from nursery.services.health.quarantine import quarantine
from nursery.services.planning import adopt_plan, make_plan
from nursery.services.space.levelling import Levelling, read_levelling, take_over
from nursery.services.space.occupancy import read_occupancy
from nursery.services.space.telling import how, what_it_costs, what_to_do
from tests.conftest import Maker
from tests.crowding import crowd_the_hill, make_room
from tests.plan_lines import add_line, make_kept_plan, phases_of

TODAY = dt.date(2026, 11, 25)


@pytest.fixture
def crowded(demo_session: Session) -> Session:
    """The demo with too little room on the hill."""
    crowd_the_hill(demo_session)
    demo_session.flush()
    return demo_session


def over(session: Session) -> float:
    found = read_occupancy(session, today=TODAY, weeks=None)
    return float(sum(nursery.whole.over.sum() for nursery in found.nurseries))


def read(session: Session) -> Levelling:
    session.flush()
    session.expire_all()
    return read_levelling(session, today=TODAY)


def test_sowings_wait_until_last_seasons_plants_have_left(crowded: Session) -> None:
    found = read(crowded)
    assert over(crowded) > 0
    assert (found.answer.is_needed, found.answer.is_proved) == (True, True)
    assert float(found.answer.over_after.sum()) == 0.0
    assert found.moves
    assert all(move.is_shift and move.days > 0 and not move.is_dropped for move in found.moves)


def test_each_shift_keeps_the_window_of_its_site_and_begins_in_time(crowded: Session) -> None:
    for move in read(crowded).moves:
        assert move.line is not None
        assert move.plant_on is not None
        opens, closes = (dt.date.fromisoformat(day) for day in move.line.row.window)
        assert opens <= move.plant_on <= closes
        assert (move.plant_on - move.line.row.plant_on).days == move.days
        assert move.sow_on is not None
        assert move.sow_on >= TODAY


def test_nothing_is_written_before_it_is_taken_over(crowded: Session) -> None:
    before = crowded.scalar(select(func.count(Change.id)))
    read(crowded)
    assert crowded.scalar(select(func.count(Change.id))) == before
    assert (list(crowded.new), list(crowded.dirty)) == ([], [])


def test_what_was_taken_over_is_what_the_next_plan_does_and_it_fits(crowded: Session) -> None:
    found = read(crowded)
    wanted = {move.line.row.target_id: (move.plant_on, move.sow_on) for move in found.shifts if move.line}
    assert take_over(crowded, "Ana", mark=found.mark, today=TODAY) == len(wanted)
    pinned = dict(crowded.execute(select(Target.id, Target.plant_on).where(Target.id.in_(wanted))).all())
    assert pinned == {target: plant_on for target, (plant_on, _sow_on) in wanted.items()}
    plan = make_plan(crowded, "Ana", today=TODAY)
    adopt_plan(crowded, "Ana", plan_id=plan.id)
    made = {
        target: (plant_on, sow_on)
        for target, plant_on, sow_on in crowded.execute(
            select(PlanLine.target_id, PlanLine.plant_on, PlanLine.sow_on).where(
                PlanLine.plan_id == plan.id, PlanLine.target_id.in_(wanted)
            )
        )
    }
    assert made == wanted
    crowded.expire_all()
    assert not read(crowded).answer.is_needed


def test_other_moves_than_those_seen_are_not_taken_over(crowded: Session) -> None:
    with pytest.raises(Conflict):
        take_over(crowded, "Ana", mark="what I saw an hour ago", today=TODAY)
    assert crowded.scalar(select(func.count(Target.id)).where(Target.plant_on.is_not(None))) == crowded.scalar(
        select(func.count(Target.id)).where(Target.plant_on.is_not(None), Target.version == 1)
    )


def test_a_day_that_somebody_pinned_is_not_shifted(crowded: Session) -> None:
    first = read(crowded).moves[0]
    assert first.line is not None
    target = crowded.get(Target, first.line.row.target_id)
    assert target is not None
    target.plant_on = first.line.row.plant_on
    assert first.line.row.id not in {move.item.line_id for move in read(crowded).shifts}


def test_shifts_are_told_with_their_cost_and_what_becomes_of_them(crowded: Session) -> None:
    move = read(crowded).moves[0]
    (sentence,) = what_to_do(move)
    assert sentence.startswith("Plant on ")
    assert "sowing then falls on" in sentence
    assert what_it_costs(move) == f"planted {move.days} days later"
    assert how(move) == "Taken over: the planting day is pinned on the target."


@pytest.fixture
def two_benches(session: Session, maker: Maker) -> tuple[Bench, Bench, Batch]:
    """Ten trays of 0.2 m² on a bench of 1.3 m²; beside it one with room."""
    nursery = maker.nursery(bench_area_m2=20.0)
    deep = maker.container(nursery=nursery, tray_length_mm=500.0, tray_width_mm=400.0)
    east = maker.bench(nursery=nursery, name="East", area_m2=1.3)
    west = maker.bench(nursery=nursery, name="West", area_m2=9.0)
    batch = maker.batch(bench=east, container_id=deep.id, nursery_id=nursery.id, alive=300, stage=Stage.READY)
    return east, west, batch


def test_trays_of_a_batch_go_to_another_bench_and_no_more_than_must(
    session: Session, two_benches: tuple[Bench, Bench, Batch]
) -> None:
    (move,) = read(session).moves
    assert [(place.name, trays) for place, trays in move.stands] == [("East", 6), ("West", 4)]
    assert what_to_do(move) == ["Move 4 of 10 trays from East to West."]
    assert (what_it_costs(move), how(move)) == (
        "4 trays to carry",
        "Advice: carry the trays and note it at the batch.",
    )
    assert take_over(session, "Ana", mark=read(session).mark, today=TODAY) == 0


@pytest.mark.parametrize("shut", ["batch", "east", "west"])
def test_nothing_goes_out_of_or_into_quarantine(
    session: Session, two_benches: tuple[Bench, Bench, Batch], shut: str
) -> None:
    east, west, batch = two_benches
    named: Any = {"batch": {"batch_id": batch.id}, "east": {"bench_id": east.id}, "west": {"bench_id": west.id}}
    quarantine(session, "Ana", reason="Brown leaves", since=TODAY, today=TODAY, **named[shut])
    found = read(session)
    assert list(found.moves) == []
    assert round(float(found.answer.over_after[:, 0].max()), 6) == 0.7


def test_a_line_is_sown_where_another_nursery_has_the_same_container(session: Session, maker: Maker) -> None:
    here, there = maker.nursery(name="Here", bench_area_m2=1.5), maker.nursery(name="There", bench_area_m2=9.0)
    sizes = {"name": "Deep", "tray_length_mm": 500.0, "tray_width_mm": 400.0}
    own, _twin = (maker.container(nursery=nursery, **sizes) for nursery in (here, there))
    plan = make_kept_plan(session, TODAY)
    add_line(maker, plan, phases_of(TODAY, ("emergence", 60)), container_id=own.id, trays=10)
    (move,) = read(session).moves
    assert [(place.name, trays) for place, trays in move.stands] == [("Here", 7), ("There", 3)]
    assert what_to_do(move) == ["Sow 3 of 10 trays at There, which has the same container, not at Here."]
    assert how(move).startswith("Advice: a target has one container.")


def test_where_nothing_helps_the_line_that_matters_least_is_named(session: Session, maker: Maker) -> None:
    nursery = maker.nursery(bench_area_m2=3.0)
    deep = maker.container(nursery=nursery, tray_length_mm=500.0, tray_width_mm=400.0)
    plan = make_kept_plan(session, TODAY)
    lines = [
        add_line(
            maker, plan, phases_of(dt.date(2026, 12, 1), ("emergence", 60)), container_id=deep.id, trays=10,
            plants_to_plant=plants,
        )
        for plants in (300, 300, 100)
    ]  # fmt: skip
    for line, priority in zip(lines, (1, 4, 2), strict=True):
        target = session.get(Target, line.target_id)
        assert target is not None
        target.priority = priority
    moves = read(session).moves
    # One line of 2 m² fits. Losses of priority 1 are avoided first, then those of 2: both others go.
    assert [(move.item.line_id, move.is_dropped) for move in moves] == [
        (lines[1].id, True),
        (lines[2].id, True),
    ]
    assert what_it_costs(moves[0]) == "300 plants missing, priority 4"
    assert "10 trays stay unsown" in what_to_do(moves[0])[0]


def test_what_fits_gives_no_moves_in_a_fixed_number_of_queries(demo_session: Session, count_queries: Any) -> None:
    make_room(demo_session)
    assert list(read(demo_session).moves) == []
    with count_queries(demo_session.get_bind()) as statements:
        read_levelling(demo_session, today=TODAY)
    assert len(statements) < 40
    lines = demo_session.scalar(
        select(func.count(PlanLine.id)).join(PlanLine.plan).where(Plan.is_adopted, PlanLine.trays > 0)
    )
    assert (lines or 0) > 40
    assert np.isfinite(read(demo_session).answer.before).all()


def test_lines_of_a_nursery_put_aside_are_left_out(crowded: Session) -> None:
    nursery = crowded.scalars(select(Nursery).order_by(Nursery.id.desc()).limit(1)).one()
    nursery.archived_at = utc_now()
    found = read(crowded)

    assert nursery.id not in {place.nursery_id for place in found.problem.places}
    assert all(0 <= thing < len(found.problem.item) for thing in found.problem.options.thing.tolist())
