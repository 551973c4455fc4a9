"""A load from the site's page to the person who takes it over, on a phone; and the demo's load in each state."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Dispatch, ReturnedPlants, Target
from nursery.models.dispatches import DispatchStatus
from tests.browser.looking import faults
from tests.browser.serving import Served

pytestmark = pytest.mark.browser


def site_with_ready_plants(served: Served) -> int:
    """A site whose planned load is not there yet; its target of this winter still waits."""
    with served.session() as session:
        planned = select(Dispatch.site_id).where(Dispatch.status == DispatchStatus.PLANNED)
        found = session.scalars(
            select(Dispatch.site_id)
            .join(Target, Target.site_id == Dispatch.site_id)
            .where(Dispatch.status == DispatchStatus.CANCELLED, Dispatch.site_id.not_in(planned))
        ).first()
        assert found is not None
        return found


def load_in(served: Served, status: DispatchStatus) -> int:
    with served.session() as session:
        return (
            session.scalars(select(Dispatch.id).where(Dispatch.status == status).order_by(Dispatch.id)).first()
            or 0
        )


def test_on_a_phone_the_pick_list_shows_how_many_without_being_pushed_aside(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, Any]
) -> None:
    with demo_season.session() as session:
        planned = session.scalars(select(Dispatch.id).where(Dispatch.status == DispatchStatus.PLANNED)).all()
    page = visit(demo_season, f"/loads/{max(planned)}/pick-list", **phone)

    region = page.get_by_role("region", name="Bench by bench, as one walks")
    assert region.get_by_role("row").count() > 2
    assert region.evaluate("region => region.scrollWidth - region.clientWidth") == 0
    expect(region.get_by_role("columnheader", name="Plants")).to_be_in_viewport(ratio=1)


def test_trays_put_right_at_the_lorry_are_the_same_on_every_page_and_paper(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    with own_demo.session() as session:
        planned = session.scalars(select(Dispatch).where(Dispatch.status == DispatchStatus.PLANNED)).all()
        load_id, line = max((load.id, load.lines[0]) for load in planned)
        code, batch_id = line.batch.code, line.batch_id
    page = visit(own_demo, f"/loads/{load_id}/pick-list")
    picked = page.locator("#picks tbody tr").filter(has_text=code)
    trays = 1 + sum(int(cell) for cell in picked.locator("td:nth-of-type(2)").all_inner_texts())

    page.goto(f"/loads/{load_id}/send")
    expect(page.get_by_text(f"{trays - 1} trays on the pick list").first).to_be_visible()
    page.get_by_label(f"{code}: trays loaded").fill(str(trays))
    assert faults(page) == []
    page.get_by_role("button", name="It has left").click()

    line_row = page.locator("#load-lines tbody tr").filter(has_text=code)
    expect(line_row.locator("td").nth(1)).to_have_text(str(trays))
    page.goto(f"/loads/{load_id}/pick-list")
    fetched = page.locator("#picks tbody tr").filter(has_text=code).locator("td:nth-of-type(2)")
    assert sum(int(cell) for cell in fetched.all_inner_texts()) == trays
    page.goto(f"/papers/load/{load_id}")
    page.get_by_role("link", name="Draw it up").click()
    page.get_by_role("button", name="Draw it up as a draft").click()
    expect(page.locator("#lines tbody tr").filter(has_text=code)).to_contain_text(f"trays: {trays}")
    page.goto(f"/batches/{batch_id}")
    sent = page.locator("#movements tbody tr").filter(has_text="Dispatched").first
    expect(sent.locator("td").nth(3)).to_have_text(str(trays))
    assert faults(page) == []


def test_a_load_goes_from_the_site_to_its_receipt_with_one_hand(
    own_demo: Served, visit: Callable[..., Page], phone: dict[str, Any]
) -> None:
    page = visit(own_demo, f"/sites/{site_with_ready_plants(own_demo)}", **phone)
    page.get_by_role("button", name="Make a load for this site").click()
    expect(page.get_by_text("holds what is ready for")).to_be_visible()
    assert faults(page) == []

    page.get_by_role("link", name="Pick list").click()
    expect(page.get_by_role("heading", name=re.compile("Pick list L"))).to_be_visible()
    assert faults(page) == []

    page.get_by_role("link", name="All is picked: send it…").click()
    first = page.get_by_label(re.compile(": plants sent")).first
    asked = int(first.input_value())
    first.fill(str(asked - 5))
    page.get_by_role("button", name="It has left").click()
    expect(page.get_by_text("is on the road with")).to_be_visible()
    expect(page.get_by_text("What did not go is in")).to_be_visible()

    page.get_by_role("link", name="It has been taken over…").click()
    page.get_by_label("Name of who takes it over").fill("Duarte")
    came = page.get_by_label(re.compile(": plants that came")).first
    came.fill(str(int(came.input_value()) - 2))
    page.get_by_role("button", name="Taken over").click()
    expect(page.get_by_text("2 plants were missing: the ledger has them as lost on the way.")).to_be_visible()
    expect(page.get_by_text("Taken over by Duarte")).to_be_visible()
    assert faults(page) == []


def test_plants_that_came_back_wait_until_somebody_decides(own_demo: Served, visit: Callable[..., Page]) -> None:
    with own_demo.session() as session:
        row = session.scalars(select(ReturnedPlants).where(ReturnedPlants.decision.is_(None))).one()
        batch, before, plants = row.line.batch.code, row.line.batch.alive, row.plants
        batch_id = row.line.batch_id
    page = visit(own_demo, "/loads")
    expect(page.get_by_text("1 return waits for a decision")).to_be_visible()
    page.get_by_role("link", name=f"{plants} plants").click()
    expect(page.get_by_text("Plants that left do not come back")).to_be_visible()
    page.get_by_label("Decision").select_option("back-in-stock")
    page.get_by_role("button", name="Decide").click()
    expect(page.get_by_text("Reason must be filled in.").first).to_be_visible()  # nothing rejoins without one
    page.get_by_label("Reason").fill("Sound again after a night in the shade")
    page.get_by_role("button", name="Decide").click()
    expect(page.get_by_text(f"{plants} plants are back in {batch}.")).to_be_visible()
    with own_demo.session() as session:
        row = session.scalars(select(ReturnedPlants).where(ReturnedPlants.line.has(batch_id=batch_id))).first()
        assert row is not None
        assert row.line.batch.alive == before + plants


def test_a_batch_that_the_rules_of_origin_stop_is_not_offered(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    with own_demo.session() as session:
        load = session.scalars(
            select(Dispatch)
            .where(Dispatch.status == DispatchStatus.PLANNED, Dispatch.lines.any())
            .order_by(Dispatch.id.desc())
        ).first()
        assert load is not None
        path = f"/loads/{load.id}/lines/{load.lines[0].id}/substitute"
    page = visit(own_demo, path)
    expect(page.get_by_text("Only where the rules of origin let its seed stand at")).to_be_visible()
    page.get_by_role("button", name="Let it stand in").click()
    expect(page.get_by_text("Reason must be filled in.").first).to_be_visible()


@pytest.mark.parametrize("status", DispatchStatus)
def test_the_demo_has_a_load_in_each_state(
    demo_season: Served, visit: Callable[..., Page], status: DispatchStatus
) -> None:
    told = {"planned": "Planned", "sent": "On the road", "received": "Taken over", "cancelled": "Cancelled"}
    page = visit(demo_season, f"/loads/{load_in(demo_season, status)}")
    expect(page.get_by_text(told[status.value], exact=True).first).to_be_visible()
