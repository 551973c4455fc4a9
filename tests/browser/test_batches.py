"""Batches: from the adopted plan to counts that move the forecast, and the wet thumb in the shade house."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Batch, Plan, Target
from nursery.planning.words import Method
from nursery.services import batches
from nursery.services.batches.offering import offers
from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import cells, fill, follow, go, leave_by, press, told
from tests.conftest import TODAY

pytestmark = pytest.mark.browser

#: Counts every touch on every page of the visit.
COUNTS_TOUCHES = """
addEventListener("touchstart", () => sessionStorage.touches = Number(sessionStorage.touches || 0) + 1, true)
"""
#: Fingers need this much (WCAG 2.2, 2.5.5 at level AAA); wet ones more.
FINGER = 44


@pytest.fixture
def sown(own_demo: Served) -> int:
    """A batch that was sown four weeks ago and never counted."""
    with own_demo.session() as session:
        offer = next(one for one in offers(session) if one.trays and one.lot.collected_on < TODAY)
        batch = batches.sow(
            session, "Ana Seabra", lot=offer.lot, seeds=400, trays=10, container_id=offer.line.container_id,
            method=Method.DIRECT, protocol=offer.line.protocol, sown_on=max(offer.lot.collected_on, TODAY),
            today=TODAY, line_id=offer.line.id,
        )  # fmt: skip
        session.commit()
        return batch.id


def scanned(served: Served, batch_id: int, page: Page) -> str:
    """The address in the code of a printed label, read from the page as drawn."""
    answer = page.request.get(f"{served.root}/batches/{batch_id}/labels.pdf?labels=1")
    drawn = pypdfium2.PdfDocument(io.BytesIO(answer.body()))[0].render(scale=3).to_pil()
    (code,) = zxingcpp.read_barcodes(drawn)
    return str(code.text)


def test_scan_count_saved_takes_two_touches_beside_the_number_with_one_hand(
    own_demo: Served, sown: int, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, "", **phone)
    page.add_init_script(COUNTS_TOUCHES)

    page.goto(scanned(own_demo, sown, page))
    number, save = page.get_by_label("Plants in all"), page.get_by_role("button", name="Save", exact=True)
    expect(page.get_by_label("Stage", exact=True)).to_have_value("emerged")
    assert number.get_attribute("inputmode") == "numeric"
    for control in (number, save):
        box = control.bounding_box()
        assert box
        assert box["y"] + box["height"] <= 844  # on the first screen, nothing to scroll
        assert min(box["width"], box["height"]) >= FINGER
    assert faults(page) == []

    number.tap()
    page.keyboard.type("312")
    with page.expect_navigation():
        save.tap()

    told(page, "Saved: 312 plants, emerged")
    assert page.evaluate("Number(sessionStorage.touches)") == 2
    with own_demo.session() as session:
        assert session.get_one(Batch, sown).alive == 312


def test_a_slip_of_the_thumb_costs_no_typing(
    own_demo: Served, sown: int, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, f"/batches/{sown}", **phone)
    page.get_by_label("Plants in all").fill("31200")
    press(page, "Save")

    expect(page.get_by_role("alert")).to_contain_text("31,200 plants cannot have come of 400 seeds.")
    expect(page.get_by_label("Plants in the whole batch")).to_have_value("31200")
    assert faults(page) == []
    page.get_by_label("Plants in the whole batch").fill("312")
    press(page, "Save")
    told(page, "Saved: 312 plants")


def test_from_the_adopted_plan_to_a_forecast_that_moves_with_two_counts(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    with own_demo.session() as session:  # more is wanted, so that there is something to plan anew
        open_ones = select(Target).where(Target.plants > 100, Target.season >= 2027)
        target = session.scalars(open_ones.order_by(Target.id)).first()
        assert target is not None
        target.plants = (target.plants or 0) + 200
        session.commit()
    page = visit(own_demo)
    go(page, "Plan", "Plans")
    fill(page, label="More oaks")
    press(page, "Make today’s plan")
    page.get_by_text("Adopt…").first.click()
    press(page, "Adopt this plan")
    told(page, "“More oaks” is now the adopted plan.")

    go(page, "Grow", "Batches")
    follow(page, "Sow a batch")
    with own_demo.session() as session:
        offer = next(one for one in offers(session) if one.trays and one.seeds <= one.draw.seeds)
        draw, seeds, lot = offer.draw.id, offer.seeds, offer.lot.code
        assert session.get_one(Plan, offer.line.plan_id).is_adopted
    leave_by(page.locator(f"a[href$='draw={draw}']"))
    expect(page.locator("[name=seeds]")).to_have_value(str(seeds))
    expect(page.locator("[name=lot_id]")).to_have_value(lot)
    press(page, "Sow")
    told(page, "Print its labels now.")

    ready = [expected(page)]
    for plants in (seeds // 4, seeds // 2):
        fill(page, plants=str(plants))
        press(page, "Save")
        told(page, f"Saved: {plants:,} plants")
        ready.append(expected(page))
    assert ready[1] < ready[0]  # a poor emergence is seen at once
    assert ready[1] < ready[2]  # and more that came up later too
    assert cells(page.get_by_role("table", name="Counts, newest first"))[0][2] == f"{seeds // 2:,}"
    assert faults(page) == []


def expected(page: Page) -> int:
    """Ready plants that the batch's page expects."""
    text = page.get_by_text(re.compile(r"ready plants? expected")).inner_text()
    return int(re.sub(r"\D", "", text.split(" ready")[0]))
