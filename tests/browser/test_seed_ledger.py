"""The mixed lot of the demo is one click from the season page; seed is withdrawn, taken back and mixed."""

from __future__ import annotations

import os
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Lot, Movement, Population
from nursery.models.movements import MovementKind
from tests.browser.looking import Complaints, faults, folded_faults
from tests.browser.serving import Served
from tests.browser.steps import cells, fill, press, told

pytestmark = pytest.mark.browser
SHOTS = os.environ.get("NURSERY_SHOTS", "")


def shoot(page: Page, name: str) -> None:
    if SHOTS and page.viewport_size:
        page.screenshot(path=f"{SHOTS}/{name}{page.viewport_size['width']}.png", full_page=True)


def lot_of(served: Served, population: str) -> Lot:
    """The newest lot of a population that was collected."""
    with served.session() as session:
        return session.scalars(
            select(Lot)
            .join(Lot.population)
            .where(Population.code == population, Lot.amount_mg > 0)
            .order_by(Lot.collected_on.desc(), Lot.id)
        ).first()  # type: ignore[return-value]


def test_the_mixed_lot_is_one_click_from_the_season_page(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    with demo_season.session() as session:
        made = select(Movement.lot_id).where(Movement.kind == MovementKind.MIXED, Movement.change > 0)
        # Another mixture of the demo has been sown already.
        code = session.scalars(select(Lot.code).where(Lot.id.in_(made), Lot.amount_mg > 0)).one()
    for options in ({}, phone):
        page = visit(demo_season, "/", **options)
        complaints = Complaints(page)
        page.locator("p", has_text="Mixed lots:").get_by_role("link", name=code).click()
        expect(page.get_by_role("heading", level=1)).to_have_text(code)
        rows = cells(page.get_by_role("table", name="Whose seed is in it"))
        assert [row[1].split(" · ")[0] for row in rows] == ["P-014", "P-015"]
        assert [row[4] for row in rows] == ["66.7 %", "33.3 %"]  # half of 60 g and of 30 g of fruit, at one yield
        shoot(page, "mixed")
        assert faults(page) + folded_faults(page) == []
        assert complaints.take() == []


def test_each_form_of_the_ledger_is_sound_at_both_widths(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    lot, mistaken = lot_of(demo_season, "P-024"), lot_of(demo_season, "P-025")
    with demo_season.session() as session:
        act = session.scalars(select(Movement.act).where(Movement.lot_id == mistaken.id)).first()
    pages = [f"/lots/{lot.id}/ledger/{name}" for name in ("clean", "sow", "split", "discard", "recount")]
    pages += [
        f"/lots/{lot.id}/mix?with={mistaken.id}",
        f"/lots/{mistaken.id}/take-back/{act}",
        f"/lots/{mistaken.id}",
    ]
    for options in ({}, phone):
        page = visit(demo_season, "", **options)
        complaints = Complaints(page)
        for path in pages:
            page.goto(path)
            shoot(page, path.split("?")[0].strip("/").replace("/", "-")[:24])
            assert faults(page) == [], path
        assert complaints.take() == []


def test_seed_is_withdrawn_refused_in_words_and_taken_back(own_demo: Served, visit: Callable[..., Page]) -> None:
    lot = lot_of(own_demo, "P-024")
    page = visit(own_demo, f"/lots/{lot.id}")
    page.get_by_role("link", name="Withdraw for sowing").click()
    fill(page, amount="5000", unit="kg")
    press(page, "Write the withdrawal down")
    expect(page.locator("#amount-error")).to_contain_text("out of range")
    fill(page, amount="500")
    press(page, "Write the withdrawal down")
    expect(page.locator("#amount-error")).to_contain_text(f"{lot.code} holds")
    fill(page, amount="2,5", unit="g", reason="Bench 4")
    press(page, "Write the withdrawal down")
    told(page, f"2.5 g left {lot.code}.")
    page.get_by_role("link", name="Take back… Withdrawn for sowing").click()
    fill(page, reason="Not sown after all")
    press(page, "Take it back")
    told(page, "It was taken back. Both entries stay in the ledger.")
    first, second = cells(page.get_by_role("table", name="Movements, newest first"))[:2]
    assert (first[1], first[2], first[5]) == ("Taken back", "+2.5 g", "Not sown after all")
    assert (second[1], second[2], second[5]) == ("Withdrawn for sowing taken back", "−2.5 g", "Bench 4")


def test_two_lots_are_mixed_after_the_verdict_was_read(own_demo: Served, visit: Callable[..., Page]) -> None:
    one, two = lot_of(own_demo, "P-010"), lot_of(own_demo, "P-011")
    far = lot_of(own_demo, "P-012")
    page = visit(own_demo, f"/lots/{one.id}/mix")
    page.get_by_role("checkbox", name=far.code).check()
    press(page, "See what the rule says")
    told(page, "These lots may not be mixed.")
    expect(page.get_by_role("button", name="Mix them")).to_have_count(0)
    page.get_by_role("checkbox", name=far.code).uncheck()
    page.get_by_role("checkbox", name=two.code).check()
    press(page, "See what the rule says")
    told(page, "These lots may be mixed.")
    press(page, "Mix them")
    told(page, "Ask the authority for a new master certificate of")
    rows = cells(page.get_by_role("table", name="Whose seed is in it"))
    assert {row[0] for row in rows} == {one.code, two.code}
