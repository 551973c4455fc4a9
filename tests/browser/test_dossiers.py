"""From a planting site to its dossier, whose pages name the stands and their mothers; and to data for others."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Locator, Page, expect
from sqlalchemy import select

from nursery.models import Lot, Planting, Site
from nursery.services.ledger.shares import lot_origins
from tests.browser.looking import NARROW, WIDE, Complaints, faults
from tests.browser.serving import Served
from tests.browser.steps import follow, leave_by

pytestmark = pytest.mark.browser


def downloaded(page: Page, button: Locator) -> tuple[str, bytes]:
    with page.expect_download() as waiting:
        button.click()
    return waiting.value.suggested_filename, Path(waiting.value.path()).read_bytes()


def behind(served: Served) -> tuple[Site, list[tuple[str, int]]]:
    """The first planted site, and the stand and mother plants of each collected lot behind what stands there."""
    with served.session() as session:
        planted = select(Planting.site_id).where(Planting.archived_at.is_(None))
        site = session.scalars(select(Site).where(Site.id.in_(planted)).order_by(Site.code)).first()
        assert site is not None
        used = select(Planting.lot_id).where(Planting.site_id == site.id, Planting.archived_at.is_(None))
        lots = session.scalars(select(Lot).where(Lot.id.in_(used))).all()
        found = {one.lot for origins in lot_origins(session, lots).values() for one in origins}
        return site, [(lot.population.code, lot.mother_plants or 0) for lot in found]


@pytest.mark.parametrize("viewport", [WIDE, NARROW], ids=["wide", "phone"])
def test_a_site_leads_to_a_dossier_that_names_its_mother_stands(
    demo_season: Served, visit: Callable[..., Page], viewport: dict[str, int]
) -> None:
    site, stands = behind(demo_season)
    page = visit(demo_season, f"/sites/{site.id}", viewport=viewport)
    complaints = Complaints(page)
    follow(page, "Dossier")

    expect(page.get_by_role("heading", level=1)).to_have_text(f"Dossier of site {site.code}, {site.name}")
    expect(page.get_by_role("heading", name="What is missing")).to_be_visible()
    assert faults(page) == []

    name, pdf = downloaded(page, page.get_by_role("link", name="Dossier as PDF"))
    assert name == f"Dossier {site.code} 2026-11-25.pdf"
    text = " ".join(" ".join(part.get_textpage().get_text_range().split()) for part in pypdfium2.PdfDocument(pdf))
    assert stands
    assert [stand for stand, _mothers in stands if stand not in text] == []
    sampled = text.split("Mother plants", 1)[1].split("sampled", 1)[0]
    assert int(sampled.replace(",", "")) == sum(mothers for _stand, mothers in stands)

    page.get_by_label("Leave out the names of people").check()
    page.get_by_label("Licence").select_option("CC-BY-4.0")
    name, data = downloaded(page, page.get_by_role("button", name="Data package"))
    assert name == f"Dossier {site.code} 2026-11-25.zip"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        described = archive.read("datapackage.json").decode()
        assert "data/lots.csv" in archive.namelist()
    assert "CC-BY-4.0" in described
    assert complaints.take() == []


def test_data_for_others_are_explained_and_taken(demo_season: Served, visit: Callable[..., Page]) -> None:
    page = visit(demo_season, "/dossiers")
    leave_by(page.get_by_role("link", name="Data for others"))
    assert faults(page) == []

    page.get_by_label("Institute code, if you have one").fill("PRT999")
    name, passport = downloaded(page, page.get_by_role("button", name="Passport data, CSV"))
    assert name.endswith(".csv")
    assert passport.decode().splitlines()[1].startswith(",PRT999,")
    name, archive = downloaded(page, page.get_by_role("button", name="Darwin Core Archive"))
    with zipfile.ZipFile(io.BytesIO(archive)) as files:
        assert files.namelist() == ["meta.xml", "eml.xml", "event.csv", "occurrence.csv"]
