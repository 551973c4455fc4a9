"""Plant health on the floor: what a phone sees in the shade house stops a delivery in the office."""

from __future__ import annotations

import base64
import datetime as dt
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Attachment, Batch, Container, Lot, PlantMovement
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services.batches.counting import record_count
from nursery.services.batches.sowing import sow
from nursery.services.health.hygiene_points import POINTS
from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import fill, follow, heading, press, told
from tests.conftest import TODAY

pytestmark = pytest.mark.browser
#: A picture of one green point.
PICTURE = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)


@pytest.fixture
def batch(own_demo: Served) -> tuple[int, str]:
    """Id and code of a batch with a hundred plants."""
    with own_demo.session() as session, session.begin():
        tray = session.scalars(select(Container).order_by(Container.id).limit(1)).one()
        lot = session.scalars(
            select(Lot)
            .where(Lot.amount_mg > 0, Lot.is_held.is_(False), Lot.archived_at.is_(None))
            .order_by(Lot.id)
        ).first()
        assert lot is not None
        sown_on = TODAY - dt.timedelta(days=20)
        made = sow(
            session, "Ana Seabra", lot=lot, seeds=tray.cells_per_tray * 4, trays=4, container_id=tray.id,
            method=Method.DIRECT, protocol="", seeds_per_cell=1, sown_on=sown_on, today=TODAY, code="B-HEALTH",
        )  # fmt: skip
        record_count(
            session, "Ana Seabra", batch=made, stage=Stage.EMERGED, counted_on=TODAY, today=TODAY, plants=100
        )
        return made.id, made.code


def test_what_a_phone_sees_stops_the_delivery_until_it_is_cleared(
    own_demo: Served, batch: tuple[int, str], visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    batch_id, code = batch
    page = visit(own_demo, f"/batches/{batch_id}", **phone)
    follow(page, "Write down what you see")
    expect(page.get_by_label("Batch")).to_have_value(code)
    fill(page, finding="Disease", description="Tips wilt, roots brown", plants_affected="30")
    page.get_by_label("Photographs").set_input_files(
        {"name": "root.png", "mimeType": "image/png", "buffer": PICTURE}
    )
    press(page, "Save")

    picture = page.get_by_role("img", name="Photograph 1 of what was seen")
    expect(picture).to_be_visible()
    assert picture.evaluate("picture => picture.decode().then(() => picture.naturalWidth)") == 1
    assert faults(page) == []
    press(page, f"Put batch {code} in quarantine")  # the one touch
    told(page, f"Batch {code} is in quarantine: nothing leaves it.")

    office = visit(own_demo, f"/batches/{batch_id}")
    expect(office.get_by_text(f"Batch {code} is in quarantine.")).to_be_visible()
    _send(office, batch_id)
    expect(office.get_by_role("alert")).to_contain_text(
        f"Batch {code} has been in quarantine since 25 Nov 2026: Disease: Tips wilt, roots brown."
    )
    with own_demo.session() as session:
        assert (session.get_one(Batch, batch_id).alive, _sent(own_demo, batch_id)) == (100, [])
        hung = session.scalars(select(Attachment.file_name).where(Attachment.subject == "scoutings"))
        assert list(hung) == ["root.png"]

    office.goto(f"/batches/{batch_id}")
    office.get_by_text("Lift the quarantine…").click()
    office.get_by_label("Why it is lifted").fill("Looked at again by Rui: overwatered, roots white")
    press(office, "Lift the quarantine")
    told(office, f"The quarantine of Batch {code} is lifted.")
    _send(office, batch_id)
    heading(office, code)
    assert _sent(own_demo, batch_id) == [-40]


def test_the_hygiene_list_is_gone_through_with_the_thumb(
    own_demo: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, "/health", **phone)
    follow(page, "Hygiene list")
    follow(page, "Pelindra home nursery")
    for number, point in enumerate(POINTS):
        group = page.get_by_role("group", name=f"{number + 1}. {point.text}")
        group.get_by_label("No" if point.key == "water" else "Yes", exact=True).tap()
    press(page, "Save")

    told(page, "1 point is not as it should be.")
    assert faults(page) == []
    page.goto("/health")
    expect(page.get_by_text("Should be: Water from rivers and ponds is treated")).to_be_visible()


def test_a_fresh_treatment_keeps_people_out_of_the_nursery_page_by_page(
    own_demo: Served, batch: tuple[int, str], visit: Callable[..., Page]
) -> None:
    batch_id, code = batch
    page = visit(own_demo, f"/treatments/new?batch={code}")
    fill(page, product="Sulphur 80", dose="2,5", dose_unit="g per l", water_l="10", against="mildew")
    fill(page, treated_on=(TODAY - dt.timedelta(days=1)).isoformat(), treated_time="07:30", reentry_hours="72")
    press(page, "Save")
    expect(page.get_by_text("Do not go in.")).to_be_visible()
    expect(page.get_by_text("0.025 kg")).to_be_visible()

    for path in (f"/batches/{batch_id}", "/health"):
        page.goto(path)
        expect(
            page.get_by_text(f"Batch {code} was treated with Sulphur 80: nobody goes in before")
        ).to_be_visible()
        assert faults(page) == []


def _send(page: Page, batch_id: int) -> None:
    page.goto(f"/batches/{batch_id}/act/dispatch")
    page.get_by_role("main").locator("[name=site_id]").select_option(index=1)
    fill(page, plants="40")
    page.get_by_role("main").locator("form[method=post] button[type=submit]").last.click()


def _sent(served: Served, batch_id: int) -> list[int]:
    with served.session() as session:
        of_batch = PlantMovement.batch_id == batch_id, PlantMovement.kind == PlantMovementKind.DISPATCHED
        return list(session.scalars(select(PlantMovement.change).where(*of_batch)))
