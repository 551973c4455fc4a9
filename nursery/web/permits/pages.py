"""The pages of permits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import joinedload, selectinload

from nursery.i18n import lazy as _l
from nursery.models import Permit, PermitLine
from nursery.services.attachments import list_attachments
from nursery.services.permits.accounts import place_of
from nursery.services.permits.allowances import Allowance, read_allowances, uncovered_of
from nursery.services.permits.books import read_book
from nursery.services.permits.covering import Book
from nursery.services.permits.lines import AREA_LABELS
from nursery.services.permits.records import LISTING, change_permit, create_permit
from nursery.services.permits.tasks import read_tasks
from nursery.services.permits.words import quantity
from nursery.web.listing import ListView
from nursery.web.permits.forms import PermitForm
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db, today


def _context(row: Permit) -> Mapping[str, Any]:
    book = read_book(db(), permit_id=row.id)
    # Others share a task of this permit, or make a renewal needless: tasks are read among all permits.
    every = book if row.archived_at else Book(read_book(db(), species_ids=()).permits, book.takings)
    allowances = read_allowances(db(), every)
    tasks = [] if row.archived_at else read_tasks(db(), every, allowances, today())
    takings = sorted((taking for _line, taking in book.under(row) if taking.amount), key=place_of)
    return {
        "allowances": [allowance for allowance in allowances if allowance.permit is row],
        "area_labels": AREA_LABELS,
        "uncovered": uncovered_of(book, row),
        "tasks": [task for task in tasks if row in task.permits],
        "takings": [(taking, book.coverage(taking, row)) for taking in takings],
        "files": list_attachments(db(), row),
        "quantity": quantity,
    }


def _spent(listed: ListView) -> Mapping[str, Any]:
    """The most used line of each permit in the list."""
    if not listed.rows:
        return {"spent": {}}
    spent: dict[int, Allowance] = {}
    for allowance in read_allowances(db(), read_book(db())):
        other = spent.get(allowance.permit.id)
        if other is None or allowance.used > other.used:
            spent[allowance.permit.id] = allowance
    return {"spent": spent}


PAGES = RecordPages(
    name="permits",
    section="collect",
    model=Permit,
    listing=LISTING,
    form=PermitForm,
    create=create_permit,
    change=change_permit,
    title=lambda row: row.number,
    options=(selectinload(Permit.lines).options(joinedload(PermitLine.species)),),
    context=_context,
    list_context=_spent,
    detail_template="permits/detail.html",
    list_template="permits/list.html",
    words=Words(
        list_title=_l("Permits"),
        list_lead=_l("What may be collected, where, when and how much, and what is left of it."),
        new_title=_l("New permit"),
        new_button=_l("New permit"),
        noun=_l("Permit"),
        empty_title=_l("No permits yet"),
        empty_text=_l(
            "A permit says which species may be collected, where, when and how much. While none is written down,"
            " no lot is checked or held. From the first one on, every new lot is: one that no permit covers is"
            " kept, but not sown until a person says why it may be. Import the lots of earlier years first."
        ),
        archive_text=_l("The permit leaves the lists and covers no more lots. Its lots and files stay."),
    ),
)
bp = build(PAGES)
