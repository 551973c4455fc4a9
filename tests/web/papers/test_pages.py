"""Pages of papers: what travels and why, what is missing, drafts, signatures, and how long they are kept."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pypdfium2
from sqlalchemy import select

from nursery.models import Dispatch, DispatchLine, Movement, Paper, QualityCheck
from nursery.models.movements import MovementKind
from nursery.models.papers import PaperKind
from nursery.services.dispatches.planning import change_line
from nursery.services.health.quarantine import quarantine
from nursery.services.papers.signing import sign
from tests.papers_world import ANA, TODAY, World
from tests.web.conftest import Browser
from tests.web.settings.test_page import TYPED


def text_of(client: Browser, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, path
    return " ".join(answer.get_data(as_text=True).split())


def test_the_page_of_a_load_says_what_travels_why_and_what_does_not(client: Browser, world: World) -> None:
    world.session.commit()
    page = text_of(client, f"/papers/load/{world.load.id}")

    assert "Papers of load D-900" in page
    assert "counts as marketing even without a price" in page
    assert "on no list of forest reproductive material" in page
    assert "Check Regulation (EU) 2026/1392 with your authority" in page
    assert "Quercus suber is watched for" in page
    assert "nobody has looked at it yet" in page
    assert "58 of 60 were fair" in page
    assert "your authority decides" in page


def test_a_paper_refused_names_the_field_and_the_form_that_holds_it(client: Browser, world: World) -> None:
    world.cork.certificate_number = ""
    world.session.commit()
    path = f"/papers/load/{world.load.id}/plant-document/{world.cork.id}"
    papers = f"/papers/load/{world.load.id}"
    link = f'href="/lots/{world.cork.id}/edit?next={path}#certificate_number"'

    assert f'href="/lots/{world.cork.id}/edit?next={papers}#certificate_number"' in text_of(client, papers)
    answer = client.submit(path, {"purpose": "restoration", "language": "en"})
    page = " ".join(answer.get_data(as_text=True).split())
    assert answer.status_code == 422
    assert "Country and number of the master certificate" in page
    assert "Lot CORK-1 has no number of a master certificate." in page
    assert link in page
    assert world.session.scalar(select(Paper.id)) is None


def test_what_only_the_person_can_say_is_asked_on_the_form(client: Browser, world: World) -> None:
    world.session.commit()
    path = f"/papers/load/{world.load.id}/plant-document/{world.cork.id}"

    answer = client.submit(path, {"language": "en"})

    assert answer.status_code == 422
    assert "Purpose: Say it in the form below." in answer.get_data(as_text=True)


def test_a_paper_that_is_true_no_longer_is_not_offered_for_signature_and_leads_on(
    client: Browser, world: World
) -> None:
    world.session.commit()
    drawn = client.submit(
        f"/papers/load/{world.load.id}/plant-document/{world.cork.id}",
        {"purpose": "restoration", "language": "pt"},
    )
    home = drawn.location
    assert "Sign it" in text_of(client, home)
    change_line(world.session, ANA, line=world.load.lines[0], plants=120)
    world.session.commit()

    page = text_of(client, home)

    told = "No longer true: it says 300 plants, the load has 120 plants."
    assert "Sign it" not in page
    assert page.index("no longer true") < page.index(told) < page.index("Make it void…")
    assert f'name="reason" type="text" maxlength="500" required value="{told}"' in page
    # In the language of the paper.
    assert "Já não é verdade: diz 300 plantas, a carga tem 120 plantas." in printed(client, f"{home}.pdf")
    client.submit(f"{home}/void", {"reason": told}, page=home)
    assert f'href="/papers/load/{world.load.id}">Draw it up again' in text_of(client, home)


def test_a_paper_is_drawn_up_signed_and_made_void(client: Browser, world: World) -> None:
    world.session.commit()
    path = f"/papers/load/{world.load.id}/plant-document/{world.cork.id}"
    drawn = client.submit(path, {"purpose": "restoration", "language": "en"})
    assert drawn.status_code == 303
    home = drawn.location
    page = text_of(client, home)
    assert "PD-2026-001" in page
    assert "Draft, to be checked" in printed(client, f"{home}.pdf")
    late = client.submit(f"{home}/sign", {"signed_by": "", "signed_on": "2026-11-25"}, page=home)
    assert late.status_code == 422
    assert "must be filled in" in late.get_data(as_text=True)
    client.submit(f"{home}/sign", {"signed_by": "Rui Talho", "signed_on": "2026-11-25"}, page=home)
    assert "Checked and signed by Rui Talho" in printed(client, f"{home}.pdf")
    again = client.submit(path, {"purpose": "restoration", "language": "en"})
    assert "PD-2026-001 is in force already" in again.get_data(as_text=True)
    client.submit(f"{home}/void", {"reason": "Wrong tray"}, page=home)
    assert "Wrong tray" in text_of(client, home)
    listed = text_of(client, "/papers?state=void")
    assert "PD-2026-001" in listed
    assert "PD-2026-001" not in text_of(client, "/papers?state=draft")
    assert "1 paper is kept. The oldest was drawn up on 25 Nov 2026." in listed
    assert "latest until 25 Nov 2036. Nothing deletes itself." in listed
    assert "PD-2026-001" in client.get("/papers.csv").get_data(as_text=True)


def printed(client: Browser, path: str) -> str:
    answer = client.get(path)
    assert answer.mimetype == "application/pdf"
    return " ".join(
        " ".join(page.get_textpage().get_text_range().split()) for page in pypdfium2.PdfDocument(answer.get_data())
    )


def test_a_paper_is_in_the_language_chosen_for_it(client: Browser, world: World) -> None:
    world.session.commit()
    client.submit(f"/papers/load/{world.load.id}/delivery-note/all", {"language": "pt"})

    paper = world.session.scalars(select(Paper)).one()
    assert (paper.kind, paper.language) == (PaperKind.DELIVERY_NOTE, "pt")


def test_a_passport_asks_for_protected_zones_and_what_it_replaces(client: Browser, world: World) -> None:
    world.session.commit()
    path = f"/papers/load/{world.load.id}/passport/all"
    page = text_of(client, path)
    assert "Crataegus monogyna go into certain protected zones" in page

    drawn = client.submit(path, {"language": "en", "protected_zone": "ERWIAM", "replaces": "DE-77 · C-12"})

    page = text_of(client, drawn.location)
    assert "ERWIAM" in page
    assert "DE-77 · C-12" in page


def test_seed_is_given_to_a_recipient_and_its_papers_come_next(client: Browser, world: World) -> None:
    world.session.commit()
    assert "Give seed to a recipient" in text_of(client, f"/papers/lot/{world.ash.id}")
    form = {
        "recipient_id": str(world.partner.id), "amount": "1.5", "unit": "kg", "happened_on": "2026-11-25",
        "reason": "for the nursery bed",
    }  # fmt: skip
    given = client.submit(f"/papers/lot/{world.ash.id}/give", form)
    assert given.status_code == 303
    page = text_of(client, given.location)
    assert "1.5 kg of Fraxinus angustifolia went to Trigonda River Trust, somebody who works with plants." in page
    assert "Supplier’s document for seed" in page
    movement = world.session.scalars(select(Movement).where(Movement.kind == MovementKind.GIVEN)).one()
    assert (movement.change, movement.reason) == (-1_500_000, "Trigonda River Trust: for the nursery bed")
    assert movement.happened_on == dt.date(2026, 11, 25)
    asking = text_of(client, f"{given.location}/seed-document/{world.ash.id}")
    assert "2,000 g count as a small quantity of this species is from memory" in asking
    drawn = client.submit(
        f"{given.location}/seed-document/{world.ash.id}",
        {"purpose": "restoration", "packages": "3", "language": "en"},
    )
    assert "No purity test" in drawn.get_data(as_text=True)


def test_more_seed_than_the_lot_holds_is_refused_at_its_field(client: Browser, world: World) -> None:
    world.session.commit()
    form = {"recipient_id": str(world.partner.id), "amount": "99", "unit": "kg", "happened_on": "2026-11-25"}

    answer = client.submit(f"/papers/lot/{world.ash.id}/give", form)

    assert answer.status_code == 422
    assert "99 kg cannot leave it" in answer.get_data(as_text=True)


def test_addresses_that_name_nothing_are_not_found(client: Browser, world: World) -> None:
    world.session.commit()
    base = f"/papers/load/{world.load.id}"

    paths = [
        "/papers/999", "/papers/load/999", "/papers/gift/none", f"{base}/plant-document/all", f"{base}/passport/7",
        f"{base}/plant-document/999", "/papers/lot/999",
    ]  # fmt: skip
    assert {path: client.get(path).status_code for path in paths} == dict.fromkeys(paths, 404)


def test_a_longer_load_costs_no_more_questions(client: Browser, world: World, count_queries: Any) -> None:
    world.session.commit()
    path = f"/papers/load/{world.load.id}"
    client.get(path)
    engine = world.session.get_bind()
    with count_queries(engine) as few:
        client.get(path)
    for number in range(6):
        species = world.maker.species(("quercus-robur", "quercus-ilex", "alnus-glutinosa")[number % 3])
        lot = world.maker.lot(population=world.maker.population(species=species, region_code="GV-M"))
        batch = world.maker.batch(lot=lot)
        world.session.add(DispatchLine(dispatch_id=world.load.id, position=9, batch_id=batch.id, plants=9))
    world.session.commit()
    with count_queries(engine) as many:
        page = client.get(path).get_data(as_text=True)

    assert page.count("Supplier’s document for plants") > 6
    assert len(many) == len(few)


def test_what_is_filled_in_leads_back_to_the_papers_and_to_no_other_site(client: Browser, world: World) -> None:
    world.session.commit()
    papers = f"/papers/load/{world.load.id}"

    back = client.submit(f"/settings?next={papers}", TYPED)
    strange = client.submit("/settings?next=//example.org/papers", TYPED)

    assert (back.status_code, back.location) == (303, papers)
    assert (strange.status_code, strange.location) == (303, "/settings")


def test_sending_a_part_tells_papers_of_the_whole_and_asks_why(client: Browser, world: World) -> None:
    for kind in (
        PaperKind.PLANT_DOCUMENT, PaperKind.PLANT_LABEL, PaperKind.PASSPORT, PaperKind.DELIVERY_NOTE,
    ):  # fmt: skip
        world.draw(kind)
    world.session.commit()
    oaks, thorns = world.load.lines
    path = f"/loads/{world.load.id}/send"
    page = text_of(client, path)
    assert "Its papers are for the whole load." in page
    assert 'name="reason"' in page

    typed = {"sent_on": "2026-11-25", "rest": "drop", "version": world.load.version}
    refused = client.submit(path, {**typed, f"sent-{oaks.id}": 60, f"sent-{thorns.id}": 90})

    assert refused.status_code == 422
    told = "These papers were drawn up for the whole load, and only a part of it goes: "
    assert told in " ".join(refused.get_data(as_text=True).split())


def test_a_test_of_seed_that_a_paper_waits_for_leads_back_to_it(client: Browser, world: World) -> None:
    consignment = world.give()
    world.session.commit()
    papers = f"/papers/gift/{consignment.act}"
    path = f"{papers}/seed-document/{world.ash.id}"
    links = re.findall(r'href="(/lots/[^"]*/tests/new/[^"]*)"', client.get(path).get_data(as_text=True))
    assert f"/lots/{world.ash.id}/tests/new/purity?next={path}" in links

    typed = {"tested_on": "2026-11-25", "pure_g": "98", "other_g": "1", "inert_g": "1"}
    saved = client.submit(f"/lots/{world.ash.id}/tests/new/purity?next={path}", typed)
    strange = client.submit(f"/lots/{world.ash.id}/tests/new/purity?next=//example.org/x", typed)

    assert (saved.status_code, saved.location) == (303, path)
    assert (strange.status_code, strange.location) == (303, f"/lots/{world.ash.id}#tests")


def test_plants_below_the_floor_lead_to_a_new_look_at_them_and_back(client: Browser, world: World) -> None:
    oaks = world.load.lines[0].batch_id
    world.load.lines[0].batch.alive = 300
    world.session.scalars(select(QualityCheck)).one().fair = 50
    world.session.commit()
    papers = f"/papers/load/{world.load.id}"
    look = f"/batches/{oaks}/quality?next={papers}"
    assert f'href="{look}"' in text_of(client, papers)

    saved = client.submit(look, {"checked_on": "2026-11-25", "looked_at": "60", "fair": "60"})

    assert (saved.status_code, saved.location) == (303, papers)
    assert "60 of 60 were fair" in text_of(client, papers)


def test_the_papers_of_a_load_name_quarantine_and_what_is_true_no_longer(client: Browser, world: World) -> None:
    paper = world.draw(PaperKind.PLANT_DOCUMENT)
    line = world.load.lines[0]
    line.plants = 60
    quarantine(world.session, ANA, reason="Spots", since=TODAY, today=TODAY, batch_id=line.batch_id)
    world.session.commit()

    page = text_of(client, f"/papers/load/{world.load.id}")

    assert "No longer true: it says 300 plants, the load has 60 plants." in page
    assert "Batch B-OAKS has been in quarantine since 25 Nov 2026: Spots." in page
    assert "No longer true: it says 300 plants" in text_of(client, f"/papers/{paper.id}")
    path = f"/papers/load/{world.load.id}/passport/all"
    answer = client.submit(path, {"language": "en"})
    assert answer.status_code == 422
    assert "Nothing leaves it until" in answer.get_data(as_text=True)


def test_the_list_and_its_files_mark_signed_papers_that_are_true_no_longer(client: Browser, world: World) -> None:
    passport, note = world.draw(PaperKind.PASSPORT), world.draw(PaperKind.DELIVERY_NOTE)
    for paper in (passport, note):
        sign(world.session, ANA, paper=paper, signed_by=ANA, signed_on=TODAY, today=TODAY)
    world.partner.address = "Weir Road 9, Trigonda"
    world.session.commit()

    assert text_of(client, "/papers").count("no longer true</span>") == 1
    narrowed = text_of(client, "/papers?truth=no")
    assert note.number in narrowed
    assert passport.number not in narrowed
    table = list(csv.DictReader(io.StringIO(client.get("/papers.csv").get_data(as_text=True))))
    told = {row["Number"]: row["No longer true"] for row in table}
    assert told[passport.number] == ""
    assert told[note.number].endswith("on record is “Trigonda River Trust, Weir Road 9, Trigonda, ES”.")
    only = client.get("/papers.csv?truth=no").get_data(as_text=True)
    assert (note.number in only, passport.number in only) == (True, False)


def test_a_longer_list_costs_no_more_questions(client: Browser, world: World, count_queries: Any) -> None:
    world.draw(PaperKind.DELIVERY_NOTE)
    world.session.commit()
    client.get("/papers")
    engine = world.session.get_bind()
    with count_queries(engine) as few:
        client.get("/papers")
    first = world.load
    for number in range(6):
        other = Dispatch(
            code=f"D-91{number}", site_id=first.site_id, recipient_id=first.recipient_id, planned_on=TODAY
        )
        world.session.add(other)
        world.session.flush()
        world.session.add(
            DispatchLine(dispatch_id=other.id, position=1, batch_id=first.lines[0].batch_id, plants=9)
        )
        world.load = other
        world.draw(PaperKind.DELIVERY_NOTE)
    world.session.commit()
    with count_queries(engine) as many:
        page = client.get("/papers").get_data(as_text=True)

    assert page.count("DN-2026-") == 7
    assert len(many) == len(few)
