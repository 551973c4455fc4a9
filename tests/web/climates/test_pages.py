"""Climate normals by the pages."""

from __future__ import annotations

import io
import re
from typing import Any

from sqlalchemy.orm import Session

from tests.web.conftest import Browser

HEAD = "place code,kind,period,mean_annual_c,annual_rain_mm\n"


def bring(client: Browser, table: str) -> str:
    answer = client.submit("/climates/new", {"file": (io.BytesIO((HEAD + table).encode()), "normals.csv")})
    assert answer.status_code == 303
    return answer.location


def text(client: Browser, path: str) -> str:
    html = client.get(path).get_data(as_text=True)
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_normals_are_brought_in_and_shown_at_the_place(client: Browser, session: Session, maker: Any) -> None:
    site = maker.site(code="S-1")
    session.commit()
    assert "No normals are on file." in text(client, f"/sites/{site.id}")
    at = bring(client, "S-1,site,present,16.1,480\nS-1,site,expected,18,410\n")
    html = client.get(at).get_data(as_text=True)
    form = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', html)
    names = {name for name, _value in form}

    answer = client.post(at, data={name: [value for key, value in form if key == name] for name in names})

    assert (answer.status_code, answer.location) == (303, "/climates")
    assert "Climate normals are on record: 2 new, 0 changed." in text(client, "/climates")
    assert "Mean annual temperature °C 16.1 18 +1.9" in text(client, f"/sites/{site.id}")
    assert "Annual rain mm 480 410 -70" in text(client, f"/sites/{site.id}").replace("−", "-")
    assert client.get("/climates/1").location == f"/sites/{site.id}#climate"


def test_faults_are_listed_and_the_button_is_not_there(client: Browser) -> None:
    page = text(client, bring(client, "S-9,site,present,16.1,480\n"))

    assert "2 place code S-9 There is no “S-9” on record." in page
    assert "Write 1 record" not in page


def test_no_file_is_refused(client: Browser) -> None:
    answer = client.submit("/climates/new")

    assert answer.status_code == 422
    assert "Choose a file." in answer.get_data(as_text=True)


def test_the_template_has_the_columns(client: Browser) -> None:
    lines = client.get("/climates/template.csv").get_data(as_text=True).splitlines()
    head = next(line for line in lines if line.startswith("Place code"))

    assert head == (
        "Place code,Kind,Period,Mean annual temperature (°C),Annual rain (mm),Summer rain (mm),"
        '"Coldest month, minimum (°C)",Source'
    )
