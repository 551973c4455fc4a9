"""What if: the plan of a species redone, side by side, and nothing written."""

from __future__ import annotations

import datetime as dt
import time

import pytest
from sqlalchemy import event, func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Container, Plan, PlanLine, Species, Target
from nursery.services.costing.what_if import take_over, try_changes
from nursery.services.planning.changes import Changes


@pytest.fixture
def oak(demo_session: Session) -> Species:
    return demo_session.scalars(select(Species).where(Species.key == "quercus-suber")).one()


@pytest.fixture
def targets(demo_session: Session, oak: Species) -> frozenset[int]:
    query = select(Target.id).where(Target.species_id == oak.id, Target.archived_at.is_(None))
    return frozenset(demo_session.scalars(query))


def test_a_higher_assurance_takes_more_seed_trays_hours_and_money(
    demo_session: Session, oak: Species, targets: frozenset[int], today: dt.date
) -> None:
    tried = try_changes(demo_session, Changes(targets, assurance=0.99), species_id=oak.id, today=today)
    before, after = tried.before, tried.after
    assert (after.seeds > before.seeds, after.trays > before.trays, after.hours > before.hours) == (True,) * 3
    assert (after.cents > before.cents, after.bench_m2 > before.bench_m2) == (True, True)
    grown = [(pair.before.line, pair.after.line) for pair in tried.chosen if pair.after.grows]
    assert all(now.probability >= max(was.probability, 0.99) for was, now in grown)


def test_a_tray_of_more_cells_takes_fewer_trays(
    demo_session: Session, oak: Species, targets: frozenset[int], today: dt.date
) -> None:
    query = select(Container).order_by(Container.cells_per_tray.desc()).limit(1)
    tray = demo_session.scalars(query).one()
    tried = try_changes(demo_session, Changes(targets, container_id=tray.id), species_id=oak.id, today=today)
    assert {pair.after.line.container_id for pair in tried.chosen} == {tray.id}
    assert tried.after.trays < tried.before.trays


def test_another_season_moves_the_ready_day_of_the_chosen_targets_alone(
    demo_session: Session, oak: Species, targets: frozenset[int], today: dt.date
) -> None:
    first = min(targets)
    tried = try_changes(demo_session, Changes({first}, season=2029), species_id=oak.id, today=today)
    [pair] = tried.chosen
    assert (pair.after.line.season, pair.after.line.ready_on.year) == (2029, 2029)
    assert {one.target_id for one in tried.moved} <= targets - {first}


def test_nothing_is_written(demo_session: Session, oak: Species, targets: frozenset[int], today: dt.date) -> None:
    sent: list[str] = []
    engine = demo_session.get_bind()
    event.listen(engine, "before_cursor_execute", lambda *parts: sent.append(parts[2]))
    counted = [demo_session.scalar(select(func.count()).select_from(model)) for model in (Plan, PlanLine)]
    try_changes(demo_session, Changes(targets, assurance=0.95, season=2028), species_id=oak.id, today=today)
    demo_session.flush()
    assert [one for one in sent if not one.lstrip().upper().startswith(("SELECT", "WITH"))] == []
    assert counted == [demo_session.scalar(select(func.count()).select_from(model)) for model in (Plan, PlanLine)]


def test_without_a_change_both_sides_are_the_same(
    demo_session: Session, oak: Species, targets: frozenset[int], today: dt.date
) -> None:
    tried = try_changes(demo_session, Changes(targets), species_id=oak.id, today=today)
    assert (tried.before, list(tried.moved)) == (tried.after, [])


def test_it_takes_less_than_three_seconds_of_work(
    demo_session: Session, oak: Species, targets: frozenset[int], today: dt.date
) -> None:
    try_changes(demo_session, Changes(targets), species_id=oak.id, today=today)  # slow imports are paid once
    begun = time.process_time()
    try_changes(demo_session, Changes(targets, assurance=0.9), species_id=oak.id, today=today)
    assert time.process_time() - begun < 3


def test_no_open_target_chosen_is_told(demo_session: Session, oak: Species, today: dt.date) -> None:
    with pytest.raises(Invalid):
        try_changes(demo_session, Changes({0}, assurance=0.9), species_id=oak.id, today=today)


def test_taken_over_the_targets_themselves_change(
    demo_session: Session, oak: Species, targets: frozenset[int], today: dt.date
) -> None:
    first = min(targets)
    take_over(demo_session, "Rui", Changes({first}, assurance=0.9, season=2029), today=today)
    demo_session.expire_all()
    target = demo_session.get_one(Target, first)
    assert (target.assurance, target.season, target.plant_on) == (0.9, 2029, None)
