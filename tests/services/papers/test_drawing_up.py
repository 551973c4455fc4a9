"""Drawing papers up: what is missing is named with the page that holds it; what is drawn up stays."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from nursery.errors import Conflict, Invalid
from nursery.models import Batch, Container, QualityCheck
from nursery.models.papers import PaperKind
from nursery.models.seed_tests import TestKind
from nursery.services.papers.cases import Stated
from nursery.services.papers.drawing_up import preview, years_on
from nursery.services.papers.keeping import State, kept, state_of
from nursery.services.papers.signing import make_void, sign
from nursery.services.preferences import read_preferences
from tests.papers_world import ANA, STATED, TODAY, World


def refused(world: World, kind: PaperKind, stated: Stated = STATED) -> dict[str, str]:
    with pytest.raises(Invalid) as caught:
        world.draw(kind, stated)
    return caught.value.errors


def test_papers_are_numbered_by_kind_and_year_and_kept_as_long_as_the_settings_say(world: World) -> None:
    read_preferences(world.session).records_years = 12
    document, note = world.draw(PaperKind.PLANT_DOCUMENT), world.draw(PaperKind.DELIVERY_NOTE)
    make_void(world.session, ANA, paper=document, reason="Wrong tray")
    again = world.draw(PaperKind.PLANT_DOCUMENT)

    assert [paper.number for paper in (document, note, again)] == ["PD-2026-001", "DN-2026-001", "PD-2026-002"]
    assert document.keep_until == dt.date(2038, 11, 25)
    assert (document.regime, document.regime_from) == ("DIR-1999/105", dt.date(2003, 1, 1))
    assert kept(world.session, TODAY).papers == 3
    assert kept(world.session, dt.date(2039, 1, 1)).over == 3


def test_a_year_later_is_the_same_day_but_for_the_29th_of_february() -> None:
    assert years_on(dt.date(2028, 2, 29), 10) == dt.date(2038, 2, 28)
    assert years_on(dt.date(2028, 2, 29), 4) == dt.date(2032, 2, 29)


CASES: list[tuple[str, str, Any]] = [
    ("certificate", "has no number of a master certificate", lambda w: setattr(w.cork, "certificate_number", "")),
    ("region", "has no region of provenance", lambda w: setattr(w.cork.population, "region_code", "")),
    ("supplier", "address is not written down", lambda w: setattr(read_preferences(w.session), "address", "")),
    ("supplier", "name is not written down", lambda w: setattr(read_preferences(w.session), "organisation", "")),
]


@pytest.mark.parametrize(("field", "told", "spoil"), CASES)
def test_a_missing_particular_stops_the_paper_and_names_the_field(
    world: World, field: str, told: str, spoil: Any
) -> None:
    spoil(world)

    errors = refused(world, PaperKind.PLANT_DOCUMENT)

    assert set(errors) == {field}
    assert told in errors[field]


def test_each_missing_particular_leads_to_the_form_that_holds_it(world: World) -> None:
    world.cork.certificate_number = ""
    found = preview(world.session, PaperKind.PLANT_DOCUMENT, world.consign(), world.cork_part(), Stated())

    assert {row.field: row.link for row in found.missing} == {
        "certificate": ("lots.edit", {"record_id": world.cork.id, "_anchor": "certificate_number"}),
        "purpose": None,  # said on the form of the paper itself
    }


def test_a_region_stands_in_for_the_register_of_source_identified_material_alone(world: World) -> None:
    world.cork.population.register_reference = ""
    drawn = world.draw(PaperKind.PLANT_DOCUMENT)
    make_void(world.session, ANA, paper=drawn, reason="again")
    world.cork.population.category = "selected"
    world.session.flush()
    world.session.expire(world.cork.population)

    assert "register-reference" in refused(world, PaperKind.PLANT_DOCUMENT)


def test_a_passport_needs_the_country_and_the_number_of_the_operator(world: World) -> None:
    own = read_preferences(world.session)
    own.operator_number = ""
    assert set(refused(world, PaperKind.PASSPORT)) == {"passport-b"}
    own.country = ""
    assert set(refused(world, PaperKind.PASSPORT)) == {"passport-b", "passport-d"}


def test_plants_below_the_floor_of_quality_stop_the_papers_of_a_listed_species(world: World) -> None:
    check = world.session.query(QualityCheck).one()
    check.fair = 50
    errors = refused(world, PaperKind.PLANT_DOCUMENT)
    assert "50 of 60 were fair" in errors["quality-floor"]
    check.fair, check.heights_cm = 60, [20.0] * 15 + [70.0] * 5
    assert "height 75 %" in refused(world, PaperKind.PLANT_DOCUMENT)["quality-floor"]
    check.heights_cm = [20.0] * 20
    small = world.session.query(Container).join(Batch).filter(Batch.code == "B-OAKS").one()
    small.cell_volume_cm3 = 150.0
    assert "Cells of 150 cm³; 200 at least" in refused(world, PaperKind.PLANT_DOCUMENT)["quality-floor"]
    assert world.draw(PaperKind.PASSPORT).number == "PP-2026-001"  # the floor is no matter of plant health


def test_a_second_paper_of_a_kind_waits_until_the_first_is_void(world: World) -> None:
    world.draw(PaperKind.DELIVERY_NOTE)
    with pytest.raises(Conflict, match="DN-2026-001 is in force already"):
        world.draw(PaperKind.DELIVERY_NOTE)


def test_what_was_drawn_up_stays_when_the_records_change(world: World) -> None:
    paper = world.draw(PaperKind.PLANT_DOCUMENT)
    before = dict(paper.particulars)
    world.cork.certificate_number = "2027/0001"
    world.session.flush()
    world.session.expire(paper)

    assert paper.particulars == before
    rows = {field: value for one in before["sections"] for field, _label, value in one["rows"]}
    assert rows["certificate"] == "ES 2025/0031"


@pytest.mark.parametrize("typed", ["2025/0031", "ES 2025/0031"])
def test_the_country_of_a_certificate_stands_once_however_its_number_was_typed(world: World, typed: str) -> None:
    world.cork.certificate_number = typed
    world.session.flush()
    paper = world.draw(PaperKind.PLANT_DOCUMENT)

    rows = {field: value for one in paper.particulars["sections"] for field, _label, value in one["rows"]}
    assert rows["certificate"] == "ES 2025/0031"


def test_a_paper_is_a_draft_until_somebody_signs_and_void_only_with_a_reason(world: World) -> None:
    paper = world.draw(PaperKind.DELIVERY_NOTE)
    assert state_of(paper) is State.DRAFT
    with pytest.raises(Invalid) as caught:
        sign(world.session, ANA, paper=paper, signed_by=" ", signed_on=dt.date(2026, 11, 30), today=TODAY)
    assert set(caught.value.errors) == {"signed_by", "signed_on"}
    sign(world.session, ANA, paper=paper, signed_by="Rui Talho", signed_on=TODAY, today=TODAY)
    assert (state_of(paper), paper.signed_by, paper.signed_on) == (State.SIGNED, "Rui Talho", TODAY)
    with pytest.raises(Conflict, match="Rui Talho has signed it already"):
        sign(world.session, ANA, paper=paper, signed_by="Ana", signed_on=TODAY, today=TODAY)
    with pytest.raises(Invalid, match="why it is void"):
        make_void(world.session, ANA, paper=paper, reason=" ")
    with pytest.raises(Invalid, match="The reason has 501 characters; at most 500 fit"):
        make_void(world.session, ANA, paper=paper, reason="x" * 501)
    make_void(world.session, ANA, paper=paper, reason="Load cancelled")
    with pytest.raises(Conflict, match="Load cancelled"):
        make_void(world.session, ANA, paper=paper, reason="Again")
    assert state_of(paper) is State.VOID


def test_seed_without_tests_is_stopped_at_each_figure_and_waivers_say_why(world: World) -> None:
    large = world.give(5000)
    with pytest.raises(Invalid) as caught:
        world.draw_seed(PaperKind.SEED_DOCUMENT, large)
    assert set(caught.value.errors) == {
        "purity", "germination", "thousand-seed-weight", "germinable-per-kg", "analysis-date",
    }  # fmt: skip
    world.test_of(world.ash, TestKind.PURITY, 0.9, TODAY, pure_g=90, other_g=1, inert_g=9)
    world.test_of(world.ash, TestKind.WEIGHT, 60.0, TODAY)
    with pytest.raises(Invalid) as caught:
        world.draw_seed(PaperKind.SEED_DOCUMENT, large)
    assert set(caught.value.errors) == {"germination", "germinable-per-kg"}
    first_buyer = world.draw_seed(PaperKind.SEED_DOCUMENT, large, replace(STATED, is_first_buyer=True))
    assert "first buyer: told as soon as it is known" in _value(first_buyer, "germination")
    little = world.draw_seed(PaperKind.SEED_DOCUMENT, world.give(2000))
    assert "small quantity, 2,000 g or less" in _value(little, "germinable-per-kg")


def test_germinable_seeds_follow_from_purity_germination_and_weight(world: World) -> None:
    world.test_of(world.ash, TestKind.PURITY, 0.9, dt.date(2026, 11, 2), pure_g=90, other_g=1, inert_g=9)
    world.test_of(world.ash, TestKind.WEIGHT, 60.0, dt.date(2026, 11, 3))
    world.test_of(world.ash, TestKind.TETRAZOLIUM, 0.8, dt.date(2026, 11, 4), counts=[80], seeds=100)
    paper = world.draw_seed(PaperKind.SEED_DOCUMENT, world.give(5000))

    assert _value(paper, "germinable-per-kg") == "12,000"  # 1,000,000 ÷ 60 g × 0.9 × 0.8
    assert _value(paper, "germination") == "viability 80 %, tetrazolium test"
    assert _value(paper, "purity") == "pure seed 90 %, other seed 1 %, inert matter 9 %"
    assert _value(paper, "analysis-date") == "4 Nov 2026"


def _value(paper: Any, field: str) -> str:
    rows = {name: value for one in paper.particulars["sections"] for name, _label, value in one["rows"]}
    return str(rows[field])


def test_labels_wait_for_their_document_whose_number_they_bear(world: World) -> None:
    assert set(refused(world, PaperKind.PLANT_LABEL)) == {"document-number"}
    world.draw(PaperKind.PLANT_DOCUMENT)

    assert _value(world.draw(PaperKind.PLANT_LABEL), "document-number") == "PD-2026-001"


def test_plants_of_lots_with_several_certificates_need_one_of_the_mixture(world: World) -> None:
    part = world.cork_part()
    other = world.maker.lot(population=world.cork.population, code="CORK-2", certificate_number="2026/0009")
    mixed = replace(part, shares=((world.cork, 0.7), (other, 0.3)))
    consigned = replace(world.consign(), parts=(mixed,))
    found = preview(world.session, PaperKind.PLANT_DOCUMENT, consigned, mixed, STATED)

    assert [row.field for row in found.missing] == ["certificate"]
    assert "a mixture needs one of its own" in found.missing[0].missing
