"""The labels' form and its file."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from sqlalchemy.orm import Session

from tests.web.batches.conftest import Floor


def read(pdf: bytes) -> list[str]:
    return [
        one.text
        for page in pypdfium2.PdfDocument(pdf)
        for one in zxingcpp.read_barcodes(page.render(scale=200 / 72).to_pil())
    ]


def test_there_is_a_label_for_each_tray_and_its_code_opens_the_batch(client: Any, floor: Floor) -> None:
    path = f"/batches/{floor.batch.id}"
    app = client.application
    app.config["NURSERY"] = replace(app.config["NURSERY"], address="http://nursery.example.org:5080")
    page = client.get(f"{path}/labels").text
    answer = client.get(f"{path}/labels.pdf?labels=10")

    assert 'name="labels" type="text" inputmode="numeric" autocomplete="off" value="10"' in page
    assert answer.mimetype == "application/pdf"
    assert read(answer.data) == [f"http://nursery.example.org:5080{path}"] * 10
    text = pypdfium2.PdfDocument(answer.data)[0].get_textpage().get_text_range()
    for told in (floor.batch.code, "Quercus suber", "Lot L/A", "Sown 2 Nov 2026", "Tray 10 of 10", "Tray of forty",
                 "Long bank 2027/28"):  # fmt: skip
        assert told in text


def test_an_address_that_no_phone_finds_is_told_and_another_goes_into_the_code(client: Any, floor: Floor) -> None:
    path = f"/batches/{floor.batch.id}"
    assert "means this very machine" in client.get(f"{path}/labels", base_url="http://127.0.0.1:5080").text

    answer = client.get(f"{path}/labels.pdf?labels=1&base=http://192.168.1.20:5080/")

    assert read(answer.data) == [f"http://192.168.1.20:5080{path}"]


def test_a_roll_has_one_label_a_page_of_its_size(client: Any, floor: Floor) -> None:
    answer = client.get(f"/batches/{floor.batch.id}/labels.pdf?layout=roll&width=57&height=32&labels=3&first=8")

    document = pypdfium2.PdfDocument(answer.data)
    assert [document[0].get_size()[0] / 72 * 25.4, len(document)] == [pytest.approx(57, abs=0.05), 3]
    assert "Tray 8 of 10" in document[0].get_textpage().get_text_range()


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("labels=0", "“0” does not do here. Give a number from 1 to 2,000."),
        ("labels=many", "“many” does not do here."),
        ("start=25", "“25” does not do here. Give a number from 1 to 24."),
        ("layout=roll&width=5", "“5” does not do here. Give a number from 25 to 120."),
        ("layout=papyrus", "Choose one of the list."),
        ("base=ftp://a", "“ftp://a” is no address."),
    ],
)
def test_what_cannot_be_printed_is_told_and_the_typing_stays(
    client: Any, floor: Floor, asked: str, told: str
) -> None:
    answer = client.get(f"/batches/{floor.batch.id}/labels.pdf?first=3&{asked}")

    assert answer.status_code == 422
    assert told in answer.text
    assert 'id="first" name="first" type="text" inputmode="numeric" autocomplete="off" value="3"' in answer.text


def test_a_batch_of_no_trays_still_has_a_label(client: Any, session: Session, floor: Floor) -> None:
    floor.batch.trays = 0
    session.commit()

    assert len(read(client.get(f"/batches/{floor.batch.id}/labels.pdf").data)) == 1
