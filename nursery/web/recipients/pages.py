"""The pages of recipients."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import select

from nursery.i18n import lazy as _l
from nursery.models import Dispatch, Recipient, Site
from nursery.models.recipients import RecipientKind
from nursery.services.dispatches.listing import LISTING as LOADS
from nursery.services.dispatches.words import KIND_LABELS
from nursery.services.papers.rulings import standing_ruling
from nursery.services.recipients import LISTING, change_recipient, create_recipient
from nursery.web.fields import ChoiceField, NotesField, TextField
from nursery.web.forms import Group, RecordForm
from nursery.web.listing import view_list
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db


class RecipientForm(RecordForm):
    """Name, kind, and what papers print of them."""

    name = TextField(_l("Name"), most=120, needed=True, description=_l("As papers print it."))
    kind = ChoiceField(
        _l("Kind"),
        kind=RecipientKind,
        labels=KIND_LABELS,
        description=_l(
            "Our own crew: nothing is handed over. Somebody who works with plants: a contractor, a nursery, a"
            " partner body, by trade or under a contract. Somebody who plants for themselves: a gardener, an"
            " association of neighbours. Which papers travel hangs on it."
        ),
    )
    address = NotesField(_l("Address"), description=_l("Papers for somebody else print it."))
    country = TextField(
        _l("Country"), most=2, description=_l("Two letters, such as PT. Left empty, it is the nursery’s own.")
    )
    operator_number = TextField(
        _l("Number in the register of operators"),
        most=40,
        description=_l("Only of those who work with plants and are registered with the plant-health authority."),
    )
    contact = TextField(_l("Contact"), most=200, description=_l("Whom the driver calls."))

    groups = (
        Group(_l("Who it is"), (("name",), ("kind",))),
        Group(_l("What papers print"), (("address",), ("country", "operator_number"))),
        Group(_l("More"), (("contact",), ("notes",))),
    )


def _context(row: Recipient) -> Mapping[str, Any]:
    sites = select(Site).where(Site.recipient_id == row.id, Site.archived_at.is_(None)).order_by(Site.name)
    return {
        "sites": db().scalars(sites.limit(200)).all(),
        "ruling": standing_ruling(db(), row),
        "ruling_kind": "recipient",
        "loads": view_list(LOADS, where=(Dispatch.recipient_id == row.id,)),
    }


PAGES = RecordPages(
    name="recipients",
    section="plant",
    model=Recipient,
    listing=LISTING,
    form=RecipientForm,
    create=create_recipient,
    change=change_recipient,
    title=lambda row: row.name,
    initial=lambda: {"kind": RecipientKind.PROFESSIONAL},
    context=_context,
    detail_template="recipients/detail.html",
    words=Words(
        list_title=_l("Recipients"),
        list_lead=_l("Who takes plants or seed over. Which papers travel with a load hangs on who takes it."),
        new_title=_l("New recipient"),
        new_button=_l("New recipient"),
        noun=_l("Recipient"),
        empty_title=_l("No recipients yet"),
        empty_text=_l(
            "Write down who takes plants over at your sites: a contractor, a partner, a neighbour. Sites that"
            " your own crew plants need none."
        ),
        archive_text=_l("The recipient leaves the lists. Loads and papers keep the name."),
    ),
)
bp = build(PAGES)
