"""The page of hours by week, its chart and its export."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, cast

from flask import Blueprint, Response, render_template, request, url_for

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.costing.hours import By, HoursByWeek, read_hours
from nursery.services.costing.hours_chart import hours_chart
from nursery.services.planning import current_plan
from nursery.services.weeks import Week
from nursery.tabular.writer import Cell, Heading
from nursery.web.hours import log
from nursery.web.links import address
from nursery.web.listing import send_table
from nursery.web.pictures import send_picture
from nursery.web.session import db, today

bp = Blueprint("hours", __name__)
log.add_routes(bp)

BYS = {"job": _l("By job"), "person": _l("By person"), "place": _l("By place")}
SPANS = (13, 26, 52)


@bp.get("/hours")
def page() -> str:
    """Chart and tables of the weeks that the address asks for."""
    hours = _read()
    first = hours.weeks[0].week
    return render_template(
        "hours/page.html",
        section="grow",
        hours=hours,
        by=_by(),
        bys=[(key, label, _url("hours.page", by=key)) for key, label in BYS.items()],
        spans=[(span, _url("hours.page", weeks=span)) for span in SPANS],
        span=_span(),
        earlier=_url("hours.page", **{"from": first.plus(-_span()).name}) if first > Week.of(today()) else "",
        later=_url("hours.page", **{"from": first.plus(_span()).name}),
        chart_url=_url("hours.chart"),
        narrow_url=_url("hours.chart", narrow="1"),
        exports=[(name.upper(), _url("hours.export", file_format=name)) for name in ("csv", "xlsx")],
        alt=_alt(hours),
        week_url=lambda week: address("work.page", week=week.name),
        task_url=lambda task_id: address("work.detail", record_id=task_id),
        has_plan=current_plan(db()) is not None,
        plans_url=address("plans.list_page"),
        people_url=address("people.list_page"),
    )


@bp.get("/hours.svg")
def chart() -> Response:
    """The weeks as a picture."""
    hours, narrow = _read(), request.args.get("narrow") == "1"
    return send_picture(lambda: hours_chart(hours, narrow=narrow), hours.weeks, narrow)


@bp.get("/hours.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The weeks as a table, with a column for each job, person or place."""
    hours = _read()
    headings = [
        Heading(_("Week")), Heading(_("From"), "date"),
        *(Heading(text, "number", digits=1) for text in (
            _("Work asks for (h)"), _("Paid people have (h)"), _("Volunteers have (h)"), _("Too much (h)"),
            *(f"{portion.label} (h)" for portion in hours.portions),
        )),
    ]  # fmt: skip
    return send_table(_("Hours by week"), headings, _rows(hours), file_format)


def _rows(hours: HoursByWeek) -> Iterator[list[Cell]]:
    for at, week in enumerate(hours.weeks):
        yield [
            week.week.name, week.week.monday, week.needed, week.paid, week.volunteers, week.over,
            *(portion.hours[at] for portion in hours.portions),
        ]  # fmt: skip


def _read() -> HoursByWeek:
    now = Week.of(today())
    first = max(Week.parse(request.args.get("from", "")) or now, now)
    return read_hours(db(), today=today(), first=first, count=_span(), by=_by())


def _by() -> By:
    asked = request.args.get("by", "")
    return cast("By", asked) if asked in BYS else "job"


def _span() -> int:
    asked = request.args.get("weeks", type=int)
    return asked if asked in SPANS else 26


def _url(endpoint: str, **changes: Any) -> str:
    """An address that asks for the same weeks, with these changes."""
    asked = {"by": _by(), "weeks": _span(), "from": request.args.get("from", "")} | changes
    return url_for(endpoint, **{name: value for name, value in asked.items() if value})


def _alt(hours: HoursByWeek) -> str:
    return _(
        "Bars of the hours that work asks for in each of %(weeks)s weeks, and a line of the hours that people"
        " have. %(over)s weeks ask for more. The table below holds the same numbers.",
        weeks=format_number(len(hours.weeks)),
        over=format_number(len(hours.over)),
    )
