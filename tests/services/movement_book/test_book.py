"""The movement book: every row of both ledgers, who gave and who took, and sums that are the ledgers' own."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import (
    Batch,
    Dispatch,
    DispatchLine,
    Lot,
    Movement,
    Paper,
    PlantMovement,
    Recipient,
    ReturnedPlants,
    Species,
)
from nursery.models.dispatches import ReturnDecision
from nursery.models.movements import Measure, MovementKind
from nursery.models.papers import PaperKind
from nursery.models.recipients import RecipientKind
from nursery.planning.growing.words import Stage
from nursery.services.batches import record_count
from nursery.services.dispatches.planning import plan_load
from nursery.services.dispatches.receiving import receive, take_receipt_back
from nursery.services.dispatches.sending import send, take_back
from nursery.services.ledger import reverse_act, take_from_lot
from nursery.services.movement_book import Asked, read_all, read_page, read_totals

TODAY = dt.date(2026, 11, 25)


def test_the_book_holds_every_movement_and_its_sums_are_what_lots_and_batches_hold(demo_session: Session) -> None:
    entries = list(read_all(demo_session, Asked()))
    totals = {total.measure: total for total in read_totals(demo_session, Asked())}

    movements = demo_session.scalar(select(func.count(Movement.id)))
    plants = demo_session.scalar(select(func.count(PlantMovement.id)))
    assert len(entries) == (movements or 0) + (plants or 0)
    held = {
        "seed": demo_session.scalar(select(func.sum(Lot.amount_mg))),
        "pieces": demo_session.scalar(select(func.sum(Lot.pieces))),
        "fruit": demo_session.scalar(select(func.sum(Lot.fruit_mg))),
        "plants": demo_session.scalar(select(func.sum(Batch.alive))),
    }
    assert {measure: total.balance for measure, total in totals.items()} == held
    summed: Counter[str] = Counter()
    for entry in entries:
        summed[entry.measure] += entry.change
    assert dict(summed) == held


def test_pages_follow_each_other_without_a_gap(demo_session: Session) -> None:
    asked = Asked(first=dt.date(2026, 3, 1), last=dt.date(2026, 10, 31))
    whole = list(read_all(demo_session, asked))
    found, after = [], ""
    while True:
        page = read_page(demo_session, asked, after=after, size=37)
        found += page.entries
        after = page.after
        if not after:
            break

    assert found == whole
    assert all(dt.date(2026, 3, 1) <= entry.day <= dt.date(2026, 10, 31) for entry in whole)
    assert [entry.day for entry in whole] == sorted((entry.day for entry in whole), reverse=True)


def test_a_species_and_a_lot_narrow_the_book_plants_of_the_lot_included(demo_session: Session) -> None:
    batch = demo_session.scalars(select(Batch).where(Batch.lot_id.is_not(None), Batch.alive > 0).limit(1)).one()
    of_lot = list(read_all(demo_session, Asked(lot_id=batch.lot_id)))
    of_species = list(read_all(demo_session, Asked(species=batch.species.key)))

    assert {code for entry in of_lot for lot_id, code in entry.lots if lot_id == batch.lot_id} == {batch.lot.code}
    assert batch.code in {entry.batch[1] for entry in of_lot if entry.batch}
    assert {entry.species for entry in of_species} == {batch.species.scientific_name}
    assert len(of_species) > len(of_lot) > 2
    assert list(read_all(demo_session, Asked(species="no-such-plant"))) == []


def test_merged_batches_stand_under_each_of_their_lots(session: Session, maker: Any) -> None:
    lots = [maker.lot(), maker.lot()]
    parents = [maker.batch(lot=lot) for lot in lots]
    merged = maker.batch(lot=lots[0], code="B-MIX")
    merged.lot_id = None
    session.flush()
    for parent, plants in zip(parents, (60, 40), strict=True):
        _plants(session, parent, "counted", plants)
        _plants(session, parent, "merged", -plants, other=merged)
        _plants(session, merged, "merged", plants, other=parent)

    for lot in lots:
        rows = [entry for entry in read_all(session, Asked(lot_id=lot.id)) if entry.batch == (merged.id, "B-MIX")]
        assert len(rows) == 2
        assert {code for entry in rows for _id, code in entry.lots} == {one.code for one in lots}


def test_whoever_gave_or_took_is_named_with_the_papers(session: Session, maker: Any) -> None:
    lot = maker.lot(is_received=True, supplier_document="SD-77 of the Trust")
    partner = Recipient(name="Trigonda River Trust", kind=RecipientKind.PROFESSIONAL)
    batch = maker.batch(lot=lot)
    site = maker.site(name="Mill race")
    session.add(partner)
    session.flush()
    gift = take_from_lot(
        session, "Ana", lot=lot, kind=MovementKind.GIVEN, measure=Measure.SEED, amount=1000,
        reason="Trigonda River Trust", happened_on=TODAY, today=TODAY,
    )  # fmt: skip
    load = Dispatch(code="D-1", site_id=site.id, recipient_id=partner.id, planned_on=TODAY)
    session.add(load)
    session.flush()
    session.add(DispatchLine(dispatch_id=load.id, position=1, batch_id=batch.id, plants=9, act="acted"))
    _plants(session, batch, "counted", 9)
    _plants(session, batch, "dispatched", -9, site=site, act="acted")
    for number, dispatch_id, act in (("PD-1", load.id, ""), ("SD-1", None, gift.act)):
        session.add(
            Paper(
                number=number, kind=PaperKind.DELIVERY_NOTE, dispatch_id=dispatch_id, lot_id=lot.id, act=act,
                language="en", particulars={}, issued_on=TODAY, keep_until=TODAY, person="Ana",
            )
        )  # fmt: skip
    session.flush()

    told = {(entry.what, entry.partner, entry.papers) for entry in read_all(session, Asked(lot_id=lot.id))}

    assert told == {
        ("Received", "SD-77 of the Trust", ""),
        ("Given away", "Trigonda River Trust", "SD-1"),
        ("Counted", "", ""),
        ("Dispatched", "Trigonda River Trust, Mill race, D-1", "PD-1"),
    }


def test_what_was_taken_back_says_of_what_and_leaves_the_sums_right(session: Session, maker: Any) -> None:
    lot = maker.lot()
    gift = take_from_lot(
        session, "Ana", lot=lot, kind=MovementKind.GIVEN, measure=Measure.SEED, amount=1000, reason="Rui",
        happened_on=TODAY, today=TODAY,
    )  # fmt: skip
    reverse_act(session, "Ana", act=gift.act, reason="Wrong lot", today=TODAY)

    entries = list(read_all(session, Asked(lot_id=lot.id)))

    assert [entry.what for entry in entries[:2]] == ["Correction of: Given away", "Given away (corrected)"]
    assert sum(entry.change for entry in entries) == lot.amount_mg
    (seed,) = read_totals(session, Asked(lot_id=lot.id))
    assert (seed.came, seed.left, seed.rows) == (lot.amount_mg, 0, 3)


def test_plants_missing_from_a_load_are_lost_on_the_way_and_did_not_come_back(
    session: Session, maker: Any
) -> None:
    batch, site = maker.batch(), maker.site(name="Mill race")
    load = Dispatch(code="D-1", site_id=site.id, planned_on=TODAY)
    load.lines.append(DispatchLine(position=1, batch_id=batch.id, plants=9, sent=9, act="sent"))
    session.add(load)
    session.flush()
    settled = {"decided_on": TODAY, "decided_by": "Ana", "decided_reason": "Not there"}
    gone, back = "a" * 32, "b" * 32
    for act, is_missing in ((gone, True), (back, False)):
        session.add(
            ReturnedPlants(
                line_id=load.lines[0].id, plants=2, returned_on=TODAY, is_missing=is_missing, person="Ana",
                act=act, decision=ReturnDecision.DISCARDED, **settled,
            )
        )  # fmt: skip
    _plants(session, batch, "counted", 9)
    _plants(session, batch, "dispatched", -9, site=site, act="sent")
    _plants(session, batch, "returned", 2, site=site, act=gone)
    _plants(session, batch, "returned", 2, site=site, act=back)

    told = [entry.what for entry in read_all(session, Asked()) if entry.measure == "plants"]

    assert told == ["Came back", "Missing on the way", "Dispatched", "Counted"]


def test_sums_are_what_left_and_came_whatever_was_missing_or_written_down_wrongly(
    session: Session, maker: Any
) -> None:
    stand = maker.population(region_code="R1", indigenous_status="indigenous")
    batch, site = maker.batch(lot=maker.lot(population=stand)), maker.site(name="Mill race", region_code="R1")
    sown = TODAY - dt.timedelta(days=60)
    batch.sown_on = sown
    record_count(
        session,
        "Ana",
        batch=batch,
        stage=Stage.READY,
        counted_on=TODAY - dt.timedelta(days=9),
        today=TODAY,
        plants=100,
    )
    load = plan_load(
        session, "Ana", site_id=site.id, planned_on=TODAY, today=TODAY,
        lines=[{"batch_id": batch.id, "plants": 40}],
    )  # fmt: skip
    line = load.lines[0].id
    gone = TODAY - dt.timedelta(days=2)
    send(session, "Ana", load=load, sent_on=gone, today=TODAY)
    take_back(session, "Ana", load=load, reason="Not that day", today=TODAY)
    send(session, "Ana", load=load, sent_on=gone, today=TODAY)
    for came in (30, 34):
        receive(
            session, "Ana", load=load, received_on=TODAY, received_by="Rui", today=TODAY, received={line: came}
        )
        if came == 30:
            take_receipt_back(session, "Ana", load=load, reason="Counted again", today=TODAY)

    told = Counter(entry.what for entry in read_all(session, Asked()) if entry.measure == "plants")
    before, after, whole = (
        {total.measure: (total.came, total.left) for total in read_totals(session, asked)}["plants"]
        for asked in (Asked(last=gone), Asked(first=TODAY), Asked())
    )

    assert (before, after, whole) == ((100, 40), (0, 0), (100, 40))
    assert told == {
        "Counted": 1, "Dispatched": 1, "Dispatched (corrected)": 1, "Correction of: Dispatched": 1,
        "Missing on the way": 1, "Lost on the way": 1, "Missing on the way (corrected)": 1,
        "Correction of: Missing on the way": 1, "Lost on the way (corrected)": 1,
        "Correction of: Lost on the way": 1,
    }  # fmt: skip
    assert batch.alive == 60


def test_nonsense_for_a_cursor_begins_at_the_newest(session: Session, maker: Any) -> None:
    maker.lot()
    for after in ("x", "2026-99-99.seed.1", "2026-01-01.seed.x", "2026-01-01.none.1", "..", "2026-01-01.seed.²"):
        assert len(read_page(session, Asked(), after=after).entries) == 1
    assert session.scalar(select(func.count(Species.id))) == 1


def _plants(
    session: Session, batch: Batch, kind: str, change: int, *, other: Batch | None = None, site: Any = None,
    act: str = "",
) -> None:  # fmt: skip
    session.add(
        PlantMovement(
            batch_id=batch.id, kind=kind, change=change, person="Ana", happened_on=TODAY, act=act or "a",
            other_batch_id=other.id if other else None, site_id=site.id if site else None,
        )
    )  # fmt: skip
    session.flush()
