"""One number of trays for a load, wherever it is asked: pick list, line, ledger and benches."""

from __future__ import annotations

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Batch, Dispatch, DispatchLine
from nursery.models.batches import PlantMovementKind
from nursery.models.dispatches import ReturnDecision
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services import batches
from nursery.services.dispatches import direct, picking, planning, returning, sending, substituting
from nursery.services.dispatches.reading import rows_of
from nursery.services.dispatches.trays import in_each, trays_by_line
from tests.services.dispatches.conftest import ANA, SENT, TODAY, Yard


def on_benches(session: Session, batch: Batch) -> dict[str, int]:
    return {one.bench.name: one.trays for one in batches.standing(session, batch)}


def ledger_trays(session: Session, batch: Batch, kind: PlantMovementKind) -> list[int | None]:
    return [entry.trays for entry in batches.read_ledger(session, batch) if entry.kind is kind]


def picked(session: Session, load: Dispatch) -> list[tuple[str, int | None, int]]:
    return [(one.place, one.trays, one.plants) for one in picking.pick_list(session, load)]


def send(session: Session, load: Dispatch, **values: object) -> None:
    sending.send(session, ANA, load=load, sent_on=SENT, today=TODAY, **values)  # type: ignore[arg-type]


def part(session: Session, load: Dispatch, plants: int) -> DispatchLine:
    """Fewer of the only line go than were asked for."""
    send(session, load, sent={load.lines[0].id: plants})
    return load.lines[0]


def test_pick_list_line_ledger_and_benches_tell_the_same_trays(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))  # 300 stand in ten trays
    before = picked(session, load)

    send(session, load)

    assert before == [("North", 4, 100)]
    assert (load.lines[0].trays, [row.trays for row in rows_of(load)]) == (4, [4])
    assert ledger_trays(session, yard.own, PlantMovementKind.DISPATCHED) == [4]
    assert (yard.own.trays, on_benches(session, yard.own)) == (6, {"North": 6})
    assert picked(session, load) == before


def test_trays_leave_the_benches_that_the_pick_list_names(session: Session, yard: Yard) -> None:
    north, south = yard.benches
    batches.move_trays(
        session, ANA, batch=yard.own, from_bench_id=north.id, to_bench_id=south.id, trays=4, on=SENT, today=TODAY
    )
    load = yard.load((yard.own, 200))

    send(session, load)

    assert picked(session, load) == [("North", 6, 180), ("South", 1, 20)]
    assert on_benches(session, yard.own) == {"South": 3}
    batches.move_trays(
        session, ANA, batch=yard.own, from_bench_id=south.id, to_bench_id=north.id, trays=3, on=TODAY, today=TODAY
    )
    assert picked(session, load) == [("North", 6, 180), ("South", 1, 20)]  # as they were fetched


def test_a_part_takes_the_trays_that_it_fills(session: Session, yard: Yard) -> None:
    line = part(session, yard.load((yard.own, 100)), 50)
    assert (line.trays, yard.own.trays) == (2, 8)


def test_a_part_takes_a_share_of_trays_that_somebody_stated(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))
    planning.change_line(session, ANA, line=load.lines[0], plants=100, trays=5)
    assert picked(session, load) == [("North", 5, 100)]

    assert part(session, load, 50).trays == 3


def test_whoever_loads_says_in_how_many_trays_they_stand(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))
    line = load.lines[0]
    for wrong in (2, 11, -1):  # trays of 40 cells hold at most 80; it stands in ten
        with pytest.raises(Invalid) as caught:
            send(session, load, trays={line.id: wrong})
        assert set(caught.value.errors) == {f"trays-{line.id}"}

    send(session, load, trays={line.id: 3})
    assert (load.lines[0].trays, yard.own.trays) == (3, 7)
    assert ledger_trays(session, yard.own, PlantMovementKind.DISPATCHED) == [3]


def test_plants_taken_out_of_their_trays_leave_in_none(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))

    send(session, load, trays={load.lines[0].id: 0})

    assert ledger_trays(session, yard.own, PlantMovementKind.DISPATCHED) == [0]
    assert (yard.own.alive, yard.own.trays) == (200, 7)  # seven of ten hold two thirds of the plants


def test_plants_that_stay_keep_as_many_trays_as_hold_them(session: Session, yard: Yard) -> None:
    batches.record_count(
        session, ANA, batch=yard.own, stage=Stage.READY, counted_on=SENT, today=TODAY, plants=400
    )  # every one of 40 cells is full
    send(session, yard.load((yard.own, 181)))
    assert (yard.own.alive, yard.own.trays) == (219, 6)  # 5 went; five would hold 200


def test_what_comes_back_brings_its_trays(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))
    send(session, load)
    line = load.lines[0]
    row = returning.note_return(session, ANA, line=line, plants=40, returned_on=TODAY, today=TODAY)
    assert (row.trays, yard.own.trays) == (2, 6)

    returning.decide(
        session, ANA, row=row, decision=ReturnDecision.BACK_IN_STOCK, reason="sound", decided_on=TODAY, today=TODAY
    )
    assert (yard.own.alive, yard.own.trays) == (240, 8)
    assert ledger_trays(session, yard.own, PlantMovementKind.RETURNED) == [2]

    returning.undo_decision(session, ANA, row=row, reason="not sound", today=TODAY)
    assert (yard.own.alive, yard.own.trays) == (200, 6)


def test_no_more_trays_come_back_than_went(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))
    send(session, load)
    line = load.lines[0]
    given = {"line": line, "returned_on": TODAY, "today": TODAY}
    with pytest.raises(Invalid) as caught:
        returning.note_return(session, ANA, plants=40, trays=5, **given)  # type: ignore[arg-type]
    assert set(caught.value.errors) == {"trays"}

    returning.note_return(session, ANA, plants=40, trays=3, **given)  # type: ignore[arg-type]
    rest = returning.note_return(session, ANA, plants=60, **given)  # type: ignore[arg-type]
    assert rest.trays == 1


def test_discarded_plants_bring_no_trays_into_stock(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))
    send(session, load)
    row = returning.note_return(session, ANA, line=load.lines[0], plants=40, returned_on=TODAY, today=TODAY)
    returning.decide(
        session, ANA, row=row, decision=ReturnDecision.DISCARDED, reason="dry", decided_on=TODAY, today=TODAY
    )
    assert (yard.own.alive, yard.own.trays) == (200, 6)
    assert ledger_trays(session, yard.own, PlantMovementKind.RETURNED) == [None]


def test_a_load_taken_back_gives_its_trays_back(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))
    send(session, load, trays={load.lines[0].id: 5})
    sending.take_back(session, ANA, load=load, reason="wrong day", today=TODAY)
    assert (yard.own.trays, load.lines[0].trays, load.lines[0].fetched) == (10, 5, [])

    assert part(session, load, 20).trays == 1
    sending.take_back(session, ANA, load=load, reason="all of it went", today=TODAY)
    assert (load.lines[0].trays, trays_by_line(load.lines)) == (None, {load.lines[0].id: 4})


def test_another_number_of_plants_or_batch_lets_the_trays_follow(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 100))
    line = load.lines[0]
    planning.change_line(session, ANA, line=line, plants=100, trays=6)
    planning.change_line(session, ANA, line=line, plants=100, grade="20-30")
    assert line.trays == 6
    planning.change_line(session, ANA, line=line, plants=150)
    assert trays_by_line(load.lines) == {line.id: 5}

    planning.change_line(session, ANA, line=line, plants=150, trays=7)
    substituting.substitute(session, ANA, line=line, batch_id=yard.free.id, reason="ready sooner", today=TODAY)
    assert trays_by_line(load.lines) == {line.id: 8}  # 200 stand in ten trays


def test_two_lines_of_a_batch_do_not_count_a_tray_twice(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 20))
    other = yard.maker.target(site=yard.site, season=2027)
    planning.add_line(session, ANA, load=load, batch_id=yard.own.id, target_id=other.id, plants=37, today=TODAY)
    # 20 stand in one tray, both together in two: the second takes one more.
    assert list(trays_by_line(load.lines).values()) == [1, 1]


def test_beds_and_single_pots_have_no_trays(session: Session, yard: Yard) -> None:
    load = yard.load((yard.own, 20), (yard.free, 20))
    yard.own.cells_per_tray, yard.free.method = 1, Method.BAREROOT
    session.flush()
    assert picked(session, load) == [("North", None, 20), ("South", None, 20)]

    send(session, load)
    assert [line.trays for line in load.lines] == [None, None]


def test_plants_sent_from_the_page_of_their_batch_have_trays_too(session: Session, yard: Yard) -> None:
    values = {"batch": yard.own, "site_id": yard.site.id, "happened_on": SENT, "today": TODAY}
    direct.send_directly(session, ANA, plants=100, **values)  # type: ignore[arg-type]
    assert ledger_trays(session, yard.own, PlantMovementKind.DISPATCHED) == [4]
    assert yard.own.trays == 6

    direct.send_directly(session, ANA, plants=60, trays_left=5, **values)  # type: ignore[arg-type]
    assert ledger_trays(session, yard.own, PlantMovementKind.DISPATCHED) == [1, 4]


def older(session: Session, yard: Yard) -> Dispatch:
    """A load that left before trays were kept."""
    load = yard.sent((yard.own, 100))
    load.lines[0].trays, load.lines[0].fetched = None, []
    session.flush()
    return load


def test_of_an_older_load_nobody_knows_the_trays_until_somebody_writes_them_down(
    session: Session, yard: Yard
) -> None:
    load = older(session, yard)
    line = load.lines[0]
    assert picked(session, load) == [("", None, 100)]
    assert [row.lacks_trays for row in rows_of(load)] == [True]
    trays = yard.own.trays
    with pytest.raises(Invalid, match="need at least 3 trays"):
        sending.write_trays_down(session, ANA, line=line, trays=2)

    sending.write_trays_down(session, ANA, line=line, trays=3)

    assert (rows_of(load)[0].trays, yard.own.trays) == (3, trays)
    with pytest.raises(Conflict, match="went in 3 trays"):
        sending.write_trays_down(session, ANA, line=line, trays=4)


@pytest.mark.parametrize(
    ("plants", "trays", "each"),
    [
        (100, 4, [30, 30, 30, 10]),  # as full as the batch's, the last with what is left
        (100, 3, [34, 34, 32]),
        (100, 5, [20] * 5),
        (7, 6, [2, 1, 1, 1, 1, 1]),
        (40, 0, []),
    ],
)
def test_plants_of_each_tray_come_to_all_plants(yard: Yard, plants: int, trays: int, each: list[int]) -> None:
    assert in_each(yard.own, plants, trays) == each
    assert sum(each) == (plants if trays else 0)
