"""From the posts of a plot to the replacements of next season, with one hand on a phone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from nursery.models import Planting, Site, Survey, SurveyCount, SurveyPlot, Target, Task
from nursery.planning.work.words import Job, TaskStatus
from tests.browser.looking import faults
from tests.browser.serving import Served
from tests.browser.steps import cells, fill, follow, go, leave_by, press, told
from tests.conftest import TODAY

pytestmark = pytest.mark.browser

#: Fingers need this much (WCAG 2.2, 2.5.5 at level AAA); wet ones more.
FINGER = 44
#: Where oleanders and willows were planted last winter, and nobody counted yet.
SITE = "S-006"


@pytest.fixture
def planted(own_demo: Served) -> list[str]:
    """Species planted at the site in the season that is over."""
    with own_demo.session() as session:
        rows = session.scalars(select(Planting).join(Site).where(Site.code == SITE, Planting.planted_on < TODAY))
        return sorted({row.lot.species.scientific_name for row in rows})


def test_a_plot_is_marked_and_counted_at_arms_length(
    own_demo: Served, planted: list[str], visit: Callable[..., Page], phone: dict[str, object]
) -> None:
    first, second = planted[:2]
    page = visit(own_demo, f"/plots/new?site={SITE}", **phone)
    fill(page, name="Meander", area_m2="60")
    press(page, "Save")
    follow(page, "Count it now")

    block = page.get_by_role("group", name=first)
    alive = block.get_by_label("Alive", exact=True)
    for control in (block.get_by_label("Planted first"), alive, page.get_by_role("button", name="Save")):
        box = control.bounding_box()
        assert box
        assert min(box["width"], box["height"]) >= FINGER
    assert alive.get_attribute("inputmode") == "numeric"
    assert faults(page) == []

    block.get_by_label("Planted first").fill("40")
    alive.fill("44")
    block.get_by_text("Why plants died").click()
    block.get_by_label("Flood, washed out").fill("25")
    other = page.get_by_role("group", name=second)
    other.get_by_label("Planted first").fill("32")
    other.get_by_label("Alive", exact=True).fill("30")
    press(page, "Save")

    # What cannot be is told and leads to its field; what was typed is all there.
    refusal = page.get_by_role("link", name="44 alive of 40 planted cannot be")
    expect(refusal).to_be_visible()
    refusal.click()
    expect(alive).to_be_focused()
    expect(block.get_by_label("Flood, washed out")).to_have_value("25")
    expect(other.get_by_label("Alive", exact=True)).to_have_value("30")
    assert faults(page) == []
    alive.fill("4")
    press(page, "Save")

    told(page, "Saved: 2 species counted in plot Meander.")
    rows = {row[0]: row for row in cells(page.get_by_role("table", name="What was counted"))}
    assert rows[first][1:5] == ["40", "4", "10 % 4 % to 23 %", "Flood, washed out 25, not seen 11"]
    assert rows[second][3] == "94 % 80 % to 98 %"
    with own_demo.session() as session:
        plot = session.scalars(select(SurveyPlot).where(SurveyPlot.name == "Meander")).one()
        task = session.scalars(
            select(Task).where(
                Task.job == Job.SURVEY, Task.site_id == plot.site_id, Task.status == TaskStatus.DONE
            )
        ).one()
        assert task.done_on == TODAY


def test_what_died_becomes_targets_of_next_season_with_one_click(
    own_demo: Served, visit: Callable[..., Page]
) -> None:
    page = visit(own_demo)
    go(page, "Plant", "Survival surveys")
    follow(page, "Survival by species")
    leave_by(page.get_by_role("row", name="Pistacia lentiscus").get_by_role("link", name="Sovelha hillside"))

    expect(page.get_by_role("img", name="A line of survival over the years")).to_be_visible()
    rows = {row[0]: row for row in cells(page.get_by_role("table", name="Survival by species and year"))}
    assert rows["Pistacia lentiscus"][2:5] == ["18 % 9 % to 33 %", "7", "38 2 plots"]
    causes = {row[0]: row[2] for row in cells(page.get_by_role("table", name="Why plants died"))}
    assert causes["Pistacia lentiscus"].startswith("Drought 20 (65 %)")
    proposed = page.get_by_role("table", name="Replacement plants for the whole site")
    expect(proposed.get_by_role("row", name="Pistacia lentiscus")).to_contain_text("raises the open target by")
    expect(proposed.get_by_role("row", name="Phillyrea angustifolia")).to_contain_text("lives as it should")
    assert faults(page) == []

    leave_by(page.get_by_role("button", name="Ask for"))
    told(page, "asks for the replacements now")
    expect(page.get_by_role("button", name="Ask for")).to_have_count(0)
    follow(page, "Targets with replacements here")

    expect(page.get_by_role("row", name="Pistacia lentiscus")).to_contain_text("2027/28")
    with own_demo.session() as session:
        target = session.scalars(select(Target).where(Target.replacements > 0)).one()
        handed = session.scalars(select(SurveyCount.replaced).where(SurveyCount.target_id == target.id)).all()
        assert sum(filter(None, handed)) == target.replacements
        survey_id = session.scalars(
            select(Survey.id).join(SurveyCount).where(SurveyCount.target_id == target.id).order_by(Survey.id)
        ).first()
        asked = target.replacements

    # A survey that is withdrawn takes its share back.
    page.goto(f"/surveys/{survey_id}/withdraw")
    page.get_by_label("Why it should not stand").fill("Another plot was meant")
    press(page, "Withdraw the survey")
    told(page, "The survey was withdrawn.")
    with own_demo.session() as session:
        left = session.scalars(select(Target).where(Target.replacements > 0)).one()
        assert 0 < left.replacements < asked
        assert left.plants == (target.plants or 0) - asked + left.replacements
