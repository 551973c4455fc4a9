"""Who takes plants or seed over."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Recipient
from nursery.services import records
from nursery.services.dispatches.words import KIND_LABELS
from nursery.services.listing import Column, Filter, Listing, choice_options

LISTING = Listing(
    model=Recipient,
    order="name",
    columns=(
        Column("name", _l("Name"), Recipient.name, link=("recipients.detail", Recipient.id)),
        Column("kind", _l("Kind"), Recipient.kind, "choice", choices=KIND_LABELS),
        Column("country", _l("Country"), Recipient.country),
        Column("operator_number", _l("Number in the register of operators"), Recipient.operator_number, "code"),
        Column("contact", _l("Contact"), Recipient.contact),
        Column("address", _l("Address"), Recipient.address, on_screen=False),
        Column("notes", _l("Notes"), Recipient.notes, on_screen=False),
    ),
    search=(Recipient.name, Recipient.contact, Recipient.operator_number),
    filters=(Filter("kind", _l("Kind"), Recipient.kind, choice_options(KIND_LABELS)),),
)


def create_recipient(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Recipient:
    """Write a recipient down."""
    del today
    return records.create(session, actor, Recipient, _checked(values))


def change_recipient(
    session: Session,
    actor: str,
    *,
    row: Recipient,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Recipient:
    """Change a recipient; papers that were drawn up keep what they said."""
    del today
    return records.update(session, actor, row, _checked(values), version=version)


def _checked(values: Mapping[str, Any]) -> dict[str, Any]:
    country = (values.get("country") or "").strip().upper()
    if country and not re.fullmatch(r"[A-Z]{2}", country):
        raise Invalid(
            {"country": _("“%(country)s” is no country code. Two letters, such as PT.", country=country)}
        )
    return {**values, **({"country": country} if "country" in values else {})}
