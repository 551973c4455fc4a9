"""The pages of people, and the private addresses of their calendars."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import flash, redirect, url_for
from flask.typing import ResponseReturnValue

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.i18n import ngettext
from nursery.models import Person
from nursery.services import records
from nursery.services.people import LISTING, archive_person, change_person, create_person, open_tasks
from nursery.services.preferences import read_preferences
from nursery.services.work.feeds import renew_address, renew_common_address
from nursery.services.work.reading import load_of
from nursery.web.links import whole_address
from nursery.web.listing import ListView
from nursery.web.people.forms import PersonForm
from nursery.web.records import ID, RecordPages, Words, build
from nursery.web.session import actor, db, today


def _feed(token: str | None) -> str:
    return whole_address("feeds.feed", token=token) if token else ""


def _context(row: Person) -> Mapping[str, Any]:
    return {
        "feed_url": _feed(row.feed_token),
        "load": load_of(db(), row, today=today()),
        "archive_text": _leaving(len(open_tasks(db(), row))),
    }


def _leaving(tasks: int) -> str:
    """What becomes of a person's open work when they are put aside."""
    told = str(PAGES.words.archive_text)
    if not tasks:
        return told
    freed = ngettext(
        "%(num)s open task is given to nobody; give it to somebody else.",
        "%(num)s open tasks are given to nobody; give them to somebody else.",
        tasks,
    )
    return f"{told} {freed}"


def _list_context(listed: ListView) -> Mapping[str, Any]:
    del listed
    return {"feed_url": _feed(read_preferences(db()).feed_token)}


PAGES = RecordPages(
    name="people",
    section="grow",
    model=Person,
    listing=LISTING,
    form=PersonForm,
    create=create_person,
    change=change_person,
    archive=archive_person,
    title=lambda row: row.name,
    context=_context,
    list_context=_list_context,
    detail_template="people/detail.html",
    list_template="people/list.html",
    words=Words(
        list_title=_l("People"),
        list_lead=_l("Who works here, paid or given, and how many hours a week."),
        new_title=_l("New person"),
        new_button=_l("New person"),
        noun=_l("Person"),
        empty_title=_l("Nobody is written down yet"),
        empty_text=_l(
            "Write down who works here and for how many hours a week: then work can be given to them, each has a"
            " calendar of their own, and the weeks that ask for more hours than there are show."
        ),
        archive_text=_l("The person leaves the lists, and the private calendar ends. Work done stays on record."),
    ),
)
bp = build(PAGES)


@bp.post(f"/people/{ID}/address")
def renew(record_id: int) -> ResponseReturnValue:
    """A new private address for a person's calendar."""
    person = records.get(db(), Person, record_id)
    renew_address(db(), actor(), person=person)
    flash(
        _("The calendar has a new address; the old one no longer works. Subscribe again with the new one."), "ok"
    )
    return redirect(url_for("people.detail", record_id=record_id), 303)


@bp.post("/people/address")
def renew_common() -> ResponseReturnValue:
    """A new private address for everybody's calendar."""
    renew_common_address(db(), actor())
    flash(_("The calendar of all work has a new address."), "ok")
    return redirect(url_for("people.list_page"), 303)
