"""The page of the movement book, its filters and its files."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import openpyxl
import pypdfium2

from nursery.models.movements import Measure, MovementKind
from nursery.services.ledger import take_from_lot
from tests.web.conftest import Browser

TODAY = dt.date(2026, 11, 25)


def gift(session: Any, maker: Any, **values: Any) -> Any:
    lot = maker.lot(**values)
    take_from_lot(
        session, "Ana", lot=lot, kind=MovementKind.GIVEN, measure=Measure.SEED, amount=120_000,
        reason="=Trigonda River Trust", happened_on=TODAY, today=TODAY,
    )  # fmt: skip
    session.commit()
    return lot


def test_the_book_shows_what_came_and_left_and_its_sums(client: Browser, session: Any, maker: Any) -> None:
    lot = gift(session, maker)
    page = client.get("/movement-book").get_data(as_text=True)

    assert lot.code in page
    assert "=Trigonda River Trust" in page
    assert ">500 g<" in page
    assert ">120 g<" in page
    assert ">380 g<" in page


def test_the_book_is_narrowed_to_a_lot_a_species_and_days(client: Browser, session: Any, maker: Any) -> None:
    lot = gift(session, maker)
    other = maker.lot(population=maker.population(species=maker.species("crataegus-monogyna")), code="THORN")
    session.commit()

    def shown(query: str) -> set[str]:
        page = client.get(f"/movement-book?{query}").get_data(as_text=True)
        return {row.code for row in (lot, other) if f">{row.code}<" in page}

    assert shown("") == {lot.code, "THORN"}
    assert shown("lot=thorn") == {"THORN"}
    assert shown("species=quercus-suber") == {lot.code}
    assert shown("first=2026-11-25") == {lot.code}
    assert shown("last=2000-01-01") == set()
    assert "There is no lot “nothing”" in client.get("/movement-book?lot=nothing").get_data(as_text=True)


def test_files_hold_the_same_rows(client: Browser, session: Any, maker: Any) -> None:
    gift(session, maker)
    csv = client.get("/movement-book.csv").get_data(as_text=True)
    sheet = openpyxl.load_workbook(io.BytesIO(client.get("/movement-book.xlsx").get_data())).active
    document = pypdfium2.PdfDocument(client.get("/movement-book.pdf").get_data())
    text = " ".join(page.get_textpage().get_text_range() for page in document)

    assert sheet is not None
    rows = list(sheet.iter_rows(values_only=True))
    assert len(rows) == 3
    assert [row[8] for row in rows[1:]] == [120, None]
    assert "'=Trigonda River Trust" in csv
    assert "120 g" in text
    assert "Draft, to be checked by the person who signs" in text
