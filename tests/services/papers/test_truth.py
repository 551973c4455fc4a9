"""Papers that say something else than the load has: they count as not drawn up, and nobody signs them."""

from __future__ import annotations

import datetime as dt

import pytest

from nursery.errors import Conflict, Invalid
from nursery.models import Recipient
from nursery.models.dispatches import DispatchStatus
from nursery.models.papers import PaperKind
from nursery.models.recipients import RecipientKind
from nursery.services.dispatches.planning import change_line
from nursery.services.dispatches.sending import send
from nursery.services.health.quarantine import lift, quarantine
from nursery.services.papers.applying import doubt, doubts, lacking
from nursery.services.papers.signing import make_void, sign
from nursery.services.preferences import read_preferences
from tests.papers_world import ANA, TODAY, World

CORK = (PaperKind.PLANT_DOCUMENT, PaperKind.PLANT_LABEL, PaperKind.PASSPORT, PaperKind.DELIVERY_NOTE)


def lacks(world: World) -> set[PaperKind]:
    world.session.flush()
    return {one.verdict.kind for one in lacking(world.session, world.load, TODAY)}


def test_papers_of_plants_that_changed_are_true_no_longer_and_do_not_count(world: World) -> None:
    document, label, passport, _note = papers = [world.draw(kind) for kind in CORK]
    assert lacks(world) == set()
    assert [doubt(world.session, paper, TODAY) for paper in papers] == [""] * 4

    change_line(world.session, ANA, line=world.load.lines[0], plants=102)

    assert lacks(world) == {*CORK}
    told = "No longer true: it says 300 plants, the load has 102 plants."
    assert [doubt(world.session, paper, TODAY) for paper in (document, label)] == [told, told]
    assert "it says B-OAKS × 8, B-THORNS × 3, the load has B-OAKS × 3, B-THORNS × 3" in doubt(
        world.session, passport, TODAY
    )
    with pytest.raises(Conflict, match="the load has 102 plants"):
        sign(world.session, ANA, paper=document, signed_by=ANA, signed_on=TODAY, today=TODAY)
    with pytest.raises(Conflict, match="is in force already"):
        world.draw(PaperKind.PLANT_DOCUMENT)


def test_papers_for_somebody_else_are_true_no_longer_but_for_the_passport(world: World) -> None:
    for kind in CORK:
        world.draw(kind)
    other = Recipient(name="Ajuvara council", kind=RecipientKind.PROFESSIONAL, country="ES")
    world.session.add(other)
    world.session.flush()
    world.load.recipient = other

    assert lacks(world) == {*CORK} - {PaperKind.PASSPORT}


def test_a_label_whose_document_is_void_counts_no_more(world: World) -> None:
    document, label = world.draw(PaperKind.PLANT_DOCUMENT), world.draw(PaperKind.PLANT_LABEL)
    make_void(world.session, ANA, paper=document, reason="Wrong tray")
    world.draw(PaperKind.PLANT_DOCUMENT)

    assert PaperKind.PLANT_LABEL in lacks(world)
    assert doubt(world.session, label, TODAY) == "No longer true: its document PD-2026-001 is void."


def test_a_load_that_goes_in_part_does_not_travel_with_papers_of_the_whole(world: World) -> None:
    for kind in CORK:
        world.draw(kind)
    oaks, thorns = world.load.lines

    with pytest.raises(Invalid) as caught:
        send(world.session, ANA, load=world.load, sent_on=TODAY, today=TODAY, sent={oaks.id: 60, thorns.id: 90})

    told = caught.value.errors["reason"]
    assert told.startswith(
        "These papers were drawn up for the whole load, and only a part of it goes: PD-2026-001 ("
    )
    assert "make these papers void and draw them up again for the part" in told
    assert "not drawn up" not in told
    assert world.load.lines[0].sent is None


def test_what_a_load_that_goes_in_part_lacks_is_told_apart(world: World) -> None:
    world.draw(PaperKind.DELIVERY_NOTE)
    world.load.lines[1].plants = 80
    world.draw(PaperKind.PASSPORT)
    oaks, thorns = world.load.lines

    with pytest.raises(Invalid) as caught:
        send(world.session, ANA, load=world.load, sent_on=TODAY, today=TODAY, sent={oaks.id: 60, thorns.id: 80})

    absent, of_whole, changed = caught.value.errors["reason"].split("These papers ")[1:]
    assert absent.startswith("apply and are not drawn up: Supplier’s document for plants, ")
    assert of_whole.startswith("were drawn up for the whole load, and only a part of it goes: PP-2026-001")
    assert changed.startswith("are true no longer: DN-2026-001")


def test_no_paper_is_drawn_up_or_signed_while_a_batch_is_in_quarantine(world: World) -> None:
    drawn = world.draw(PaperKind.PLANT_DOCUMENT)
    batch_id = world.load.lines[0].batch_id
    held = quarantine(world.session, ANA, reason="Spots", since=TODAY, today=TODAY, batch_id=batch_id)

    for kind in (PaperKind.PLANT_LABEL, PaperKind.PASSPORT):
        with pytest.raises(Conflict, match="B-OAKS has been in quarantine since 25 Nov 2026: Spots"):
            world.draw(kind)
    with pytest.raises(Conflict, match="B-OAKS has been in quarantine"):
        sign(world.session, ANA, paper=drawn, signed_by=ANA, signed_on=TODAY, today=TODAY)

    lift(world.session, ANA, quarantine_id=held.id, reason="Looked at: clean", today=TODAY + dt.timedelta(1))
    assert world.draw(PaperKind.PLANT_LABEL).number == "PL-2026-001"
    assert sign(world.session, ANA, paper=drawn, signed_by=ANA, signed_on=TODAY, today=TODAY).signed_by == ANA


def test_a_new_address_of_whoever_takes_over_or_supplies_makes_papers_untrue(world: World) -> None:
    document, label, passport, note = papers = [world.draw(kind) for kind in CORK]
    for paper in papers:
        sign(world.session, ANA, paper=paper, signed_by=ANA, signed_on=TODAY, today=TODAY)
    own = read_preferences(world.session)

    world.partner.address = "Weir Road 9, Trigonda"

    told = (
        "No longer true: it names “Trigonda River Trust, Mill Lane 3, Trigonda, ES”,"
        " on record is “Trigonda River Trust, Weir Road 9, Trigonda, ES”."
    )
    assert doubts(world.session, papers, TODAY) == {document.id: told, note.id: told}
    assert lacks(world) == {document.kind, note.kind}

    world.partner.address = "Mill Lane 3, Trigonda"
    own.supplier_number = "SUP-78"
    assert set(doubts(world.session, papers, TODAY)) == {document.id, label.id, note.id}

    own.supplier_number, own.operator_number = "SUP-77", "0043"
    told = "No longer true: it names “ES-0042”, on record is “ES-0043”."
    assert doubts(world.session, papers, TODAY) == {passport.id: told}


def test_signed_papers_that_have_travelled_keep_the_names_of_their_day_and_drafts_do_not(world: World) -> None:
    document, label, passport, note = papers = [world.draw(kind) for kind in CORK]
    for paper in (document, passport, note):
        sign(world.session, ANA, paper=paper, signed_by=ANA, signed_on=TODAY, today=TODAY)
    world.load.status, world.load.sent_on = DispatchStatus.SENT, TODAY
    for line in world.load.lines:
        line.sent = line.plants

    read_preferences(world.session).organisation = "Viveiro do Sobral"
    world.partner.name = "Trigonda Rivers Trust"

    assert set(doubts(world.session, papers, TODAY)) == {label.id}
    with pytest.raises(Conflict, match="on record is “Viveiro do Sobral"):
        sign(world.session, ANA, paper=label, signed_by=ANA, signed_on=TODAY, today=TODAY)


def test_papers_of_a_cancelled_load_are_true_no_longer(world: World) -> None:
    note = world.draw(PaperKind.DELIVERY_NOTE)
    world.load.status, world.load.reason = DispatchStatus.CANCELLED, "Flood"

    assert doubt(world.session, note, TODAY) == "No longer true: the load was cancelled."


def test_a_draft_for_seed_follows_the_name_of_whoever_took_it(world: World) -> None:
    note = world.draw_seed(PaperKind.DELIVERY_NOTE, world.give())
    assert doubt(world.session, note, TODAY) == ""

    world.partner.address = "Weir Road 9, Trigonda"

    assert "on record is “Trigonda River Trust, Weir Road 9" in doubt(world.session, note, TODAY)
