"""How the plan shares lots out, and why, as a person meets it in the demo season."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.looking import Complaints, faults
from tests.browser.serving import Served
from tests.browser.steps import go

pytestmark = pytest.mark.browser


def open_line(page: Page, species: str, site: str) -> None:
    """From the season page over the plan's lines to one of them."""
    page.goto("/")
    go(page, "Plan", "Plan lines")
    page.get_by_label("Species, site or lot").fill(species)
    page.get_by_role("button", name="Show", exact=True).click()
    page.locator("#plan-lines tbody tr", has_text=site).first.get_by_role("link").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(site)


def card(page: Page, name: str) -> Locator:
    return page.locator(".card", has=page.get_by_role("heading", name=name, exact=True))


@pytest.mark.parametrize(
    ("species", "site", "strategy", "sources", "crosses"),
    [
        ("Quercus suber", "Corvenda burnt slope", "Composite", ["local", "near", "far"], True),
        (
            "Quercus rotundifolia", "Sovelha hillside", "Climate-adjusted",
            ["local", "near", "for the climate to come"], True,
        ),
        ("Alnus glutinosa", "Morzelo springs", "Strictly local", ["local"], False),
    ],
)  # fmt: skip
def test_the_mix_stands_beside_what_the_strategy_asks(
    demo_season: Served, visit: Callable[..., Page], species: str, site: str, strategy: str, sources: list[str],
    crosses: bool,
) -> None:  # fmt: skip
    page = visit(demo_season)
    open_line(page, species, site)

    mix = card(page, "Mix")
    expect(mix).to_contain_text(f"Strategy of the site: {strategy}")
    assert mix.locator("#mix tbody th").all_inner_texts() == sources
    side_by_side = mix.get_by_text("plant the lots side by side, each labelled, never as mixed seed")
    expect(side_by_side).to_have_count(1 if crosses else 0)
    assert faults(page) == []


def test_an_overridden_lot_is_drawn_and_says_who_let_it_through(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    open_line(page, "Pyrus bourgaeana", "Sovelha hillside")

    expect(page.locator("#draws tbody tr")).to_contain_text("allowed despite a stop")
    expect(page.get_by_text("Allowed despite a stop by")).to_contain_text("The only wild pears of these hills")
    page.get_by_role("link", name="PYUR-3223-E here").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("PYUR-3223-E at Sovelha hillside")


@pytest.mark.parametrize("on_phone", [False, True])
def test_a_shortfall_names_the_seed_that_would_fill_it_and_trying_it_does(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object], on_phone: bool
) -> None:
    page = visit(demo_season, **(phone if on_phone else {}))
    complaints = Complaints(page)
    page.goto("/plans/current")
    page.get_by_role("link", name="Salix salviifolia for Undarva meander").first.click()

    held = card(page, "What holds it")
    expect(held).to_contain_text("No lot of this species from region GV-B is in hand;")
    expect(held).to_contain_text("cuttings from population Undarva meadows, willow scrub on the bars")
    assert faults(page) == []
    held.get_by_role("link", name="Try it").click()

    expect(page.get_by_text("With this seed the line lacks nothing.")).to_be_visible()
    status = page.locator("#trial tbody tr", has_text="Status")
    assert [text.strip() for text in status.locator("td").all_inner_texts()] == ["Seed to collect", "In order"]
    assert faults(page) == []
    page.get_by_role("link", name="Back to the line").click()
    expect(page.locator(".lead")).to_contain_text("Seed to collect")
    assert complaints.take() == []


def test_the_plan_says_how_the_sharing_went_and_which_decisions_it_follows(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    page.goto("/plans/current")

    expect(page.get_by_text("It is proved that no better sharing exists.")).to_be_visible()
    row = page.locator("#plan-decisions tbody tr")
    expect(row).to_contain_text("PYUR-3223-E")
    expect(row).to_contain_text("The only wild pears of these hills")
    assert faults(page) == []


def test_a_composite_line_with_seed_of_each_source_keeps_all_its_shares(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    open_line(page, "Quercus faginea", "Corvenda burnt slope")

    mix = card(page, "Mix")
    assert mix.locator("#mix tbody th").all_inner_texts() == ["local", "near", "far"]
    expect(mix.locator("#mix tbody .status")).to_have_count(0)
    expect(page.get_by_role("heading", name="Shares of the strategy")).to_have_count(0)


@pytest.mark.parametrize("on_phone", [False, True])
def test_a_missed_share_says_what_to_collect_and_leads_to_its_field_sheet(
    demo_season: Served, visit: Callable[..., Page], phone: dict[str, object], on_phone: bool
) -> None:
    page = visit(demo_season, **(phone if on_phone else {}))
    complaints = Complaints(page)
    page.goto("/plans/current?q=Arbutus+unedo")
    page.locator("#plan-lines tbody tr", has_text="Corvenda burnt slope").get_by_role("link").first.click()

    missed = "Far sources give 0 % of the plants; the site's strategy asks for 10 %."
    expect(page.get_by_text(missed)).to_be_visible()
    expect(page.get_by_text("Not needed for the number of plants: the seed in hand suffices")).to_be_visible()
    expect(page.get_by_text("from population Ozelta ravine, ravine scrub (far)")).to_be_visible()
    assert faults(page) == []
    page.locator("#collecting-shares tbody tr", has_text="far from GV-A").get_by_role("link").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("Collect Arbutus unedo far from GV-A, Guadorva")
    expect(page.get_by_text("Keep it apart: it is planted side by side with the others")).to_be_visible()
    expect(page.get_by_role("table", name="Where to go for")).to_contain_text("P-054")
    assert faults(page) == []
    assert complaints.take() == []


def test_needs_are_narrowed_to_a_source_and_to_what_only_shares_lack(
    demo_season: Served, visit: Callable[..., Page]
) -> None:
    page = visit(demo_season)
    page.goto("/needs")
    page.get_by_label("Source", exact=True).select_option(label="Far")
    page.get_by_label("What for", exact=True).select_option(label="For the shares only")
    page.get_by_role("button", name="Show", exact=True).click()

    rows = page.locator("#needs tbody tr")
    expect(rows.first).to_contain_text("far from GV-A, Guadorva")
    assert all("for the shares only" in text for text in rows.all_inner_texts())
    assert faults(page) == []
