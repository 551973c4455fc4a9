"""Trays of a load on its pages: reckoned, stated, sent, and written down late."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Dispatch
from tests.web.dispatches.conftest import Yard
from tests.web.dispatches.test_pages import fresh, printed, send


def cells(page: str, table: str) -> list[list[str]]:
    """The words of a table, row by row."""
    body = page.partition(f'id="{table}"')[2].partition("</table>")[0]
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", body, re.DOTALL)
    found = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL) for row in rows]
    return [[" ".join(re.sub(r"<[^>]+>", " ", cell).split()) for cell in row] for row in found]


def test_pick_list_load_and_ledger_show_the_same_trays(
    client: Any, session: Session, load: Dispatch, yard: Yard
) -> None:
    # 300 stand in ten trays, 200 in ten: 120 fill four, 30 fill two.
    picks = cells(client.get(f"/loads/{load.id}/pick-list").text, "picks")
    assert [row[2] for row in picks[1:]] == ["4", "2", "6"]
    assert " 4 120 " in printed(client.get(f"/loads/{load.id}/pick-list.pdf"))

    assert send(client, load, sent_on="2026-11-25").status_code == 303

    lines = cells(client.get(f"/loads/{load.id}").text, "load-lines")
    assert [row[2] for row in lines if len(row) > 2][1:] == ["4", "2", "6"]
    after = client.get(f"/loads/{load.id}/pick-list").text
    assert cells(after, "picks") == picks
    assert "Benches are those it was fetched from." in after
    movements = cells(client.get(f"/batches/{yard.own.id}").text, "movements")
    assert movements[1][1:5] == ["Dispatched · Long bank", "−120", "180", "4"]
    assert b",-120,180,4," in client.get(f"/batches/{yard.own.id}/ledger.csv").data
    assert "120 plants, 4 trays" in client.get(f"/batches/{yard.own.id}").text


def test_other_trays_are_typed_where_the_load_goes_and_wrong_ones_refused_at_their_field(
    client: Any, session: Session, load: Dispatch
) -> None:
    field = f"trays-{load.lines[0].id}"
    assert "4 trays on the pick list" in client.get(f"/loads/{load.id}/send").text
    refused = send(client, load, **{field: "12"})
    assert refused.status_code == 422
    assert f'name="{field}"' in refused.text
    assert "stands in 10 trays, and no more can go. Give from 0 to 10." in refused.text

    assert send(client, load, **{field: "5"}).status_code == 303
    assert [line.trays for line in fresh(session, load).lines] == [5, 2]


def test_a_line_is_changed_to_other_trays(client: Any, session: Session, load: Dispatch) -> None:
    path = f"/loads/{load.id}/lines/{load.lines[0].id}/edit"
    assert "4 trays now." in client.get(path).text
    client.submit(path, {"plants": "120", "trays": "6", "grade": ""})

    page = client.get(f"/loads/{load.id}").text
    assert [row[2] for row in cells(page, "load-lines") if len(row) > 2][1:] == ["6", "2", "8"]
    assert "Trays: 4 → 6" in " ".join(re.sub(r"<[^>]+>", " ", page).split())


def test_plants_come_back_in_trays(client: Any, session: Session, load: Dispatch, yard: Yard) -> None:
    send(client, load)
    path = f"/loads/{load.id}/lines/{load.lines[0].id}/return"
    assert "4 trays left. Left empty, a share of them." in client.get(path).text
    client.submit(path, {"plants": "60", "trays": "1", "returned_on": "2026-11-25", "condition": ""})

    assert [row.trays for row in fresh(session, load).lines[0].returns] == [1]
    assert cells(client.get(f"/loads/{load.id}").text, "load-returns")[1][1:3] == ["60", "1"]


def test_of_an_older_load_the_trays_are_written_down_once(client: Any, session: Session, load: Dispatch) -> None:
    send(client, load)
    line = fresh(session, load).lines[0]
    line.trays, line.fetched = None, []
    session.commit()
    assert "not written down" in client.get(f"/loads/{load.id}").text
    path = f"/loads/{load.id}/lines/{line.id}/trays"

    assert client.submit(path, {"trays": "2"}).status_code == 422  # two trays of forty hold eighty
    assert client.submit(path, {"trays": "4"}).status_code == 303
    again = client.submit(path, {"trays": "5"})

    assert "not written down" not in cells(client.get(f"/loads/{load.id}").text, "load-lines")[1]
    assert "went in 4 trays. If that is wrong, take the load back" in again.text
