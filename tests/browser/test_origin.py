"""Verdicts, their reasons and what people decide, as a person meets them in the demo season."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.looking import Complaints, faults
from tests.browser.serving import Served

pytestmark = pytest.mark.browser


def test_a_lot_refused_for_its_elevation_is_explained_and_let_through_with_a_reason(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    page = visit(own_demo)
    complaints = Complaints(page)
    page.goto("/origin")
    page.get_by_label("Species", exact=True).select_option(label="Acer monspessulanum")
    page.get_by_role("button", name="Show").click()
    row = page.locator("#verdicts tbody tr", has_text="ACMN-4223-7")
    row.get_by_role("link", name="S-014").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("ACMN-4223-7 at Guadorva greenway")
    reason = page.locator("#reasons tbody tr", has_text="Elevation")
    expect(reason).to_contain_text("stop")
    expect(reason).to_contain_text("at most 300 m")
    expect(reason).to_contain_text("Planning default, not law.")
    assert faults(page) == []

    page.get_by_role("textbox", name="Reason").fill("Trial row, looked at for five years")
    page.get_by_role("button", name="Decide").click()
    expect(page.locator(".lead")).to_contain_text("allowed despite a stop")
    expect(page.get_by_text("Trial row, looked at for five years")).to_be_visible()

    page.get_by_role("link", name="Withdraw…").click()
    page.get_by_label("Reason").fill("The trial was given up")
    page.get_by_role("button", name="Withdraw the decision").click()
    expect(page.get_by_text("Withdrawn: The trial was given up")).to_be_visible()
    expect(page.locator(".lead")).not_to_contain_text("allowed despite a stop")
    assert complaints.take() == []


@pytest.mark.parametrize(
    ("species", "lot", "site", "rule", "found"),
    [
        ("quercus-suber", "QUUE-4223-R", "S-013", "River basin", "Guadorva"),
        ("fraxinus-angustifolia", "FRAN-4224-K", "S-001", "Effective mothers", "at least 15"),
    ],
)
def test_a_refusal_names_its_rule(
    demo_season: Served, visit: Callable[..., Page], species: str, lot: str, site: str, rule: str, found: str
) -> None:
    page = visit(demo_season)
    page.goto(f"/origin?species={species}")

    page.locator("#verdicts tbody tr", has_text=lot).get_by_role("link", name=site).click()

    first = page.locator("#reasons tbody tr").first
    expect(first).to_contain_text(rule)
    expect(first).to_contain_text("stop")
    expect(first).to_contain_text(found)


def test_sites_show_how_they_mix_their_sources(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season)
    told = {
        "S-005": "Climate-adjusted 50 % local, 30 % near, 20 % for the climate to come",
        "S-009": "Composite 60 % local, 30 % near, 10 % far",
        "S-011": "Strictly local 100 % local",
    }
    for code, terms in told.items():
        page.goto(f"/sites?q={code}")
        page.get_by_role("link", name=code).click()
        card = page.locator(".card", has=page.get_by_role("heading", name="Origin", exact=True))
        for part in terms.replace(" 5", "|5", 1).replace(" 6", "|6", 1).replace(" 1", "|1", 1).split("|"):
            expect(card).to_contain_text(part)


def test_the_wild_pears_are_let_through_by_a_person(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season)
    page.goto("/origin?species=pyrus-bourgaeana")

    cell = page.locator("#verdicts tbody tr", has_text="PYUR-3223-E").get_by_role("link", name="S-005")
    expect(cell).to_contain_text("allowed despite a stop")
    cell.click()
    expect(page.get_by_text("The only wild pears of these hills")).to_be_visible()


def test_rules_change_on_a_phone(own_demo: Served, visit: Callable[..., Page], phone: dict[str, object]) -> None:
    page = visit(own_demo, **phone)
    page.goto("/origin/rules")
    page.get_by_role("link", name="General rules").click()
    page.get_by_role("link", name="New version").click()
    elevation = page.get_by_role("group", name="Elevation")

    elevation.get_by_label("Caution beyond").fill("400")
    page.get_by_label("Reason").fill("Wider bands in the hills")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#errors")).to_contain_text("Write at most 300 for caution, or raise the stop.")
    assert faults(page) == []
    elevation.get_by_label("Stop beyond").fill("500")
    page.get_by_role("button", name="Save").click()

    expect(page.get_by_text("Elevation, stop beyond: 300 m → 500 m")).to_be_visible()
    assert faults(page) == []
