"""The page of the yearly declaration and its files."""

from __future__ import annotations

import io
from typing import Any

import openpyxl
import pypdfium2

from nursery.services.preferences import read_preferences
from tests.web.conftest import Browser


def test_a_campaign_is_summed_by_species_category_and_region(client: Browser, session: Any, maker: Any) -> None:
    maker.lot(population=maker.population(region_code="R-1"), amount_mg=2_500_000)
    maker.lot(population=maker.population(species=maker.species("crataegus-monogyna"), region_code="R-2"))
    read_preferences(session).organisation = "Viveiro da Ajuvara"
    session.commit()
    page = " ".join(client.get("/declaration").get_data(as_text=True).split())
    listed = client.get("/declaration?only=listed").get_data(as_text=True)
    sheet = openpyxl.load_workbook(io.BytesIO(client.get("/declaration.xlsx").get_data())).active
    document = pypdfium2.PdfDocument(client.get("/declaration.pdf").get_data())
    text = " ".join(page.get_textpage().get_text_range() for page in document)

    assert "Campaign 2026/27" in page
    assert "From 1 Jul 2026 to 30 Jun 2027" in page
    assert '<td class="num">2.5</td>' in page
    assert "Crataegus" in page
    assert "Crataegus" not in listed
    assert sheet is not None
    rows = [row[:6] for row in sheet.iter_rows(values_only=True)]
    assert rows[1:] == [
        ("Crataegus monogyna", "Source-identified", "R-2", "no", 0, 0.5),
        ("Quercus suber", "Source-identified", "R-1", "yes", 0, 2.5),
    ]
    assert "Viveiro da Ajuvara" in text
    assert "In all" in text


def test_nothing_to_declare_says_where_it_will_come_from(client: Browser) -> None:
    assert "fills by itself from the ledgers" in client.get("/declaration?campaign=1999").get_data(as_text=True)
