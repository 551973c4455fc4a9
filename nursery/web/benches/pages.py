"""The pages of benches."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import request
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.i18n import lazy as _l
from nursery.models import Bench, Nursery
from nursery.services.benches import LISTING, change_bench, create_bench
from nursery.services.listing import whole
from nursery.web.benches.forms import BenchForm
from nursery.web.health.panels import of_bench
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db


def _initial() -> Mapping[str, Any]:
    """The nursery that the person came from, or the only one."""
    ids = list(db().scalars(select(Nursery.id).where(Nursery.archived_at.is_(None)).limit(2)))
    asked = request.args.get("nursery", type=whole)
    return {"nursery_id": asked or (ids[0] if len(ids) == 1 else None)}


PAGES = RecordPages(
    name="benches",
    section="grow",
    model=Bench,
    listing=LISTING,
    form=BenchForm,
    create=create_bench,
    change=change_bench,
    title=lambda row: row.name,
    options=(joinedload(Bench.nursery),),
    initial=_initial,
    context=of_bench,
    detail_template="benches/detail.html",
    words=Words(
        list_title=_l("Benches"),
        list_lead=_l("Benches, beds and bays where trays stand, by nursery."),
        new_title=_l("New bench"),
        new_button=_l("New bench"),
        noun=_l("Bench"),
        empty_title=_l("No benches yet"),
        empty_text=_l(
            "A bench is a place in a nursery where trays stand: a table, a bed or a bay. Give each its name and"
            " usable area; then batches can be placed on it, and you see weeks ahead where it gets too full."
        ),
        archive_text=_l("The bench leaves the lists and takes no more trays; what stood there stays on record."),
    ),
)
bp = build(PAGES)
