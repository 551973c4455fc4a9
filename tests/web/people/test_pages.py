from __future__ import annotations

import re

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Person
from tests.web.conftest import Browser

RUI = {"name": "Rui Vale", "hours_per_week": "35", "wage_per_hour": "12,5", "from_on": "2026-09-01"}


def rui(session: Session) -> Person:
    session.rollback()  # what the pages wrote since is seen by a new transaction
    return session.scalars(select(Person)).one()


def test_a_person_is_written_down_changed_and_put_aside(client: Browser, session: Session) -> None:
    new = client.submit("/people/new", RUI)
    assert new.status_code == 303
    found = rui(session)
    assert (found.hours_per_week, found.wage_per_hour, found.is_volunteer) == (35, 12.5, False)

    at = f"/people/{found.id}"
    client.submit(f"{at}/edit", {**RUI, "hours_per_week": "20", "is_volunteer": "y", "version": "1"})
    assert (rui(session).hours_per_week, rui(session).is_volunteer) == (20, True)
    assert "Volunteer" in client.get("/people").get_data(as_text=True)
    client.submit(f"{at}/archive", {}, page=at)
    assert rui(session).archived_at is not None
    assert "/feeds/" not in client.get(at).get_data(as_text=True)


def test_what_cannot_be_is_refused_at_its_field(client: Browser, session: Session) -> None:
    hours = client.submit("/people/new", {**RUI, "hours_per_week": "200"})
    days = client.submit("/people/new", {**RUI, "until_on": "2026-08-01"})

    assert (hours.status_code, days.status_code) == (422, 422)
    assert 'href="#hours_per_week"' in hours.get_data(as_text=True)
    assert "The last day lies before the first one." in days.get_data(as_text=True)
    assert session.scalars(select(Person)).all() == []


def test_the_private_address_is_shown_and_made_anew(client: Browser, session: Session) -> None:
    client.submit("/people/new", RUI)
    at = f"/people/{rui(session).id}"
    old = rui(session).feed_token
    assert f"http://localhost/feeds/{old}.ics" in client.get(at).get_data(as_text=True)

    client.submit(f"{at}/address", {}, page=at)

    page = client.get(at).get_data(as_text=True)
    found = re.findall(r"/feeds/([\w-]+)\.ics", page)
    assert set(found) == {rui(session).feed_token}
    assert old not in found
    assert client.get(f"/feeds/{old}.ics").status_code == 404
    assert old not in client.get("/people.csv").get_data(as_text=True)
