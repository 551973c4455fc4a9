"""The pages of storage places: what is kept where."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import StoragePlace


def test_a_place_is_written_down_with_a_temperature_below_nought(client: Any, session: Session) -> None:
    answer = client.submit("/storage/new", {"name": "Deep freeze", "temperature_c": "−18,5"})

    place = session.scalars(select(StoragePlace)).one()
    assert (answer.status_code, place.name, place.temperature_c) == (303, "Deep freeze", -18.5)


def test_the_page_of_a_place_lists_the_lots_kept_there(client: Any, session: Session, maker: Any) -> None:
    here, there = maker.place(), maker.place()
    kept, other = maker.lot(storage_place_id=here.id), maker.lot(storage_place_id=there.id)
    session.commit()

    page = client.get(f"/storage/{here.id}").text

    assert (f'href="/lots/{kept.id}"' in page, f'href="/lots/{other.id}"' in page) == (True, False)


def test_an_archived_place_is_offered_no_more_but_stays_where_it_is_named(
    client: Any, session: Session, maker: Any
) -> None:
    place = maker.place(name="Old cellar")
    lot = maker.lot(storage_place_id=place.id)
    session.commit()
    client.submit(f"/storage/{place.id}/archive", page=f"/storage/{place.id}", follow_redirects=True)

    assert "Old cellar" not in client.get("/lots/new").text
    assert f'<option value="{place.id}" selected>Old cellar</option>' in client.get(f"/lots/{lot.id}/edit").text
