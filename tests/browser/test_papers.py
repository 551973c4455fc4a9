"""Papers that travel: one is refused and says where to fill in what is missing; then it is signed and printed."""

from __future__ import annotations

from collections.abc import Callable

import pypdfium2
import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Dispatch, Lot
from nursery.models.dispatches import DispatchStatus
from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import fill, follow, go, heading, press, told

pytestmark = pytest.mark.browser
DOCUMENT = "Supplier’s document for plants"
FILL_IN = "Fill it in Country and number of the master certificate"


@pytest.fixture
def waiting(own_demo: Served) -> tuple[int, str, str]:
    """Id and code of the load whose papers wait, and the code of the lot without a certificate."""
    with own_demo.session() as session:
        loads = session.scalars(select(Dispatch).where(Dispatch.status == DispatchStatus.PLANNED)).all()
        load = next(one for one in loads if one.site.code == "S-011")
        lot = load.lines[0].batch.lot
        assert lot is not None
        return load.id, load.code, lot.code


def printed(page: Page) -> str:
    """The text of the paper that the page is about."""
    link = page.get_by_role("main").get_by_role("link", name="Open the PDF")
    answer = page.request.get(link.get_attribute("href") or "")
    assert answer.headers["content-type"] == "application/pdf"
    return " ".join(
        " ".join(sheet.get_textpage().get_text_range().split()) for sheet in pypdfium2.PdfDocument(answer.body())
    )


def open_papers(page: Page, served: Served, load_id: int, load: str) -> None:
    """The papers of a load, from the load's own page."""
    page.goto(served.address("dispatches.detail", record_id=load_id))
    follow(page, "Papers")
    heading(page, f"Papers of load {load}")


def test_a_paper_that_misses_its_certificate_is_refused_and_names_the_field(
    own_demo: Served, waiting: tuple[int, str, str], visit: Callable[..., Page]
) -> None:
    load_id, load, lot = waiting
    page = visit(own_demo)
    open_papers(page, own_demo, load_id, load)
    expect(page.get_by_role("main")).to_contain_text("counts as marketing even without a price")
    assert faults(page) == []
    follow(page, f"Look at what it will say {DOCUMENT}")
    fill(page, purpose="Ecological restoration")
    press(page, "Draw it up as a draft")

    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("Country and number of the master certificate")
    expect(page.get_by_role("main")).to_contain_text(f"Lot {lot} has no number of a master certificate.")
    expect(
        page.get_by_role("link", name="Fill it in Country and number of the master certificate")
    ).to_be_visible()
    assert faults(page) == []
    go(page, "Report", "Papers")
    expect(page.get_by_role("table")).not_to_contain_text(load)


def test_what_was_missing_is_filled_in_and_the_paper_drawn_up_signed_and_printed(
    own_demo: Served, waiting: tuple[int, str, str], visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    load_id, load, lot = waiting
    page = visit(own_demo)
    open_papers(page, own_demo, load_id, load)
    follow(page, FILL_IN)
    fill(page, certificate_number="EX-2026/0077")
    press(page, "Save")
    open_papers(page, own_demo, load_id, load)
    follow(page, f"Draw it up {DOCUMENT}, Arbutus unedo")
    fill(page, purpose="Ecological restoration")
    press(page, "Draw it up as a draft")
    told(page, "It is a draft until somebody checks and signs it.")
    expect(page.get_by_role("main")).to_contain_text("ES EX-2026/0077")
    draft = printed(page)
    assert "Draft, to be checked by the person who signs" in draft
    assert "ES EX-2026/0077" in draft
    assert f"{lot} (" in draft
    assert faults(page) == []

    fill(page, signed_by="Noa Quirós")
    press(page, "Write the signature down")
    told(page, "Noa Quirós has signed")
    signed = printed(page)
    assert "Checked and signed by Noa Quirós, 25 Nov 2026" in signed
    assert "Draft" not in signed

    number = page.get_by_role("heading", level=1).inner_text()
    small = visit(own_demo, "/papers", **phone)
    expect(small.get_by_role("table")).to_contain_text(number)
    expect(small.get_by_role("main")).to_contain_text("Nothing deletes itself.")
    assert faults(small) == []
    with own_demo.session() as session:
        assert session.scalar(select(Lot.certificate_number).where(Lot.code == lot)) == "EX-2026/0077"
