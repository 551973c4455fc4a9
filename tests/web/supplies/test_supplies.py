"""The pages of supplies."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Supply, SupplyMovement
from nursery.models.supplies import SupplyKind, SupplyUnit
from tests.conftest import Maker
from tests.plan_lines import add_line, make_kept_plan, phases_of
from tests.supplies import a_supply

TODAY = dt.date(2026, 11, 25)
TYPED = {
    "name": "Bark mix, 70 l", "kind": "substrate", "unit": "pieces", "container_id": "", "pack": "70",
    "price_per_pack": "9,50", "supplier": "Casa da Terra", "lead_days": "21", "safety_stock": "100",
    "use_per_1000_plants": "", "notes": "",
}  # fmt: skip


def plain(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def with_a_line(session: Session, maker: Maker) -> None:
    """Ten trays of 14.4 l to be filled on 14 December."""
    plan = make_kept_plan(session, TODAY)
    phases = phases_of(dt.date(2026, 12, 14), ("emergence", 60))
    add_line(maker, plan, phases, container_id=maker.container(name="Deep 40").id, trays=10)
    session.commit()


def test_the_empty_list_says_what_to_write_down_first(client: Any) -> None:
    page = plain(client.get("/supplies").text)
    assert "No supplies yet" in page
    assert "first the substrate, then each kind of tray" in page


def test_a_supply_is_written_down_counted_and_ordered_in_time(client: Any, session: Session, maker: Maker) -> None:
    with_a_line(session, maker)
    client.submit("/supplies/new", TYPED)
    supply = session.scalars(select(Supply)).one()
    assert (supply.unit, supply.price_per_pack) == (SupplyUnit.LITRES, 9.5)
    moved = {"kind": "counted", "amount": "150", "happened_on": "2026-11-25", "cost": "", "reason": ""}
    told = client.submit(
        f"/supplies/{supply.id}/move", moved, page=f"/supplies/{supply.id}", follow_redirects=True
    )
    page = plain(told.text)
    assert "Written down. There are 150 l now." in page
    assert "too low from week 51 (14–20 Dec 2026)" in page
    assert (
        "Order 2 packs by 23 Nov 2026: needed in the week of 14 Dec 2026. That day is past: order today." in page
    )
    assert "6 146 below the safety stock" in page
    assert "1 order should be on its way already" in plain(client.get("/supplies").text)


def test_the_order_list_goes_to_a_spreadsheet(client: Any, session: Session, maker: Maker) -> None:
    with_a_line(session, maker)
    a_supply(session, pack=70.0, price_per_pack=9.5, lead_days=7)
    session.commit()
    page = plain(client.get("/supplies/orders").text)
    assert "3 packs" in page
    assert "divided equally" not in page
    assert "€28.50" in page
    rows = list(csv.DictReader(io.StringIO(client.get("/supplies/orders.csv").get_data().decode("utf-8-sig"))))
    assert [(row["Order by"], row["Supply"], row["Packs"], row["Price"]) for row in rows] == [
        ("2026-12-07", "Bark mix", "3", "28.5")
    ]


def test_the_order_list_tells_among_how_many_substrates_it_divides_the_need(
    client: Any, session: Session, maker: Maker
) -> None:
    with_a_line(session, maker)
    for name in ("Bark mix", "Perlite"):
        a_supply(session, name=name)
    session.commit()
    told = "The need of substrate is divided equally among 2 substrates; archive those not in use."
    assert told in plain(client.get("/supplies/orders").text)


def test_what_cannot_leave_is_refused_and_the_typing_kept(client: Any, session: Session) -> None:
    supply = a_supply(session)
    session.commit()
    typed = {"kind": "used", "amount": "12,5", "happened_on": "2026-11-25", "cost": "", "reason": "Sown"}
    answer = client.submit(f"/supplies/{supply.id}/move", typed, page=f"/supplies/{supply.id}")
    assert (answer.status_code, 'value="12,5"' in answer.text, 'value="Sown"' in answer.text) == (422, True, True)
    assert re.findall(r'id="(\w+)-error">', answer.text) == ["amount"]
    assert session.scalar(select(func.count(SupplyMovement.id))) == 0


def test_trays_and_substrate_are_told_by_week(client: Any, session: Session, maker: Maker) -> None:
    assert "No tray is to be filled" in plain(client.get("/supplies/needs").text)
    with_a_line(session, maker)
    page = plain(client.get("/supplies/needs").text)
    assert re.search(r"Week 51, 14–20 Dec 2026 10 × Deep 40 144", page)


def test_a_container_must_say_which_trays_it_is(client: Any, session: Session) -> None:
    answer = client.submit("/supplies/new", {**TYPED, "kind": "container"})
    assert (answer.status_code, 'id="container_id-error"' in answer.text) == (422, True)
    assert session.scalar(select(func.count(Supply.id))) == 0


def test_sowings_are_booked_with_one_press(client: Any, session: Session, maker: Maker) -> None:
    supply = a_supply(session)
    tray = maker.container()
    maker.batch(container_id=tray.id, sown_on=dt.date(2026, 11, 24), trays=5)
    session.commit()
    counted = {"kind": "counted", "amount": "100", "happened_on": "2026-11-20", "cost": "", "reason": ""}
    page = f"/supplies/{supply.id}"
    client.submit(f"{page}/move", counted, page=page)
    assert "Book what 1 sowing took" in client.get(page).text
    told = client.submit(f"{page}/book", {}, page=page, follow_redirects=True)
    assert "Booked: 72 l for sowings." in plain(told.text)
    assert supply.kind is SupplyKind.SUBSTRATE


def test_the_list_costs_the_same_queries_for_one_and_for_three(
    app: Any, client: Any, session: Session, count_queries: Any
) -> None:
    found = []
    for number in range(3):
        a_supply(session, name=f"Mix {number}")
        session.commit()
        with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
            client.get("/supplies")
        found.append(len(statements))
    assert found == [found[0]] * 3
