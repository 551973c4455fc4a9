"""Every paper as printed, field by field against the law's list, for seed and for plants."""

from __future__ import annotations

import pypdfium2
import pytest
import zxingcpp

from nursery.catalog.law_reading import load_law
from nursery.catalog.law_words import FIELD_LABELS
from nursery.i18n import locale_of
from nursery.models import Paper
from nursery.models.papers import PaperKind
from nursery.models.seed_tests import TestKind
from nursery.services.papers.cases import Stated
from nursery.services.papers.printing import paper_pdf
from nursery.services.papers.signing import make_void, sign
from nursery.services.papers.stock import container_text
from tests.papers_world import ANA, TODAY, World

IDENTITY = {
    "certificate": "ES 2025/0031",
    "lot-number": "CORK-1 (B-OAKS)",
    "species": "Quercus suber",
    "category": "Source-identified",
    "purpose": "Ecological restoration",
    "basic-material": "Seed source",
    "register-reference": "FS-45/GV-M/001",
    "region": "GV-M, Middle Guadorva",
    "indigenous-status": "Autochthonous",
    "age-and-stock": "1 year; seedlings, container",
    "genetically-modified": "no",
}
SUPPLY = {
    "document-number": "PD-2026-001",
    "supplier": "Viveiro da Ajuvara, Quinta das Lontras 1, Ajuvara, ES, supplier number SUP-77",
    "recipient": "Trigonda River Trust, Mill Lane 3, Trigonda, ES",
    "quantity": "300 plants",
    "container": "Deep 40, 300 cm³",
    "trays": "8",
    "label-numbers": "PD-2026-001/1 to PD-2026-001/8",
    "provisional": "no",
    "vegetative": "no",
}
SEED_IDENTITY = {
    **{key: IDENTITY[key] for key in ("category", "purpose", "basic-material", "region", "indigenous-status")},
    "certificate": "ES 2026/0102",
    "lot-number": "ASH-1",
    "species": "Fraxinus angustifolia",
    "register-reference": "FS-21/GV-M/007",
    "ripening-year": "2026",
    "genetically-modified": "no",
}
SEED_SUPPLY = {
    **{key: SUPPLY[key] for key in ("supplier", "recipient", "provisional", "vegetative")},
    "document-number": "SD-2026-001",
    "quantity": "5 kg",
    "packages": "2, sealed bags",
    "label-numbers": "SD-2026-001/1 to SD-2026-001/2",
}
QUALITY = {
    "purity": "pure seed 90 %, other seed 1 %, inert matter 9 %",
    "germination": "germination 80 %",
    "thousand-seed-weight": "60 g",
    "germinable-per-kg": "12,000",
    "analysis-date": "25 Nov 2026",
    "cold-store": "yes, 4 °C",
}


def pages_of(paper: Paper) -> list[str]:
    document = pypdfium2.PdfDocument(paper_pdf(paper))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def asked(paper: str, *left_out: str) -> set[str]:
    """The law's list of a paper."""
    return {row.field for row in load_law().fields(paper, "ES", TODAY)} - set(left_out)


def assert_printed(text: str, expected: dict[str, str]) -> None:
    for field, value in expected.items():
        assert str(FIELD_LABELS[field]) in text, field
        assert value in text, field


def tested(world: World) -> None:
    world.test_of(world.ash, TestKind.PURITY, 0.9, TODAY, pure_g=90, other_g=1, inert_g=9)
    world.test_of(world.ash, TestKind.WEIGHT, 60.0, TODAY)
    world.test_of(world.ash, TestKind.GERMINATION, 0.8, TODAY, counts=[80, 80], seeds=100)


def test_the_document_for_plants_prints_everything_the_law_lists(world: World) -> None:
    text = " ".join(pages_of(world.draw(PaperKind.PLANT_DOCUMENT)))

    assert asked("plant-document") == {*IDENTITY, *SUPPLY}
    assert_printed(text, {**IDENTITY, **SUPPLY})
    assert "Draft, to be checked by the person who signs" in text
    assert "Drawn up after Council Directive 1999/105/EC, by rules that hold from 1 Jan 2003 on." in text
    assert "Check Regulation (EU) 2026/1392" in text
    assert "Category: Source-identified (yellow)" in text


def test_the_document_for_seed_prints_everything_the_law_lists(world: World) -> None:
    tested(world)
    text = " ".join(pages_of(world.draw_seed(PaperKind.SEED_DOCUMENT, world.give(5000))))

    assert asked("seed-document", "populus-class") == {*SEED_IDENTITY, *SEED_SUPPLY, *QUALITY}
    assert_printed(text, {**SEED_IDENTITY, **SEED_SUPPLY, **QUALITY})


def test_labels_for_plants_are_numbered_one_a_tray_and_show_their_category_in_words(world: World) -> None:
    world.draw(PaperKind.PLANT_DOCUMENT)
    paper = world.draw(PaperKind.PLANT_LABEL)
    texts = pages_of(paper)

    assert len(texts) == 8  # 300 plants in trays of 40
    expected = {**IDENTITY, **SUPPLY}
    listed = {field: expected[field] for field in asked("plant-label") - {"quantity-per-package"}}
    for number, text in enumerate(texts, start=1):
        assert f"PD-2026-001/{number}" in text
        assert "Category: Source-identified (yellow)" in text
        assert "Draft, to be checked by the person who signs" in text
        assert_printed(text, listed)
        assert f"{20 if number == 8 else 40} in a tray; 300 plants" in text  # the last tray holds the rest
    document = pypdfium2.PdfDocument(paper_pdf(paper))
    assert tuple(round(side * 25.4 / 72) for side in document[0].get_size()) == (120, 75)
    assert [code.text for code in zxingcpp.read_barcodes(document[0].render(scale=5).to_pil())] == ["CORK-1"]
    colour = document[0].render(scale=2).to_pil().convert("RGB").getpixel((4, 4))
    assert colour == (0xF4, 0xD5, 0x3C)


def test_labels_for_seed_tell_what_a_package_holds(world: World) -> None:
    tested(world)
    given = world.give(5000)
    world.draw_seed(PaperKind.SEED_DOCUMENT, given)
    texts = pages_of(world.draw_seed(PaperKind.SEED_LABEL, given))

    expected = {
        **SEED_IDENTITY, **SEED_SUPPLY,
        "quantity-per-package": "2.5 kg in each; 5 kg in all",
    }  # fmt: skip
    assert len(texts) == 2
    for text in texts:
        assert_printed(text, {field: expected[field] for field in asked("seed-label", "populus-class")})


def test_each_tray_has_a_passport_with_its_four_elements_and_the_code_is_read_by_machines(world: World) -> None:
    paper = world.draw(PaperKind.PASSPORT)
    texts = pages_of(paper)

    assert len(texts) == 8 + 3  # 300 and 90 plants in trays of 40
    for text in texts:
        assert "Pasaporte fitosanitario / Plant Passport" in text
    assert "A Quercus suber B ES-0042 C B-OAKS D ES" in texts[0]
    assert "A Crataegus monogyna B ES-0042 C B-THORNS D ES" in texts[-1]
    image = pypdfium2.PdfDocument(paper_pdf(paper))[10].render(scale=4).to_pil()
    assert [code.text for code in zxingcpp.read_barcodes(image)] == ["B-THORNS"]


def test_a_passport_into_a_protected_zone_says_so_and_names_the_organism(world: World) -> None:
    stated = Stated(protected_zone="Erwinia  amylovora", replaces="DE-77 · C-12 · Crataegus · DE")
    paper = world.draw(PaperKind.PASSPORT, stated)
    told = {field: value for section in paper.particulars["sections"] for field, _label, value in section["rows"]}

    for text in pages_of(paper):
        assert "Plant Passport – PZ Erwinia amylovora A" in text
        assert "Pasaporte" not in text
        assert "DE-77" not in text  # kept on record, not printed
    assert (told["passport-pz"], told["passport-replaces"]) == (
        "Erwinia amylovora", "DE-77 · C-12 · Crataegus · DE",
    )  # fmt: skip


def test_the_flag_has_twelve_golden_stars_on_blue(world: World) -> None:
    page = pypdfium2.PdfDocument(paper_pdf(world.draw(PaperKind.PASSPORT)))[0]
    image = page.render(scale=10).to_pil().convert("RGB").crop((150, 150, 700, 520))
    gold = [[pixel == (255, 204, 0) for pixel in row] for row in _rows(image)]

    assert _islands(gold) == 12
    assert image.getpixel((50, 50)) == (0, 51, 153)


def test_a_delivery_note_lists_everything_that_travels(world: World) -> None:
    text = " ".join(pages_of(world.draw(PaperKind.DELIVERY_NOTE)))

    assert "Quercus suber B-OAKS Deep 40, 300 cm³; trays: 8 300" in text
    assert "Crataegus monogyna B-THORNS Deep 40, 300 cm³; trays: 3 90" in text
    assert "390 plants, 2 species" in text
    assert "Van, Rui Talho" in text
    assert "Pelindra mill race" in text
    assert "Taken over by" in text


def test_a_volume_that_the_name_of_the_container_tells_is_printed_once(world: World) -> None:
    lines = world.cork_part().lines
    tray = lines[0].batch.container
    assert tray is not None
    tray.name = "Shrub tray, 40 cells of 300 cm³"
    assert container_text(lines) == "Shrub tray, 40 cells of 300 cm³"

    tray.name = "Tray of 1300 cm³"
    assert container_text(lines) == "Tray of 1300 cm³, 300 cm³"


def test_a_signature_takes_the_word_draft_away_and_a_void_paper_says_why(world: World) -> None:
    paper = world.draw(PaperKind.PLANT_DOCUMENT)
    sign(world.session, ANA, paper=paper, signed_by="Rui Talho", signed_on=TODAY, today=TODAY)
    signed = " ".join(pages_of(paper))
    make_void(world.session, ANA, paper=paper, reason="Wrong tray")
    void = " ".join(pages_of(paper))

    assert "Checked and signed by Rui Talho, 25 Nov 2026" in signed
    assert "Draft" not in signed
    assert "VOID: Wrong tray" in void


@pytest.mark.parametrize("language", ["pt", "es"])
def test_words_are_in_the_language_of_the_paper_whatever_the_reader_speaks(world: World, language: str) -> None:
    paper = world.draw(PaperKind.DELIVERY_NOTE, language=language)
    with locale_of(language):
        day = str(FIELD_LABELS["supplier"])
    with locale_of("en"):
        text = " ".join(pages_of(paper))

    assert paper.language == language
    assert day in text


def _rows(image: object) -> list[list[tuple[int, int, int]]]:
    width, height = image.size  # type: ignore[attr-defined]
    return [[image.getpixel((x, y)) for x in range(width)] for y in range(height)]  # type: ignore[attr-defined]


def _islands(grid: list[list[bool]]) -> int:
    left = {(x, y) for y, row in enumerate(grid) for x, dark in enumerate(row) if dark}
    count = 0
    while left:
        count += 1
        ahead = [left.pop()]
        while ahead:
            x, y = ahead.pop()
            near = {(x + dx, y + dy) for dx in (-2, -1, 0, 1, 2) for dy in (-2, -1, 0, 1, 2)} & left
            left -= near
            ahead += near
    return count
