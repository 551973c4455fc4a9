"""The pages of lots."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session, joinedload

from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.services.lots import LISTING, change_lot, create_lot
from nursery.web.lots import facts, ledger, parts, permit
from nursery.web.lots.forms import LotForm
from nursery.web.records import RecordPages, Words, build


def _create(session: Session, person: str, *, values: Mapping[str, Any], today: dt.date) -> Lot:
    """A lot that was in store already, or came from elsewhere, opens its ledger today; it was not collected."""
    columns = {name: value for name, value in values.items() if name != "in_store"}
    if values["in_store"] or values["is_received"]:
        return create_lot(session, person, values=columns, today=today, opened_on=today)
    return create_lot(session, person, values=columns, today=today)


PAGES = RecordPages(
    name="lots",
    section="seed",
    model=Lot,
    listing=LISTING,
    form=LotForm,
    create=_create,
    change=change_lot,
    title=lambda row: row.code,
    options=(
        joinedload(Lot.species),
        joinedload(Lot.population),
        joinedload(Lot.trip),
        joinedload(Lot.storage_place),
        joinedload(Lot.permit),
    ),
    facts=facts.identity,
    context=parts.context,
    initial=facts.initial,
    remarks=permit.remarks,
    detail_template="lots/detail.html",
    words=Words(
        list_title=_l("Lots"),
        list_lead=_l("Seed or cuttings of one species, one population and one ripening year."),
        new_title=_l("New lot"),
        new_button=_l("New lot"),
        noun=_l("Lot"),
        empty_title=_l("No lots yet"),
        empty_text=_l(
            "A lot is seed or cuttings of one species, one population and one ripening year. Write the population"
            " down first, then the lots that came from it; a spreadsheet can be imported too."
        ),
        archive_text=_l("The lot leaves the lists and is used in no new plan. Its history stays."),
    ),
)
bp = build(PAGES)
ledger.add_routes(bp)
