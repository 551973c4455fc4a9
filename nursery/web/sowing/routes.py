"""The list of one week, and its export."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from flask import Blueprint, Response, render_template, request, url_for

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Plan
from nursery.services.planning import current_plan
from nursery.services.sowing import SowingList, WorkRow, sowing_list
from nursery.services.weeks import Week
from nursery.web.links import address, line_address
from nursery.web.listing import send_table
from nursery.web.session import db, today
from nursery.web.sowing.table import export_rows, headings

bp = Blueprint("sowing", __name__)


@bp.get("/sowing")
def list_page() -> str:
    """What begins in the week that the address names; this week where it names none."""
    plan = current_plan(db())
    if plan is None:
        return render_template("sowing/none.html", section="grow", plans_url=address("plans.list_page"))
    found = _read(plan)
    return render_template(
        "sowing/list.html",
        section="grow",
        plan=plan,
        found=found,
        nurseries=_by_nursery(found.rows),
        nursery=request.args.get("nursery", ""),
        choices=[(name, name) for name in found.nurseries],
        is_now=found.week.holds(today()),
        earlier_week=Week.of(found.earlier[-1].starts_on) if found.earlier else None,
        next_week=Week.of(found.next_task.starts_on) if found.next_task else None,
        here=_here,
        exports=[(name.upper(), _here(found.week, "sowing.export", file_format=name)) for name in ("csv", "xlsx")],
        left_out_url=address("plans.current"),
        line_address=line_address,
    )


@bp.get("/sowing.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The same week as a table, one row for each task and lot."""
    plan = current_plan(db())
    if plan is None:
        raise NotFound(_("There is no plan yet, so there is no sowing list."))
    found = _read(plan)
    title = _("Sowing list %(week)s", week=found.week.name)
    return send_table(title, headings(), export_rows(found.rows), file_format)


def _read(plan: Plan) -> SowingList:
    week = Week.parse(request.args.get("week", "")) or Week.of(today())
    return sowing_list(db(), plan, week=week, today=today(), nursery=request.args.get("nursery", "")[:120])


def _here(week: Week, endpoint: str = "sowing.list_page", **values: str) -> str:
    """Another week of the same nursery."""
    nursery = request.args.get("nursery")
    if nursery:
        values["nursery"] = nursery
    return url_for(endpoint, week=week.name, **values)  # type: ignore[arg-type]


def _by_nursery(rows: Sequence[WorkRow]) -> list[tuple[str, list[tuple[str, list[WorkRow]]]]]:
    """Rows, sorted so already, in groups: nursery, then container type."""
    return [
        (nursery, [(name, list(those)) for name, those in groupby(found, lambda row: row.line.container_name)])
        for nursery, found in groupby(rows, lambda row: row.line.nursery_name)
    ]
