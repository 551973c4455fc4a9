"""Storage places: names of their own and temperatures that can be."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.services.listing import ListQuery, read_page
from nursery.services.storage import LISTING, change_place, create_place


def test_a_place_is_written_down_and_changed(session: Session, today: dt.date) -> None:
    place = create_place(session, "Ana Seabra", values={"name": "Fridge", "temperature_c": 4.0}, today=today)

    change_place(session, "Ana Seabra", row=place, values={"name": "Cellar", "temperature_c": None}, today=today)

    assert (place.name, place.temperature_c) == ("Cellar", None)


@pytest.mark.parametrize("temperature", [-273.0, 60.0])
def test_temperatures_no_seed_is_kept_at_are_refused(session: Session, today: dt.date, temperature: float) -> None:
    with pytest.raises(Invalid) as refused:
        create_place(session, "Ana Seabra", values={"name": "Oven", "temperature_c": temperature}, today=today)

    assert list(refused.value.errors) == ["temperature_c"]


def test_the_list_counts_the_lots_kept_in_each_place(session: Session, maker: Any) -> None:
    full, empty = maker.place(name="Fridge"), maker.place(name="Cellar")
    maker.lot(storage_place_id=full.id)
    maker.lot(storage_place_id=full.id)

    rows = read_page(session, LISTING, ListQuery(sort="-lots")).rows

    assert [(row.name, row.lots) for row in rows] == [(full.name, 2), (empty.name, 0)]
