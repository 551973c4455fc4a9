"""The permit on the form and in the history of a lot."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import select

from nursery.i18n import gettext as _
from nursery.models import Permit
from nursery.services.permits.covering import Check
from nursery.web.fields import SuggestingInput, TextField
from nursery.web.session import db

#: A longer list of suggestions helps nobody and weighs on a phone.
SUGGESTED = 200


class PermitNumberField(TextField):
    """A permit's number, with those on record to choose from; it may also be one that is not on record."""

    widget = SuggestingInput()

    def suggestions(self) -> Sequence[tuple[str, str]]:
        """Numbers of the permits in force, the one that ends last on top."""
        query = select(Permit.number, Permit.authority).where(Permit.archived_at.is_(None))
        rows = db().execute(query.order_by(Permit.valid_to.desc(), Permit.id).limit(SUGGESTED))
        return [(number, authority) for number, authority in rows]


def labels() -> dict[str, str]:
    """What the history calls the columns of permit and hold."""
    return {
        "permit_id": _("Permit"),
        "is_held": _("On hold"),
        "reason": _("Reason"),
        "release_reason": _("Reason"),
        "released_by": _("Released by"),
        "reported_on": _("Reported on"),
        "missing": _("Not covered"),
    }


def shown(column: str, value: Any) -> str | None:
    """A value of theirs in words; None for other columns."""
    if column == "is_held":
        return _("yes") if value else _("no")
    if column == "missing":
        words = check_words()
        return ", ".join(words.get(part, part) for part in str(value).split(", "))
    return None


def check_words() -> dict[str, str]:
    """What each check is about."""
    return {
        Check.PERMIT: _("permit"),
        Check.SPECIES: _("species"),
        Check.DATE: _("date"),
        Check.PLACE: _("place"),
        Check.AMOUNT: _("amount"),
    }
