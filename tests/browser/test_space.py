"""Bench room as a person meets it: a bench too full, what stands there, the moves that make it fit, orders."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Target
from tests.browser.looking import Complaints, faults
from tests.browser.serving import Served
from tests.browser.steps import fill, follow, go, heading, press, told
from tests.crowding import HILL, crowd_the_hill, fill_a_bench

pytestmark = pytest.mark.browser


def test_the_demo_has_a_bench_too_full_and_the_moves_that_level_it(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    go(page, "Grow", "Bench room")
    full = page.locator(".room-bench", has=page.get_by_text("too little room in"))
    expect(full.first).to_contain_text("m² too little")
    expect(full.first.locator(".room-mark").first).to_be_visible()
    name = full.first.get_by_role("heading").inner_text().split("  ")[0].rsplit(" ", 2)[0]

    follow(page, "Make it fit")
    told(page, "With these moves there is room in every week.")
    expect(page.locator("#moves tbody tr", has_text=name).first).to_contain_text(f"from {name} to")
    section = page.locator("section", has=page.get_by_role("heading", name=re.compile(re.escape(name)))).last
    before, after = (section.locator("figure").nth(number) for number in (0, 1))
    expect(before).to_contain_text("too little room in")
    expect(after).to_contain_text("room enough in every week")
    expect(after.locator(".room-mark")).to_have_count(0)
    assert faults(page) == []


def test_a_bench_too_full_is_told_and_levelled(own_demo: Served, visit: Callable[..., Page]) -> None:
    with own_demo.session() as session:
        fill_a_bench(session)
        session.commit()
    page = visit(own_demo)
    complaints = Complaints(page)
    go(page, "Grow", "Bench room")
    yard = page.get_by_role("region", name="Shade yard", exact=False).first
    bench = page.locator(".room-bench", has=page.get_by_role("heading", name="East table"))
    expect(bench).to_contain_text("too little room in 53 weeks")
    expect(bench).to_contain_text("1 m² too little")
    expect(bench.locator(".room-mark")).to_have_count(53)
    assert faults(page) == []

    yard.get_by_text("The same weeks as numbers").click()
    yard.get_by_role("link", name="Week 48").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Shade yard, week 48")
    row = page.locator("#standing tbody tr", has_text="FULL-1")
    expect(row).to_contain_text("East table")
    expect(row.get_by_role("cell").first).to_have_text("6")
    assert faults(page) == []

    follow(page, "Bench room")
    follow(page, "Make it fit")
    told(page, "With these moves there is room in every week.")
    move = page.locator("#moves tbody tr", has_text="FULL-1")
    expect(move).to_contain_text("Move 5 of 30 trays from East table to West table.")
    expect(move).to_contain_text("5 trays to carry")
    pair = page.locator("section", has=page.get_by_role("heading", name=re.compile("East table"))).first
    expect(pair).to_contain_text("Before")
    expect(pair).to_contain_text("After")
    assert faults(page) == []
    assert complaints.take() == []


def test_sowings_are_shifted_and_pinned_only_when_taken_over(own_demo: Served, visit: Callable[..., Page]) -> None:
    with own_demo.session() as session:
        crowd_the_hill(session)
        session.commit()
    page = visit(own_demo)
    complaints = Complaints(page)
    page.goto("/space")
    expect(page.locator("section", has=page.get_by_role("heading", name=HILL)).first).to_contain_text("too little")
    follow(page, "Make it fit")
    told(page, "With these moves there is room in every week.")
    moves = page.locator("#moves tbody tr")
    shifted = moves.count()
    assert shifted > 0
    expect(moves.first).to_contain_text("sowing then falls on")
    expect(moves.first).to_contain_text("days later")
    assert pinned(own_demo) == 0

    page.get_by_text("Take the planting days over…").click()
    press(page, "Pin these planting days")
    told(page, "Make the plan anew")
    assert pinned(own_demo) == shifted
    assert complaints.take() == []


def pinned(served: Served) -> int:
    with served.session() as session:
        return len(session.scalars(select(Target.id).where(Target.plant_on.is_not(None))).all())


def test_on_a_phone_a_stock_is_counted_and_the_order_told(
    own_demo: Served, visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    page = visit(own_demo, "/supplies/new", **phone)
    complaints = Complaints(page)
    fill(page, name="Bark mix of the shed", kind="Substrate", pack="70", price_per_pack="9,50", lead_days="21")
    press(page, "Save")
    heading(page, "Bark mix of the shed")
    fill(page, kind="Counted", amount="1500")
    press(page, "Write down")
    told(page, "There are 1,500 l now.")
    expect(page.locator(".supply-stock")).to_contain_text("too low from week")
    assert faults(page) == []
    page.goto("/supplies/orders")
    expect(page.locator("#orders tbody tr", has_text="Bark mix of the shed").first).to_be_visible()
    assert faults(page) == []
    assert complaints.take() == []
