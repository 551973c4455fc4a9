"""A ruling that a planting is not for forestry takes the papers on forest material away, from its day on."""

from __future__ import annotations

import datetime as dt
import io

import pypdfium2
import pytest
from sqlalchemy import select

from nursery.errors import Conflict, Invalid
from nursery.models import Change, Ruling, Site
from nursery.models.papers import PaperKind
from nursery.services.papers.applying import doubt, papers_for
from nursery.services.papers.printing import paper_pdf
from nursery.services.papers.rulings import record_ruling, rulings_of, standing_ruling, withdraw_ruling
from nursery.services.papers.signing import make_void
from tests.papers_world import ANA, TODAY, World

LETTER = "Forest service of Ajuvara, letter 114"
RULED = dt.date(2026, 11, 20)
FOREST = {PaperKind.PLANT_DOCUMENT, PaperKind.PLANT_LABEL}
ALL = {*FOREST, PaperKind.PASSPORT, PaperKind.DELIVERY_NOTE}


def rule(world: World, of: object = None, **values: object) -> Ruling:
    given = {"of": of or world.load.site, "reason": LETTER, "ruled_on": RULED, "today": TODAY} | values
    return record_ruling(world.session, ANA, **given)  # type: ignore[arg-type]


def applying(world: World, day: dt.date = TODAY) -> set[PaperKind]:
    world.session.flush()
    return {one.kind for one in papers_for(world.session, world.load, day) if one.applies}


def test_without_a_ruling_every_planting_is_forestry(world: World) -> None:
    assert applying(world) == ALL


@pytest.mark.parametrize("of", ["site", "partner"])
def test_papers_on_forest_material_follow_a_ruling_with_its_reason_person_and_day(world: World, of: str) -> None:
    subject = world.load.site if of == "site" else world.partner
    rule(world, subject)

    assert applying(world) == ALL - FOREST
    told = [one for one in papers_for(world.session, world.load, TODAY) if one.kind in FOREST and one.parts]
    # Cork oak is listed; hawthorn is on no list and has its own reason.
    cork = [one for one in told if one.parts[0].species.key == "quercus-suber"]
    assert {one.kind for one in cork} == FOREST
    for one in cork:
        assert f"by a ruling of 20 Nov 2026: {LETTER} (written down by {ANA})" in one.reason
        assert subject.name in one.reason
        # Standards read for this product: RD 289/2003 art. 1 carries the Directive's exclusion out.
        assert one.where == "RD 289/2003 art. 1"


def test_a_ruling_counts_from_its_day_on(world: World) -> None:
    rule(world)
    assert applying(world, RULED - dt.timedelta(1)) == ALL
    assert applying(world, RULED) == ALL - FOREST


def test_a_load_that_went_under_a_ruling_keeps_it_when_it_is_withdrawn(world: World) -> None:
    ruling = rule(world)
    withdraw_ruling(world.session, ANA, ruling=ruling, reason="Repealed by letter 120")
    ruling.withdrawn_at = dt.datetime(2026, 11, 23, 9, tzinfo=dt.UTC)

    assert applying(world, dt.date(2026, 11, 22)) == ALL - FOREST
    assert applying(world, dt.date(2026, 11, 23)) == ALL
    assert standing_ruling(world.session, world.load.site) is None


def test_the_delivery_note_says_that_the_plants_are_not_for_forestry(world: World) -> None:
    before = world.draw(PaperKind.DELIVERY_NOTE)
    rule(world)
    assert doubt(world.session, before, TODAY) == (
        "No longer true: it does not say that the planting is not for forestry, as was ruled on 20 Nov 2026."
    )
    make_void(world.session, ANA, paper=before, reason="Ruled otherwise")

    paper = world.draw(PaperKind.DELIVERY_NOTE)

    printed = pypdfium2.PdfDocument(io.BytesIO(paper_pdf(paper)))
    text = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in printed)
    assert f"Not intended for forestry purposes (ruling of 20 Nov 2026: {LETTER})." in text
    assert doubt(world.session, paper, TODAY) == ""


def test_a_note_that_names_a_withdrawn_ruling_is_true_no_longer(world: World) -> None:
    ruling = rule(world)
    paper = world.draw(PaperKind.DELIVERY_NOTE)
    withdraw_ruling(world.session, ANA, ruling=ruling, reason="Repealed")
    day = dt.date(2100, 1, 1)

    assert doubt(world.session, paper, day) == (
        "No longer true: the ruling by which the planting is not for forestry was withdrawn."
    )


def test_seed_given_to_somebody_follows_the_ruling_on_them(world: World) -> None:
    rule(world, world.partner)
    consignment = world.give()
    assert consignment.ruling is not None
    assert consignment.ruling.recipient_id == world.partner.id


def test_one_ruling_stands_and_each_has_a_reason_and_a_day_that_has_been(world: World) -> None:
    with pytest.raises(Invalid) as caught:
        rule(world, reason=" ")
    assert set(caught.value.errors) == {"reason"}
    with pytest.raises(Invalid) as caught:
        rule(world, ruled_on=TODAY + dt.timedelta(1))
    assert set(caught.value.errors) == {"ruled_on"}
    first = rule(world)
    with pytest.raises(Conflict, match="A ruling of 20 Nov 2026 stands already"):
        rule(world)

    withdraw_ruling(world.session, ANA, ruling=first, reason="Repealed")
    with pytest.raises(Conflict, match=f"withdrawn already, by {ANA}"):
        withdraw_ruling(world.session, ANA, ruling=first, reason="Repealed")
    second = rule(world, reason="Letter 130")

    site = world.session.get_one(Site, world.load.site_id)
    assert [row.id for row in rulings_of(world.session, site)] == [second.id, first.id]
    actions = world.session.scalars(select(Change.action).where(Change.subject == "rulings").order_by(Change.id))
    assert list(actions) == ["ruling recorded", "withdrawn", "ruling recorded"]
