"""Which papers travel, and why: by species, country, recipient and day."""

from __future__ import annotations

import datetime as dt

import pytest

from nursery.models.movements import Measure
from nursery.models.papers import PaperKind
from nursery.models.recipients import RecipientKind
from nursery.services.papers.applying import Verdict, lacking, notices, papers_for, papers_for_seed
from nursery.services.preferences import read_preferences
from tests.papers_world import TODAY, World, cuttings_of_poplar


def told(verdicts: list[Verdict]) -> dict[tuple[str, str], bool]:
    """By paper and species, whether it applies."""
    return {
        (verdict.kind.value, part.species.key if part else ""): verdict.applies
        for verdict in verdicts
        for part in verdict.parts or (None,)
    }


def test_a_load_for_a_partner_takes_documents_for_listed_species_and_a_passport(world: World) -> None:
    found = papers_for(world.session, world.load, TODAY)

    assert told(found) == {
        ("plant-label", "quercus-suber"): True,
        ("plant-label", "crataegus-monogyna"): False,
        ("plant-document", "quercus-suber"): True,
        ("plant-document", "crataegus-monogyna"): False,
        ("passport", ""): True,
        ("delivery-note", ""): True,
    }
    assert [verdict.applies for verdict in found] == sorted((verdict.applies for verdict in found), reverse=True)
    assert all(verdict.reason and verdict.where and verdict.basis for verdict in found)
    document = next(one for one in found if one.kind is PaperKind.PLANT_DOCUMENT and one.applies)
    assert "counts as marketing even without a price" in document.reason


def test_the_passport_says_which_plants_need_another_in_protected_zones(world: World) -> None:
    for kind in (RecipientKind.PROFESSIONAL, RecipientKind.FINAL_USER):
        world.partner.kind = kind
        found = papers_for(world.session, world.load, TODAY)
        reason = next(one for one in found if one.kind is PaperKind.PASSPORT).reason
        assert "Crataegus monogyna go into certain protected zones only with a passport that bears" in reason
        assert "2019/2072 Annex XIV point 3, as it stood on 31 January 2020" in reason
        assert "Quercus suber" not in reason


def test_nothing_is_delivered_where_the_own_crew_plants(world: World) -> None:
    world.load.recipient_id = None
    world.session.flush()
    world.session.expire(world.load)
    found = papers_for(world.session, world.load, TODAY)

    assert {kind for (kind, _species), applies in told(found).items() if applies} == {"delivery-note"}
    reasons = " ".join(verdict.reason for verdict in found)
    assert "In Spain material for one’s own use still needs approved basic material" in reasons


def test_a_final_user_takes_the_document_but_no_passport_and_that_is_from_memory(world: World) -> None:
    world.partner.kind = RecipientKind.FINAL_USER
    found = papers_for(world.session, world.load, TODAY)

    passport = next(one for one in found if one.kind is PaperKind.PASSPORT)
    assert (passport.applies, passport.basis) == (False, "from memory: check it")
    assert told(found)["plant-document", "quercus-suber"] is True


@pytest.mark.parametrize(
    ("country", "label", "document", "passport"),
    [("PT", False, True, True), ("ES", True, True, True), ("GB", False, False, False), ("", False, True, True)],
)
def test_the_country_of_the_nursery_settles_whose_rules_hold(
    world: World, country: str, label: bool, document: bool, passport: bool
) -> None:
    read_preferences(world.session).country = country
    world.partner.country = ""
    found = papers_for(world.session, world.load, TODAY)

    key = "quercus-suber"
    answers = told(found)
    assert answers.get(("plant-label", key)) is label
    assert answers.get(("plant-document", key)) is document
    assert answers["passport", ""] is passport
    if country == "GB":
        assert "No rules of GB are known here." in found[-1].reason
    if not country:
        assert any("No country is written down" in verdict.reason for verdict in found)


def test_what_leaves_the_union_is_left_to_the_authorities(world: World) -> None:
    world.partner.country = "MA"
    found = papers_for(world.session, world.load, TODAY)

    document = next(one for one in found if one.kind is PaperKind.PLANT_DOCUMENT and one.parts[0].regulated)
    assert not document.applies
    assert "It leaves the European Union" in document.reason


def test_rules_hold_from_their_first_day_and_the_change_of_law_is_told_from_its_own(world: World) -> None:
    before = papers_for(world.session, world.load, dt.date(2002, 12, 31))

    assert not any(one.applies for one in before if one.kind is PaperKind.PLANT_DOCUMENT)
    (told_now,) = notices(world.consign())
    assert "Check Regulation (EU) 2026/1392 with your authority" in told_now


def test_seed_takes_no_passport_and_cuttings_do(world: World) -> None:
    ask = {"recipient": world.partner, "day": TODAY}
    ash = papers_for_seed(world.session, world.ash, measure=Measure.SEED, amount=1, **ask)
    poplar = papers_for_seed(world.session, cuttings_of_poplar(world), measure=Measure.PIECES, amount=9, **ask)

    assert told(ash)["seed-document", "fraxinus-angustifolia"] is True
    assert told(ash)["passport", ""] is False
    assert told(poplar)["passport", ""] is True


def test_what_lacks_is_what_applies_and_was_not_drawn_up(world: World) -> None:
    first = {
        (one.verdict.kind, one.part.key if one.part else "") for one in lacking(world.session, world.load, TODAY)
    }
    world.draw(PaperKind.PASSPORT)
    world.draw(PaperKind.DELIVERY_NOTE)
    then = [one.verdict.kind for one in lacking(world.session, world.load, TODAY)]

    assert first == {
        (PaperKind.PLANT_LABEL, str(world.cork.id)), (PaperKind.PLANT_DOCUMENT, str(world.cork.id)),
        (PaperKind.PASSPORT, ""), (PaperKind.DELIVERY_NOTE, ""),
    }  # fmt: skip
    assert sorted(then) == [PaperKind.PLANT_DOCUMENT, PaperKind.PLANT_LABEL]
