"""The search page."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.services.codes import lot_code

CODE = lot_code("Quercus suber", 2026, 7)


def test_an_exact_code_leads_straight_to_its_record(client: Any, session: Session, maker: Any) -> None:
    lot = maker.lot(code=CODE)
    session.commit()
    answer = client.get(f"/search?q={CODE.lower()}")
    assert (answer.status_code, answer.location) == (302, f"/lots/{lot.id}")


def test_results_are_grouped_by_kind(client: Any, session: Session, maker: Any) -> None:
    maker.site(name="Moinho bank")
    maker.nursery(name="Moinho yard")
    session.commit()
    page = client.get("/search?q=moinho").text
    assert [part.partition("<")[0] for part in page.split("<h2>")[1:]] == ["Planting sites", "Nurseries"]


def test_more_than_a_few_are_led_on_to_their_list(client: Any, session: Session, maker: Any) -> None:
    for _number in range(9):
        maker.site()
    session.commit()
    page = client.get("/search?q=bank").text
    assert '<a href="/sites?q=bank&amp;archived=all">All 9 records</a>' in page


def test_a_misread_lot_code_is_explained(client: Any, session: Session, maker: Any) -> None:
    maker.lot(code=CODE)
    session.commit()
    wrong = CODE[:-1] + ("4" if CODE[-1] != "4" else "6")
    page = client.get(f"/search?q={wrong}").text
    assert ("its check character does not fit" in page, f">{CODE}</a>" in page) == (True, True)


@pytest.mark.parametrize("text", ["", "%00", "%25", "%F0%9F%8C%B1", "'" * 300, "a" * 5000, "%ED%A0%80", "(", "\\"])
def test_any_text_is_answered(client: Any, text: str) -> None:
    assert client.get(f"/search?q={text}").status_code == 200
