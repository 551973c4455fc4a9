"""The pages of dossiers and of data for others."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Lot, Planting, Population, Site
from tests.databases import Kept


@pytest.fixture
def database(demo_file: Kept, tmp_path: Path) -> str:
    return demo_file.copy(tmp_path)


@pytest.fixture
def planted(session: Session) -> Site:
    """A site of the demo where something stands."""
    return session.scalars(select(Site).where(Site.id.in_(select(Planting.site_id))).order_by(Site.code)).first()  # type: ignore[return-value]


def test_sites_and_lots_are_found_by_a_part_of_their_names(client: Any, planted: Site) -> None:
    html = client.get(f"/dossiers?q={planted.name[:6]}").text

    assert f'href="/dossiers/sites/{planted.id}"' in html
    assert "Nothing is called “zzzz”" in client.get("/dossiers?q=zzzz").text


def test_the_record_of_a_site_and_of_a_lot_lead_to_their_dossiers(
    client: Any, planted: Site, session: Session
) -> None:
    lot = session.scalars(select(Lot).order_by(Lot.id)).first()
    assert lot is not None
    for page, link in (
        (f"/sites/{planted.id}", f"/dossiers/sites/{planted.id}"),
        (f"/trace/sites/{planted.id}", f"/dossiers/sites/{planted.id}"),
        (f"/lots/{lot.id}", f"/dossiers/lots/{lot.id}"),
        (f"/trace/lots/{lot.id}", f"/dossiers/lots/{lot.id}"),
    ):
        assert f'href="{link}"' in client.get(page).text, page


def test_what_is_missing_is_named_with_a_link_to_the_record(client: Any, planted: Site, session: Session) -> None:
    lot_id = session.scalars(select(Planting.lot_id).where(Planting.site_id == planted.id)).first()
    lot = session.get_one(Lot, lot_id)
    lot.permit_number, lot.mother_plants = "", None
    session.commit()
    html = client.get(f"/dossiers/sites/{planted.id}").text

    assert f'Mother plants were not counted of <a href="/lots/{lot.id}">{lot.code}</a>' in html


def test_the_pdf_and_the_package_are_downloads_named_after_the_site(client: Any, planted: Site) -> None:
    pdf = client.get(f"/dossiers/sites/{planted.id}.pdf")
    data = client.get(f"/dossiers/sites/{planted.id}.zip?licence=CC0-1.0&contributors=Xana")

    assert pdf.mimetype == "application/pdf"
    assert pdf.headers["Content-Disposition"] == f'attachment; filename="Dossier {planted.code} 2026-11-25.pdf"'
    text = pypdfium2.PdfDocument(pdf.data)[0].get_textpage().get_text_range()
    assert planted.name in text
    with zipfile.ZipFile(io.BytesIO(data.data)) as archive:
        told = json.loads(archive.read("datapackage.json"))
        assert archive.read("map.png").startswith(b"\x89PNG")
    assert [one["name"] for one in told["licenses"]] == ["CC0-1.0"]
    assert "Xana" in [one["title"] for one in told["contributors"]]


def test_what_is_typed_and_ticked_stays_and_a_wrong_licence_is_refused(client: Any, planted: Site) -> None:
    asked = (
        f"/dossiers/sites/{planted.id}?exact=1&anonymous=1&contributors=Xana%3B+Rui&licence=CC0-1.0&season=2025"
    )
    html = client.get(asked).text
    refused = client.get(f"/dossiers/sites/{planted.id}.zip?licence=none-such")

    assert 'name="exact" value="1" checked' in html
    assert 'name="anonymous" value="1" checked' in html
    assert 'value="Xana; Rui"' in html
    assert '<option value="CC0-1.0" selected>' in html
    assert refused.status_code == 422
    assert "none-such" in refused.text


@pytest.mark.parametrize("asked", ["season=nonsense", "season=99999999999999999999", "season=²", "exact=no"])
def test_an_odd_address_is_answered(client: Any, planted: Site, asked: str) -> None:
    assert client.get(f"/dossiers/sites/{planted.id}?{asked}").status_code == 200


def test_there_is_no_dossier_of_what_is_not_there(client: Any) -> None:
    for address in ("/dossiers/sites/99999", "/dossiers/lots/99999.pdf", "/exchange?site_id=99999"):
        assert client.get(address).status_code == 404, address


def test_data_for_others_say_what_goes_out(client: Any, planted: Site, session: Session) -> None:
    lot = session.scalars(select(Lot).where(Lot.archived_at.is_(None)).order_by(Lot.id)).first()
    assert lot is not None
    lot.population.is_sensitive = True
    session.commit()
    stands = session.scalars(
        select(func.count(Lot.population_id.distinct()))
        .join(Lot.population)
        .where(Lot.archived_at.is_(None), Population.is_sensitive)
    ).one()
    html = client.get("/exchange").text

    assert stands == 2, "the one of the demo, and this one"
    assert "2 sensitive stands are rounded to a tenth of a degree" in html
    assert f"behind the plants of {planted.code}" in client.get(f"/exchange?site_id={planted.id}").text


def test_data_for_others_are_downloads(client: Any, session: Session) -> None:
    for address, kind in (
        ("/exchange/passport.csv?institute=prt-99", "text/csv"),
        ("/exchange/darwin-core.zip?people=1&licence=CC0-1.0", "application/zip"),
        ("/exchange/places.geojson?year=2025", "application/geo+json"),
    ):
        answer = client.get(address)
        assert (answer.status_code, answer.mimetype) == (200, kind)
        assert answer.headers["Content-Disposition"].startswith("attachment")
    assert "PRT99," in client.get("/exchange/passport.csv?institute=prt-99").text.splitlines()[1]


def test_what_is_no_year_is_refused_and_not_taken_for_all_years(client: Any) -> None:
    for address in (
        "/exchange",
        "/exchange/passport.csv",
        "/exchange/darwin-core.zip",
        "/exchange/places.geojson",
    ):
        for year, told in (
            ("-5", "The year -5 is out of range."), ("0", "The year 0 is out of range."),
            ("1e99", "“1e99” is not a whole number."), ("😀", "“😀” is not a whole number."),
            ("99999999999999999999", "“99999999999999999999” is not a whole number."),
        ):  # fmt: skip
            answer = client.get(address, query_string={"year": year})
            assert (answer.status_code, answer.mimetype) == (422, "text/html"), (address, year)
            assert told in answer.text


def test_what_is_no_record_gives_no_rows(client: Any) -> None:
    for asked in ("site_id=x", "lot_id=-5", "site_id=1e99"):
        assert client.get(f"/exchange/passport.csv?{asked}").status_code == 404, asked


def test_a_wrong_year_leaves_the_page_with_what_was_typed_and_says_that_no_file_was_made(client: Any) -> None:
    answer = client.get("/exchange/darwin-core.zip?year=20x6&licence=CC-BY-4.0&people=1&institute=PRT001")

    text = answer.text
    assert answer.status_code == 422
    assert "No file was made. Please look at:" in text
    assert '<a href="#year">“20x6” is not a whole number.</a>' in text
    assert 'name="year" value="20x6"' in text
    assert 'aria-describedby="year-hint year-error" aria-invalid="true"' in text
    assert 'name="institute" value="PRT001"' in text
    assert 'name="people" value="1" checked' in text
    assert "Nothing was saved" not in text


def test_an_empty_year_asks_for_all_years(client: Any) -> None:
    assert client.get("/exchange/passport.csv?year=").text == client.get("/exchange/passport.csv").text
