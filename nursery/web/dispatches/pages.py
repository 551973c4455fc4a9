"""The list of loads, the form of a load, and the page of one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from flask import Blueprint, abort, flash, redirect, request, url_for
from flask.typing import ResponseReturnValue
from markupsafe import Markup
from sqlalchemy import select

from nursery.errors import Invalid, NotFound
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Dispatch, Site, Task
from nursery.services import records
from nursery.services.dispatches import planning, proposing
from nursery.services.dispatches.archiving import archive_load
from nursery.services.dispatches.listing import LISTING
from nursery.services.dispatches.reading import get_load, planned_for_target, waiting_returns
from nursery.web import records as pages
from nursery.web.dispatches.forms import LoadForm
from nursery.web.dispatches.looking import load_context
from nursery.web.forms import RecordForm
from nursery.web.listing import ListView
from nursery.web.records import ID, RecordPages, Words
from nursery.web.session import actor, db, today


def _create(session: Any, person: str, *, values: Mapping[str, Any], today: dt.date) -> Dispatch:
    given = {**values, "recipient_id": values.get("recipient_id")}
    if given["recipient_id"] is None:
        del given["recipient_id"]
    if values.get("fill"):
        site = records.get(session, Site, values["site_id"])
        load = proposing.make_load(session, person, site=site, planned_on=values["planned_on"], today=today)
        if not load.lines:  # the refusal takes the empty load back
            raise Invalid({"fill": _nothing_ready(site)})
        return planning.change_load(session, person, load=load, values=given, today=today)
    return planning.plan_load(
        session, person, site_id=values["site_id"], planned_on=values["planned_on"], today=today, values=given
    )


def _change(
    session: Any, person: str, *, row: Dispatch, values: Mapping[str, Any], version: int, today: dt.date
) -> Dispatch:
    return planning.change_load(session, person, load=row, values=values, today=today, version=version)


def _facts(row: Dispatch, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    del form
    link = Markup('<a href="{}">{}</a>')
    site = link.format(url_for("sites.detail", record_id=row.site_id), f"{row.site.code} · {row.site.name}")
    taker: Any = _("our own crew")
    if row.recipient is not None:
        taker = link.format(url_for("recipients.detail", record_id=row.recipient_id), row.recipient.name)
    received = f"{format_date(row.received_on)} {row.received_time} · {row.received_by}" if row.received_on else ""
    return [
        (_("Planting site"), site),
        (_("Planting permit or notice"), row.site.planting_permit),
        (_("Taken over by"), taker),
        (_("Planned for"), format_date(row.planned_on)),
        (_("Vehicle"), row.vehicle),
        (_("Driver"), row.driver),
        (_("Sent on"), format_date(row.sent_on) if row.sent_on else ""),
        (_("Receipt"), received),
        (_("Reason"), row.reason),
        (_("Notes"), row.notes),
    ]


def _initial() -> Mapping[str, Any]:
    site = request.args.get("site", "")
    return {
        "site_id": db().scalar(select(Site.id).where(Site.code == site, Site.archived_at.is_(None))),
        "planned_on": today(),
        "fill": request.args.get("fill") != "no",
    }


def _list_context(_listed: ListView) -> Mapping[str, Any]:
    return {"waiting": waiting_returns(db())}


PAGES = RecordPages(
    name="dispatches",
    section="plant",
    model=Dispatch,
    listing=LISTING,
    form=LoadForm,
    create=_create,
    change=_change,
    title=lambda row: row.code,
    facts=_facts,
    initial=_initial,
    context=load_context,
    detail_template="dispatches/detail.html",
    list_template="dispatches/list.html",
    list_context=_list_context,
    words=Words(
        list_title=_l("Loads"),
        list_lead=_l(
            "Plants on their way to planting sites: what is to be picked, what went, what arrived, and what"
            " came back."
        ),
        new_title=_l("Plan a load"),
        new_button=_l("Plan a load"),
        noun=_l("Load"),
        empty_title=_l("No loads yet"),
        empty_text=_l(
            "A load takes plants of one or more batches to one site on one day. Plan it from what is ready,"
            " pick it bench by bench, and write down who took it over."
        ),
        archive_text=_l("The load leaves the lists. Its history stays."),
    ),
)
bp = Blueprint("dispatches", __name__)
AT = f"/loads/{ID}"
BOTH = ["GET", "POST"]


def find(record_id: int) -> Dispatch:
    """The load, or the page that says there is none."""
    try:
        return get_load(db(), record_id)
    except NotFound:
        abort(404)


def back(load: Dispatch, **more: Any) -> ResponseReturnValue:
    """To the load's page."""
    return redirect(url_for("dispatches.detail", record_id=load.id, **more), 303)


def _detail(record_id: int) -> str:
    find(record_id)  # with its lines, so that the page finds them read
    return pages.detail(PAGES, record_id)


@bp.post("/loads/for-site/<int(max=2147483647):site_id>")
def for_site(site_id: int) -> ResponseReturnValue:
    """One click: a load of everything that is ready for a site."""
    site = db().get(Site, site_id) or abort(404)
    load = proposing.make_load(db(), actor(), site=site, planned_on=today(), today=today())
    if not load.lines:
        db().rollback()
        flash(_nothing_ready(site), "caution")
        return redirect(url_for("dispatches.new", site=site.code, fill="no"), 303)
    flash(_("%(load)s holds what is ready for %(site)s. Look it over.", load=load.code, site=site.name), "ok")
    return back(load)


def _nothing_ready(site: Site) -> str:
    return _(
        "Nothing is ready for the open targets of %(site)s. Untick “Fill it” to plan the load empty and add"
        " batches by hand.",
        site=site.name,
    )


bp.add_url_rule("/loads", "list_page", lambda: pages.list_page(PAGES))
bp.add_url_rule(
    "/loads.<any(csv,xlsx):file_format>", "export", lambda file_format: pages.export(PAGES, file_format)
)
bp.add_url_rule("/loads/new", "new", lambda: pages.new(PAGES), methods=BOTH)
bp.add_url_rule(AT, "detail", _detail)
bp.add_url_rule(f"{AT}/edit", "edit", lambda record_id: pages.edit(PAGES, record_id), methods=BOTH)
for _verb, _done in (("archive", archive_load), ("restore", records.restore)):
    bp.add_url_rule(
        f"{AT}/{_verb}", _verb, lambda record_id, done=_done: pages.put(PAGES, record_id, done), methods=["POST"]
    )


@bp.get("/loads/of-task/<int(max=2147483647):task_id>")
def of_task(task_id: int) -> ResponseReturnValue:
    """From a task of sending plants out to the load that does it; where none is planned, to the form of one."""
    task = db().get(Task, task_id) or abort(404)
    if (target_id := task.details.get("target")) and (loads := planned_for_target(db(), int(target_id))):
        return back(loads[0])
    site = db().get(Site, task.site_id) if task.site_id is not None else None
    return redirect(url_for("dispatches.new", site=site.code if site else None), 303)
