from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models.recipients import Recipient, RecipientKind

GIVEN = {"name": "River crew", "kind": "professional", "address": "Mill lane 3", "country": "pt", "contact": "Rui"}


def test_a_recipient_is_written_down_and_changed(client: Any, session: Session) -> None:
    page = client.submit("/recipients/new", GIVEN, follow_redirects=True).text
    assert "River crew" in page
    assert "Somebody who works with plants" in page
    row = session.scalars(select(Recipient)).one()
    assert (row.kind, row.country) == (RecipientKind.PROFESSIONAL, "PT")
    version = row.version
    session.rollback()

    client.submit(f"/recipients/{row.id}/edit", {**GIVEN, "kind": "final-user", "version": version})
    session.rollback()
    assert session.scalars(select(Recipient.kind)).one() is RecipientKind.FINAL_USER


@pytest.mark.parametrize(("typed", "told"), [({"country": "P1"}, "is no country code"), ({"name": ""}, "must be")])
def test_what_cannot_be_is_refused(client: Any, session: Session, typed: dict[str, str], told: str) -> None:
    answer = client.submit("/recipients/new", {**GIVEN, **typed})
    assert answer.status_code == 422
    assert told in answer.text
    assert session.scalar(select(Recipient.id)) is None


def test_a_recipients_page_names_its_sites(client: Any, session: Session, maker: Any) -> None:
    row = Recipient(name="River crew", kind=RecipientKind.OWN)
    session.add(row)
    session.flush()
    maker.site(name="Long bank", recipient_id=row.id)
    session.commit()
    assert "Long bank" in client.get(f"/recipients/{row.id}").text
    client.submit(f"/recipients/{row.id}/archive", {}, page=f"/recipients/{row.id}")
    client.get("/recipients")  # tells that it was archived
    assert "River crew" not in client.get("/recipients").text
