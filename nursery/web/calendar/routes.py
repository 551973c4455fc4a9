"""The calendar page, its chart and its export."""

from __future__ import annotations

import hashlib
from typing import Any

from flask import Blueprint, Response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery import __version__
from nursery.errors import NotFound
from nursery.i18n import current_locale, format_date
from nursery.i18n import gettext as _
from nursery.models import Plan, PlanLine
from nursery.services import calendar
from nursery.services.calendar import LISTING
from nursery.services.listing import export_rows, read_page
from nursery.services.planning import current_plan
from nursery.services.planning.words import STATUS
from nursery.services.season import nearest_season
from nursery.services.seasons import season_name
from nursery.tabular.writer import Heading
from nursery.web.links import address, line_address
from nursery.web.listing import ListView, read_query, send_table, view_list
from nursery.web.session import db, today

bp = Blueprint("calendar", __name__)

#: Lines on one picture: more could not be read.
ROWS = 40
#: A picture carries its styles inside and nothing else; the pages' own policy would leave it bare.
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"


@bp.get("/calendar")
def page() -> ResponseReturnValue:
    """Chart and table; the address names the season, and without one the nearest is shown."""
    plan = current_plan(db())
    if plan is None:
        return render_template("calendar/none.html", section="grow", plans_url=address("plans.list_page"))
    if "season" not in request.args:
        season = nearest_season(db(), plan, today())
        return redirect(_address("calendar.page", season=season or ""))
    where = (PlanLine.plan_id == plan.id,)
    listed = view_list(LISTING, export="calendar.export", where=where, size=ROWS, whole=True)
    return render_template(
        "calendar/page.html",
        section="grow",
        plan=plan,
        listed=listed,
        alt=_alt(listed),
        chart_url=_address("calendar.chart", plan_id=plan.id),
        narrow_url=_address("calendar.chart", plan_id=plan.id, narrow="1"),
        phase_dates=calendar.phase_dates,
        statuses=STATUS,
        line_address=line_address,
    )


@bp.get("/calendar/<int:plan_id>.svg")
def chart(plan_id: int) -> Response:
    """The picture of the lines that the address asks for; a plan never changes, so it is drawn once a day."""
    plan = db().get(Plan, plan_id)
    if plan is None:
        raise NotFound(_("There is no such plan."))
    response = Response(content_type="image/svg+xml; charset=utf-8")
    response.headers["Content-Security-Policy"] = PICTURE_POLICY
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Vary"] = "Cookie, Accept-Language"
    response.set_etag(_mark(plan))
    if not request.if_none_match.contains_weak(response.get_etag()[0] or ""):
        found = read_page(
            db(), LISTING, read_query(LISTING, request.args), where=(PlanLine.plan_id == plan.id,), size=ROWS
        )
        title = _("Calendar of the plan “%(label)s”", label=plan.label)
        narrow = request.args.get("narrow") == "1"
        response.set_data(calendar.chart(found.rows, today=today(), title=title, narrow=narrow))
    response.make_conditional(request)
    return response


@bp.get("/calendar.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The calendar as a table, one row for each phase of each line."""
    plan = current_plan(db())
    if plan is None:
        raise NotFound(_("There is no plan yet, so there is no calendar."))
    found = export_rows(db(), LISTING, read_query(LISTING, request.args), where=(PlanLine.plan_id == plan.id,))
    rows = (
        [
            row.species_name, row.site_name, season_name(row.season), str(STATUS[row.status][0]), row.nursery_name,
            phase.label, phase.start, phase.end, phase.wait_days, row.collect_by, row.sow_on, row.ready_on,
            row.plant_on,
        ]
        for row, phase in calendar.phase_rows(found)
    )  # fmt: skip
    return send_table(_("Calendar"), _headings(), rows, file_format)


def _address(endpoint: str, **changes: str | int) -> str:
    """An address that asks for the same lines; what nobody knows how to read is left out."""
    known = {"q", "sort", "after", "before", *(choice.key for choice in LISTING.filters)}
    values: dict[str, Any] = {key: value for key, value in request.args.items() if key in known}
    return url_for(endpoint, **{**values, **changes})


def _headings() -> list[Heading]:
    return [
        Heading(_("Species"), width=28),
        Heading(_("Planting site"), width=28),
        Heading(_("Season")),
        Heading(_("Status")),
        Heading(_("Nursery"), width=28),
        Heading(_("Phase"), width=24),
        Heading(_("From"), "date"),
        Heading(_("To"), "date"),
        Heading(_("Days of waiting in it"), "number"),
        Heading(_("Collect by"), "date"),
        Heading(_("Sowing"), "date"),
        Heading(_("Ready"), "date"),
        Heading(_("Planting"), "date"),
    ]


def _mark(plan: Plan) -> str:
    """Equal marks mean equal pictures."""
    asked = sorted((key, value) for key, value in request.args.items())
    seen = (plan.id, plan.fingerprint, today().isoformat(), current_locale(), __version__, asked)
    return hashlib.sha256(repr(seen).encode()).hexdigest()[:32]


def _alt(listed: ListView) -> str:
    rows = listed.page.rows
    if not rows:
        return ""
    return _(
        "Calendar chart of %(lines)s lines from %(first)s to %(last)s: for each the phases from pretreatment to"
        " planting as bars, and a line at today. The table below holds the same dates.",
        lines=len(rows),
        first=format_date(min(row.pretreat_on for row in rows)),
        last=format_date(max(row.plant_on for row in rows)),
    )
