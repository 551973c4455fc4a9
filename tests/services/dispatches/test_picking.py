from __future__ import annotations

from sqlalchemy.orm import Session

from nursery.services import batches
from nursery.services.dispatches import picking, planning
from tests.services.dispatches.conftest import ANA, TODAY, Yard


def picked(session: Session, yard: Yard, *lines: tuple[object, int]) -> list[tuple[str, str, int, int]]:
    load = yard.load(*lines)  # type: ignore[arg-type]
    return [(one.place, one.line.batch.code, one.trays, one.plants) for one in picking.pick_list(session, load)]


def test_one_walks_from_bench_to_bench(session: Session, yard: Yard) -> None:
    # 300 plants in ten trays on North, 200 in ten trays on South.
    assert picked(session, yard, (yard.free, 45), (yard.own, 61)) == [
        ("North", yard.own.code, 3, 61), ("South", yard.free.code, 3, 45),
    ]  # fmt: skip


def test_a_batch_on_two_benches_is_picked_from_the_first_and_then_the_next(session: Session, yard: Yard) -> None:
    north, south = yard.benches
    batches.move_trays(
        session, ANA, batch=yard.own, from_bench_id=north.id, to_bench_id=south.id, trays=4, on=TODAY, today=TODAY
    )
    assert picked(session, yard, (yard.own, 200)) == [
        ("North", yard.own.code, 6, 180), ("South", yard.own.code, 1, 20),
    ]  # fmt: skip


def test_two_lines_of_one_batch_do_not_pick_the_same_plants(session: Session, yard: Yard) -> None:
    north, south = yard.benches
    batches.move_trays(
        session, ANA, batch=yard.free, from_bench_id=south.id, to_bench_id=north.id, trays=5, on=TODAY, today=TODAY
    )
    load = yard.load((yard.free, 80))
    other = yard.maker.target(site=yard.site, season=2027)

    planning.add_line(session, ANA, load=load, batch_id=yard.free.id, target_id=other.id, plants=60, today=TODAY)
    picks = picking.pick_list(session, load)
    assert [(one.place, one.line.position, one.plants) for one in picks] == [
        ("North", 1, 80), ("North", 2, 20), ("South", 2, 40),
    ]  # fmt: skip


def test_plants_that_nobody_knows_where_they_stand_come_last(session: Session, yard: Yard) -> None:
    batches.leave(session, ANA, batch=yard.own, bench_id=yard.benches[0].id, trays=10, on=TODAY, today=TODAY)
    assert picked(session, yard, (yard.own, 30), (yard.free, 20)) == [
        ("South", yard.free.code, 1, 20), ("", yard.own.code, 1, 30),
    ]  # fmt: skip


def test_bench_2_comes_before_bench_10(session: Session, yard: Yard) -> None:
    yard.benches[0].name, yard.benches[1].name = "Bench 10", "Bench 2"
    session.flush()
    assert [row[0] for row in picked(session, yard, (yard.own, 10), (yard.free, 10))] == ["Bench 2", "Bench 10"]
