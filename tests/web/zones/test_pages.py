"""Zones by the pages: brought in, refused with the place of the fault, taken over, archived."""

from __future__ import annotations

import io
import re
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Population, Site
from nursery.models.zones import Zone, ZoneKind
from tests.services.zones.conftest import collection, feature, square
from tests.web.conftest import Browser

FILE = collection(
    feature(square(-8, 40), code="GV-A", name="Upper valley"),
    feature(square(-7, 40), code="GV-B", name="Lower valley"),
)
SAID = {"kind": "region", "source": "Decree of 2008", "jurisdiction": "Example", "code": "code", "name": "name"}


def bring(client: Browser, content: bytes = FILE) -> str:
    answer = client.submit("/zones/new", {"file": (io.BytesIO(content), "zones.geojson")})
    assert answer.status_code == 303
    return answer.location


def write(client: Browser, at: str, **said: str) -> Any:
    asked = {**SAID, **said}
    html = client.get(at, query_string=asked).get_data(as_text=True)
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', html))
    return client.post(at, data={**asked, **hidden})


def text(client: Browser, path: str) -> str:
    html = client.get(path).get_data(as_text=True)
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_a_file_is_looked_at_and_put_on_the_map(client: Browser, session: Session, maker: Any) -> None:
    maker.population(latitude=40.5, longitude=-7.5)
    session.commit()
    at = bring(client)

    look = text(client, at)
    assert "Say below what the zones are and where they were published" in look
    assert "1 GV-A Upper valley – – 5" in look
    answer = write(client, at)

    assert (answer.status_code, answer.location) == (303, "/zones")
    assert "2 zones are on the map." in text(client, "/zones")
    zones = session.scalars(select(Zone).order_by(Zone.code)).all()
    assert [(zone.code, zone.name, zone.kind, zone.source) for zone in zones] == [
        ("GV-A", "Upper valley", ZoneKind.REGION, "Decree of 2008"),
        ("GV-B", "Lower valley", ZoneKind.REGION, "Decree of 2008"),
    ]
    assert "P-001" in text(client, f"/zones/{zones[0].id}")


def test_pasted_text_is_taken_too(client: Browser) -> None:
    answer = client.submit("/zones/new", {"text": FILE.decode()})

    assert answer.status_code == 303


def test_neither_file_nor_text_is_refused(client: Browser) -> None:
    answer = client.submit("/zones/new", {"text": " "})

    assert answer.status_code == 422
    assert "Choose a file, or paste its text." in answer.get_data(as_text=True)


def test_a_faulty_file_cannot_be_written(client: Browser, session: Session) -> None:
    bow_tie = [[-8.0, 40.0], [-7.0, 41.0], [-7.0, 40.0], [-8.0, 41.0], [-8.0, 40.0]]
    at = bring(client, collection(feature(bow_tie, code="GV-A")))

    look = text(client, at)
    assert "1 feature cannot be taken, so nothing can be written." in look
    assert "1 GV-A outline The outline crosses itself at [-7.5, 40.5]" in look
    html = client.get("/zones/new").get_data(as_text=True)
    token = re.search(r'name="csrf_token" value="([^"]+)"', html)
    assert token
    answer = client.post(at, data={**SAID, "csrf_token": token[1], "seen": ""})

    assert answer.status_code == 303
    assert "The file has faults, so nothing was written." in text(client, answer.location)
    assert session.scalars(select(Zone)).all() == []


def test_a_basin_for_one_species_is_refused(client: Browser) -> None:
    at = bring(client)

    look = client.get(at, query_string={**SAID, "kind": "basin", "species_id": "Quercus suber"})

    assert "A river basin holds for every species. Leave the species out." in look.get_data(as_text=True)


def test_the_map_is_told_on_pages_and_lists_and_taken_over(client: Browser, session: Session, maker: Any) -> None:
    maker.site(latitude=40.5, longitude=-7.5, region_code="GV-M", code="S-1")
    maker.population(latitude=40.5, longitude=-7.5, region_code="GV-A", code="P-1")
    session.commit()
    site = session.scalars(select(Site)).one()
    stand = session.scalars(select(Population)).one()
    assert "Not verified on a map. No regions of provenance are on the map yet." in text(
        client, f"/sites/{site.id}"
    )
    write(client, bring(client))

    assert "The map says GV-A, the record says GV-M." in text(client, f"/sites/{site.id}")
    assert "GV-M map: GV-A" in text(client, "/sites")
    assert 'title="Verified on the map."' in client.get("/populations").get_data(as_text=True)
    assert "Verified on the map." in text(client, f"/populations/{stand.id}")
    answer = client.submit(f"/zones/take-over/sites/{site.id}/region", {"code": "GV-A"}, page=f"/sites/{site.id}")

    assert (answer.status_code, answer.location) == (303, f"/sites/{site.id}")
    page = text(client, answer.location)
    assert "The record now says GV-A, as the map does." in page
    assert "Region of provenance: GV-M → GV-A" in page


def test_a_code_that_the_map_does_not_say_is_not_taken_over(client: Browser, session: Session, maker: Any) -> None:
    site = maker.site(latitude=40.5, longitude=-7.5, region_code="GV-M")
    session.commit()

    answer = client.submit(f"/zones/take-over/sites/{site.id}/region", {"code": "GV-Z"}, page=f"/sites/{site.id}")

    assert "The map no longer says GV-Z here." in text(client, answer.location)


def test_a_new_site_gets_its_region_from_the_map_and_says_so(client: Browser) -> None:
    write(client, bring(client))
    values = {"name": "Mill race", "latitude": "40.5", "longitude": "-7.5", "region_code": "", "basin": "Guadorva"}

    answer = client.submit("/sites/new", {**values, "window_opens": "1 Nov", "window_closes": "28 Feb"})

    assert answer.status_code == 303
    page = text(client, answer.location)
    assert "Region of provenance: GV-A was filled in from the map." in page


def test_a_zone_is_changed_archived_and_brought_back(client: Browser, session: Session) -> None:
    write(client, bring(client))
    zone = session.scalars(select(Zone).where(Zone.code == "GV-A")).one()
    at = f"/zones/{zone.id}"

    client.submit(
        f"{at}/edit", {"code": "GV-A", "name": "Upper", "lowest_m": "300", "source": "Decree", "version": "1"}
    )
    assert "GV-A · Upper" in text(client, at)
    client.submit(f"{at}/archive", page=at)
    assert "This record is archived" in text(client, at)
    client.submit(f"{at}/restore", page=at)
    assert "is back in the lists." in text(client, at)


def test_a_file_that_is_not_there_is_not_found(client: Browser) -> None:
    assert client.get("/zones/files/999999").status_code == 404
