"""Two plans side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import Response, abort, render_template, request, url_for

from nursery.i18n import gettext as _
from nursery.models import Plan
from nursery.services.listing import whole
from nursery.services.planning import get_plan, list_plans
from nursery.services.planning.lines import (
    KIND_LABELS,
    change_headings,
    changed_rows,
    describe_changes,
    draw_moves,
)
from nursery.web.listing import send_table
from nursery.web.plans.blueprint import bp
from nursery.web.session import db

#: Changed lines on one page.
PAGE = 100
#: Moved draws on the page, the largest first.
MOST_MOVES = 50


@bp.get("/plans/compare")
def compare() -> str:
    """The lines that differ between two plans; by default what the newest changes in the adopted one."""
    plans = list_plans(db())
    pair = _asked(plans)
    if pair is None:
        return render_template("plans/compare.html", section="plan", plans=plans, pair=None)
    found, moved = describe_changes(db(), *pair), draw_moves(db(), *pair)
    number = min(max(_whole("page") or 1, 1), max(-(-len(found.changes) // PAGE), 1))
    return render_template(
        "plans/compare.html",
        section="plan",
        plans=plans,
        pair=pair,
        found=found,
        moved=moved,
        most_moves=MOST_MOVES,
        shown=found.changes[(number - 1) * PAGE : number * PAGE],
        kinds=KIND_LABELS,
        previous_url=_url(".compare", pair, page=number - 1) if number > 1 else None,
        next_url=_url(".compare", pair, page=number + 1) if len(found.changes) > number * PAGE else None,
        exports=[(name.upper(), _url(".export_changes", pair, file_format=name)) for name in ("csv", "xlsx")],
    )


@bp.get("/plans/compare.<any(csv,xlsx):file_format>")
def export_changes(file_format: str) -> Response:
    """All changes as a file, a row for each field that differs."""
    pair = _asked(list_plans(db())) or abort(404)
    found = describe_changes(db(), *pair)
    return send_table(_("Changes of the plan"), change_headings(), changed_rows(found.changes), file_format)


def _asked(plans: Sequence[Plan]) -> tuple[Plan, Plan] | None:
    """The two plans of the address; a side left out takes the adopted plan, or the newest other one."""
    before, after = (_plan(name) for name in ("before", "after"))
    if after is None:
        after = next((plan for plan in plans if plan is not before), None)
    if before is None:
        others = [plan for plan in plans if plan is not after]
        before = next((plan for plan in others if plan.is_adopted), others[0] if others else None)
    return (before, after) if before and after else None


def _url(endpoint: str, pair: tuple[Plan, Plan], **values: Any) -> str:
    before, after = pair
    return url_for(endpoint, before=before.id, after=after.id, **values)


def _plan(name: str) -> Plan | None:
    number = _whole(name)
    return get_plan(db(), number) if number is not None else None


def _whole(name: str) -> int | None:
    try:
        return whole(request.args.get(name, ""))
    except ValueError:
        return None
