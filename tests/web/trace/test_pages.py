"""The pages of trace."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Plan
from nursery.models.places import IndigenousStatus
from nursery.services.ledger import mix_lots, split_lot
from tests.handmade_plans import a_draw, a_line, a_need, a_plan


@pytest.fixture
def lot(session: Session, maker: Any) -> Any:
    """A lot of region R1, drawn for Azenha."""
    plan = a_plan(session)
    stand = maker.population(
        name="Ladeira alta", region_code="R1", basin="Alva", elevation_m=300,
        indigenous_status=IndigenousStatus.AUTOCHTHONOUS,
    )  # fmt: skip
    trip = maker.trip(people="Ana Seabra, Rui Vale")
    lot = maker.lot(code="Q/7", population=stand, trip_id=trip.id, permit_number="COL-7/2026", mother_plants=31)
    site = maker.site(code="S-007", name="Azenha", region_code="R1", elevation_m=250)
    need = a_need(session, plan, maker.species())
    line = a_line(session, plan, maker.target(site=site), seeds_missing=5, need_id=need.id)
    a_draw(session, line, lot)
    maker.site(name="Brejo", region_code="R2")
    session.commit()
    return lot


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_an_empty_database_says_what_to_do_first(client: Any) -> None:
    assert "Nothing to trace yet" in client.get("/trace").text
    assert "Nothing is called “abc”" in client.get("/trace?q=abc").text


def test_a_lot_or_a_target_is_found_by_what_is_typed(client: Any, lot: Any) -> None:
    html = client.get("/trace?q=q/7").text
    assert (f"/trace/lots/{lot.id}" in html, "/trace/targets/1" in html) == (True, False)
    html = client.get("/trace?q=azenha").text
    assert (f"/trace/lots/{lot.id}" in html, "/trace/targets/1" in html) == (False, True)


def test_a_target_shows_its_chain_down_to_the_permit(client: Any, lot: Any) -> None:
    html = client.get("/trace/targets/1").text

    kinds = re.findall(r'<p class="chain-kind">(.*?)</p>', html)
    assert kinds == [
        "Planting site", "Plan line, season 2027/28", "Lot", "Collection trip", "Population", "Collecting permit",
    ]  # fmt: skip
    shown = text_of(html)
    for told in (
        "160 seeds", "1.6 g", "viability at sowing 80 %", "12 km from the site", "Ana Seabra, Rui Vale",
        "region R1", "40.10000, -7.50000", "origin: autochthonous", "COL-7/2026",
        "5 seeds or cuttings have no lot yet.",
    ):  # fmt: skip
        assert told in shown
    assert 'href="/needs/1"' in html
    assert "chain-broken" not in html


def test_what_is_missing_in_a_chain_shows(client: Any, session: Session, maker: Any, lot: Any) -> None:
    bare = maker.lot()
    target = maker.target()
    session.commit()

    shown = text_of(client.get(f"/trace/lots/{bare.id}").text)
    for told in ("No trip recorded", "No permit number recorded", "mother plants not counted", "no region code"):
        assert told in shown
    assert "The current plan has no line for this target" in client.get(f"/trace/targets/{target.id}").text


def test_the_chain_comes_as_a_file(client: Any, lot: Any) -> None:
    (row,) = csv.DictReader(io.StringIO(client.get("/trace/targets/1.csv").text))

    assert row == {
        "Site code": "S-007", "Planting site": "Azenha", "Season": "2027/28", "Species": "Quercus suber",
        "Plants to plant": "100", "Seeds or cuttings": "160", "Seed (g)": "1.6", "Viability at sowing": "0.8",
        "Distance (km)": "12.0", "Lot": "Q/7",
        "Collected as lot": "Q/7", "Share of the lot": "1.0", "Material": "Seed", "Ripening year": "2026",
        "Mother plants": "31",
        "Trip": "T-2026-002", "Collected on": "2026-10-20", "People": "Ana Seabra, Rui Vale",
        "Population": "P-001", "Name": "Ladeira alta", "Latitude": "40.1", "Longitude": "-7.5",
        "Elevation (m)": "300.0", "Region of provenance": "R1", "Basin": "Alva", "Origin": "Autochthonous",
        "Permit number": "COL-7/2026", "Decision on origin": "",
    }  # fmt: skip


def test_a_lot_shows_where_it_goes_may_go_and_may_not(client: Any, lot: Any) -> None:
    shown = text_of(client.get(f"/trace/lots/{lot.id}").text)

    assert "May serve 1 site by its origin" in shown
    assert "By the rules of origin in force today" in shown
    assert "1 site: Region of provenance" in shown
    assert "Brejo (R2)" in shown
    rows = list(csv.DictReader(io.StringIO(client.get(f"/trace/lots/{lot.id}.csv").text)))
    assert [
        (row["Planting site"], row["May go there"], row["Verdict"], row["Seasons in the plan"]) for row in rows
    ] == [
        ("Azenha", "yes", "caution", "2027/28"),
        ("Brejo", "no", "stop", ""),
    ]
    (row,) = csv.DictReader(io.StringIO(client.get(f"/trace/lots/{lot.id}/draws.csv").text))
    assert (row["Planting site"], row["Seeds or cuttings"], row["Lot"]) == ("Azenha", "160", "Q/7")
    for path in ("/trace/targets/1.xlsx", f"/trace/lots/{lot.id}.xlsx", f"/trace/lots/{lot.id}/draws.xlsx"):
        assert client.get(path).data[:2] == b"PK"


def test_a_mixed_lot_shows_the_lots_in_it_and_they_show_it(
    client: Any, session: Session, maker: Any, lot: Any, today: dt.date
) -> None:
    stand = maker.population(region_code="R1", indigenous_status=IndigenousStatus.AUTOCHTHONOUS)
    other = maker.lot(code="Q/8", population=stand, permit_number="COL-8/2026")
    when: dict[str, Any] = {"happened_on": today, "today": today}
    mixed = mix_lots(session, "Ana", amounts=[(lot, 3000), (other, 1000)], code="Q/9", **when)
    part = split_lot(session, "Ana", lot=mixed, amount=1000, code="Q/10", **when)
    a_draw(session, a_line(session, session.get_one(Plan, 1), maker.target()), part)
    session.commit()

    shown = text_of(client.get("/trace/targets/2").text)
    for told in (
        "160 seeds", "75 % from P-001, 2026", f"25 % from {stand.code}, 2026", "COL-7/2026", "COL-8/2026",
        "Ana Seabra, Rui Vale",
    ):  # fmt: skip
        assert told in shown
    rows = list(csv.DictReader(io.StringIO(client.get("/trace/targets/2.csv").text)))
    assert [
        (
            row["Lot"],
            row["Collected as lot"],
            row["Share of the lot"],
            row["Seeds or cuttings"],
            row["Permit number"],
        )
        for row in rows
    ] == [("Q/10", "Q/7", "0.75", "120", "COL-7/2026"), ("Q/10", "Q/8", "0.25", "40", "COL-8/2026")]
    rows = list(csv.DictReader(io.StringIO(client.get(f"/trace/lots/{part.id}/draws.csv").text)))
    assert [row["Seed (g)"] for row in rows] == ["1.2", "0.4"]
    rows = list(csv.DictReader(io.StringIO(client.get(f"/trace/lots/{mixed.id}/origins.csv").text)))
    assert [(row["Lot"], row["Collected as lot"], row["Share of the lot"], row["Trip"]) for row in rows] == [
        ("Q/9", "Q/7", "0.75", "T-2026-002"), ("Q/9", "Q/8", "0.25", ""),
    ]  # fmt: skip
    assert "made from 2 lots that were collected" in text_of(client.get(f"/trace/lots/{mixed.id}").text)
    html = client.get(f"/trace/lots/{lot.id}").text
    assert "2 lots were made from it" in html
    assert f'href="/trace/lots/{part.id}"' in html


def test_an_archived_lot_can_still_be_traced(client: Any, session: Session, lot: Any) -> None:
    lot.archived_at = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    session.commit()

    assert "This lot is archived" in client.get(f"/trace/lots/{lot.id}").text
    assert "Q/7" in client.get("/trace/targets/1").text


def test_a_site_stays_text_whatever_its_name(client: Any, session: Session, maker: Any, lot: Any) -> None:
    target = maker.target(site=maker.site(name="<b>Alto</b>"))
    session.commit()

    html = client.get(f"/trace/targets/{target.id}").text

    assert "<b>Alto" not in html
    assert "&lt;b&gt;Alto&lt;/b&gt;" in html


def test_what_is_not_there_is_not_found(client: Any) -> None:
    for path in (
        "/trace/targets/9", "/trace/targets/9.csv", "/trace/lots/9", "/trace/lots/9.csv",
        "/trace/lots/9/draws.csv",
    ):  # fmt: skip
        assert client.get(path).status_code == 404


def test_nonsense_in_the_address_does_no_harm(client: Any, lot: Any) -> None:
    assert client.get("/trace?q=%00%25_&endpoint=x").status_code == 200
