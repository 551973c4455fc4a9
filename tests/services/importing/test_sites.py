"""Sites from a file: who takes plants over there, and the authorisation to plant."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Recipient, Site
from nursery.models.recipients import RecipientKind

HEAD = "code,name,latitude,longitude,planting permit,recipient\n"


def test_a_site_comes_with_its_authorisation_and_its_recipient(desk: Any, session: Session) -> None:
    session.add(Recipient(name="Fontela commons", kind=RecipientKind.FINAL_USER))
    session.commit()
    file = HEAD + "S-1,Monte,38.15,-8.15,PP 12/2026,fontela  commons\n"

    desk.bring("sites", file)

    site = session.scalars(select(Site)).one()
    assert (site.planting_permit, site.recipient.name if site.recipient else "") == (
        "PP 12/2026",
        "Fontela commons",
    )
    assert desk.look("sites", file).unchanged == 1


def test_a_recipient_nobody_wrote_down_is_refused_with_its_cell(desk: Any, session: Session) -> None:
    session.add(Recipient(name="Fontela commons", kind=RecipientKind.FINAL_USER))
    session.commit()

    told = desk.reasons("sites", HEAD + f"S-1,Monte,38.15,-8.15,{'9' * 61},Fontella commons\n")

    assert sorted(told) == [
        (2, "planting permit", "9" * 61, "The text has 61 characters; at most 60 fit. Shorten it."),
        (2, "recipient", "Fontella commons",
         "There is no “Fontella commons” on record. Did you mean Fontela commons?"),
    ]  # fmt: skip
