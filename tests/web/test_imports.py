"""The import pages: choose, look, say yes; nothing a file holds gives an error page."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select
from sqlalchemy.orm import Session
from werkzeug.test import TestResponse

from nursery.models import Population, Zone
from nursery.models.zones import ZoneKind
from nursery.services.importing import KINDS

HEAD = "code;name;species;latitude;longitude;colour\n"
GOOD = HEAD + "P-8;Serra;sobreiro;38,3;-8,3;red\nP-9;Vale;Quercus ilex;38,4;-8,4;blue\n"
BAD = GOOD + "P-10;Foz;Quercus subber;38,4;-8,4;\n"


@pytest.fixture
def populations(app: Flask) -> Iterator[Any]:
    """Names of the populations on record, by another session than the page's."""

    def names() -> list[str]:
        with Session(app.extensions["nursery_sessions"].kw["bind"]) as session:
            return list(session.scalars(select(Population.name).order_by(Population.id)))

    return names


def send(client: Any, content: str | bytes, kind: str = "populations", name: str = "trees.csv") -> TestResponse:
    data = content.encode() if isinstance(content, str) else content
    answer: TestResponse = client.submit("/imports", {"kind": kind, "file": (io.BytesIO(data), name)})
    answer.request.environ["wsgi.input"].close()  # the test client leaves its own large files open
    return answer


def look(client: Any, content: str | bytes, kind: str = "populations") -> tuple[str, str]:
    """Address and page of the preview."""
    answer = send(client, content, kind)
    assert (answer.status_code, answer.location[:9]) == (303, "/imports/")
    page = client.get(answer.location)
    assert page.status_code == 200
    return answer.location, unescape(page.get_data(as_text=True))


def say_yes(client: Any, address: str, page: str) -> TestResponse:
    data = {
        name: re.findall(rf'name="{name}" value="([^"]*)"', page) for name in ("csrf_token", "seen", "m", "map")
    }
    return client.post(address, data=data)


def figures(page: str) -> dict[str, str]:
    found = re.findall(r'figure-value">(\S+?)</div>\s*<p class="figure-label">(\w+)', page)
    return {label: value for value, label in found}


def test_the_first_page_explains_and_offers_templates(client: Any) -> None:
    page = client.get("/imports").get_data(as_text=True)

    assert re.findall(r'href="(/imports/templates/[^"]+)"', page) == [
        f"/imports/templates/{kind}.{form}" for kind in KINDS for form in ("xlsx", "csv")
    ]
    assert 'enctype="multipart/form-data"' in page


def test_a_file_is_looked_at_confirmed_and_counted(client: Any, populations: Any) -> None:
    address, page = look(client, GOOD)
    before = populations()

    answer = say_yes(client, address, page)
    done = client.get(answer.location).get_data(as_text=True)

    assert figures(page) == {"new": "2", "changed": "0", "unchanged": "0", "refused": "0"}
    assert before == []
    assert (answer.status_code, answer.location) == (303, f"{address}/done")
    assert figures(done) == {"new": "2", "changed": "0", "unchanged": "0"}
    assert 'href="/populations"' in done
    assert populations() == ["Serra", "Vale"]


def test_the_preview_says_how_the_file_was_read(client: Any) -> None:
    _address, page = look(client, GOOD.encode("cp1252"))

    for told in ("semicolon", "UTF-8", "Columns that are left out: colour", "sobreiro →</span> Quercus suber"):
        assert told in page


def test_the_same_file_again_has_nothing_to_confirm(client: Any, populations: Any) -> None:
    address, page = look(client, GOOD)
    say_yes(client, address, page)

    _again, page = look(client, GOOD)

    assert figures(page) == {"new": "0", "changed": "0", "unchanged": "2", "refused": "0"}
    assert "Everything in this file is on record already. There is nothing to write." in page
    assert 'name="seen"' not in page
    assert populations() == ["Serra", "Vale"]


def test_a_refused_row_is_listed_and_nothing_can_be_written(client: Any, populations: Any) -> None:
    address, page = look(client, BAD)
    token = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)
    assert token

    answer = client.post(address, data={"csrf_token": token[1], "seen": "x"})
    told = client.get(answer.location).get_data(as_text=True)

    row = re.search(
        r'<tr><th scope="row" class="num">4</th><td>species</td><td>(.*?)</td><td>Quercus subber</td>', page
    )
    assert row
    assert row[1].startswith("“Quercus subber” is no species of the catalogue. Did you mean ")
    assert 'name="seen"' not in page
    assert (answer.status_code, answer.location.split("?")[0]) == (303, address)
    assert "1 row is refused, so nothing was written." in told
    assert populations() == []


def test_all_refused_rows_come_as_a_file(client: Any) -> None:
    _address, page = look(client, BAD)
    link = re.search(r'href="(/imports/\d+/refused\.csv[^"]*)"', page)
    assert link

    answer = client.get(link[1])
    header, row = answer.get_data().decode("utf-8-sig").splitlines()

    assert answer.headers["Content-Disposition"] == 'attachment; filename="refused-rows.csv"'
    assert header == "Row,Column,Value,Reason"
    assert row.startswith("4,species,Quercus subber,")


def test_the_page_lists_the_first_five_hundred_of_many_problems(client: Any) -> None:
    rows = "".join(f"P-{n};Name;oak;38,3;-8,3;\n" for n in range(700))

    _address, page = look(client, HEAD + rows)

    assert "The first 500 of 700 problems are shown; the file has all." in page
    assert page.count("<td>oak</td>") == 500


def test_a_person_may_change_which_column_is_which(client: Any, populations: Any) -> None:
    address, page = look(client, GOOD)
    fields = ["code", "", "species", "latitude", "longitude", "name"]

    page = unescape(client.get(address, query_string={"m": fields}).get_data(as_text=True))
    answer = say_yes(client, address, page)

    assert figures(page)["new"] == "2"
    assert answer.location == f"{address}/done"
    assert populations() == ["red", "blue"]


def test_records_that_change_after_the_preview_stop_the_writing(client: Any, populations: Any) -> None:
    address, page = look(client, GOOD)
    other, other_page = look(client, GOOD.replace("Serra", "Monte"))
    say_yes(client, other, other_page)

    answer = say_yes(client, address, page)

    assert (answer.status_code, answer.location.split("?")[0]) == (303, address)
    assert "The records changed since you looked at the preview." in client.get(answer.location).get_data(
        as_text=True
    )
    assert populations() == ["Monte", "Vale"]


def test_a_double_click_ends_on_the_page_of_the_first(client: Any, populations: Any) -> None:
    address, page = look(client, GOOD)

    answers = [say_yes(client, address, page) for _click in range(2)]

    assert [answer.location for answer in answers] == [f"{address}/done"] * 2
    assert figures(client.get(f"{address}/done").get_data(as_text=True))["new"] == "2"
    assert len(populations()) == 2


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "The file is empty"),
        (b"code;name\n", "The file has headings but no rows."),
        (bytes(range(256)) * 10, "This file is not a table that can be read."),
        (b"PK\x03\x04" + bytes(500), "This workbook is damaged or was cut short"),
        (b"\xd0\xcf\x11\xe0" + bytes(500), "This is an old workbook (.xls)"),
        (b'code;name\n1;"open\n', "a quotation mark is not closed"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_on_the_form(client: Any, content: bytes, told: str) -> None:
    answer = send(client, content)
    page = answer.get_data(as_text=True)

    assert answer.status_code == 422
    assert told in page
    assert re.search(r'<input[^>]*value="populations"[^>]*checked|checked[^>]*value="populations"', page)


def test_an_error_far_down_in_the_file_is_told_on_the_form(client: Any) -> None:
    rows = "".join(f"P-{n};Name;sobreiro;38,3;-8,3;\n" for n in range(300))

    answer = client.get(send(client, HEAD + rows + 'P-x;"open').location)

    assert answer.status_code == 422
    assert "Row 302 cannot be read: a quotation mark is not closed" in answer.get_data(as_text=True)


def test_a_form_without_kind_or_file_says_what_is_missing(client: Any) -> None:
    answer = client.submit("/imports", {"kind": "gardens"})
    page = answer.get_data(as_text=True)

    assert answer.status_code == 422
    assert "Choose what the file holds." in page
    assert "Choose a file." in page


def test_a_file_larger_than_the_server_takes_gets_its_own_page(app: Flask, client: Any) -> None:
    app.config["MAX_CONTENT_LENGTH"] = 10_000

    answer = send(client, b"x" * 20_000)

    assert answer.status_code == 413
    assert "What you sent is too large" in answer.get_data(as_text=True)


@pytest.mark.parametrize("path", ["/imports/99", "/imports/99/done", "/imports/99/refused.csv"])
def test_a_file_that_is_not_kept_is_not_found(client: Any, path: str) -> None:
    assert client.get(path).status_code == 404


def test_a_page_of_results_before_any_leads_to_the_preview(client: Any) -> None:
    address, _page = look(client, GOOD)

    answer = client.get(f"{address}/done")

    assert (answer.status_code, answer.location) == (303, address)


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_templates_can_be_imported_as_they_are(client: Any, app: Flask, form: str) -> None:
    for kind in KINDS:
        template = client.get(f"/imports/templates/{kind}.{form}")
        address, page = look(client, template.get_data(), kind)

        assert template.headers["Content-Disposition"] == f'attachment; filename="{kind}-template.{form}"'
        assert figures(page) == {"new": "1", "changed": "0", "unchanged": "0", "refused": "0"}
        assert "Columns that are left out" not in page
        assert say_yes(client, address, page).location == f"{address}/done"


@pytest.mark.parametrize("language", ["pt", "es"])
def test_templates_of_another_language_are_understood_in_any(client: Any, language: str) -> None:
    client.set_cookie("language", language)
    template = client.get("/imports/templates/sites.xlsx").get_data()
    client.set_cookie("language", "en")

    _address, page = look(client, template, "sites")

    assert figures(page)["new"] == "1"


def test_a_file_too_large_for_memory_comes_by_way_of_the_disk(client: Any) -> None:
    rows = "".join(f"P-{n};{'Long name ' * 10};sobreiro;38,3;-8,3;\n" for n in range(6000))

    _address, page = look(client, HEAD + rows)

    assert figures(page) == {"new": "6,000", "changed": "0", "unchanged": "0", "refused": "0"}


def test_hostile_text_is_shown_as_text(client: Any) -> None:
    answer = send(client, HEAD.replace("colour", "<script>") + "<b>;<i>;<img src=x>;x;y;z\n")

    page = client.get(answer.location).get_data(as_text=True)

    assert "&lt;script&gt;" in page
    assert "<img src=x>" not in page


def test_codes_that_the_map_knows_are_offered_and_filled_in_when_asked_for(
    client: Any, session: Session, app: Flask
) -> None:
    ring = [[-9.0, 38.0], [-8.0, 38.0], [-8.0, 39.0], [-9.0, 39.0], [-9.0, 38.0]]
    session.add(Zone(kind=ZoneKind.REGION, code="AV-1", geometry={"type": "Polygon", "coordinates": [ring]}))
    session.commit()
    address, page = look(client, GOOD)
    assert "The file leaves 2 codes empty that the map knows." in page
    assert 'name="map"' not in page

    (filled,) = re.findall(r'href="([^"]*map=1[^"]*)"', page)
    page = unescape(client.get(filled).get_data(as_text=True))
    assert "2 empty codes are filled in from the map, as below." in page
    assert say_yes(client, address, page).status_code == 303

    with Session(app.extensions["nursery_sessions"].kw["bind"]) as other:
        assert list(other.scalars(select(Population.region_code))) == ["AV-1", "AV-1"]
