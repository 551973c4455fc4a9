"""A plan's lines as a table and as files, and the page of one line."""

from __future__ import annotations

from flask import Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.catalog import caution_text
from nursery.catalog.vocabulary import METHODS, protocol_label
from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Plan, PlanLine
from nursery.services.need_words import origin_text
from nursery.services.origin import words
from nursery.services.permits.glance import held_lots
from nursery.services.planning import current_plan, get_plan
from nursery.services.planning.decided import decisions_heeded, tell_decision
from nursery.services.planning.filling import fill_of, read_fills
from nursery.services.planning.held import read_held, shortest_lines
from nursery.services.planning.lines import (
    changes_since,
    explain_line,
    first_step,
    line_headings,
    line_rows,
    lines_listing,
    lines_without_container,
    plan_totals,
    read_line,
    read_mix,
    tell_line,
)
from nursery.services.planning.promises import read_promises
from nursery.services.planning.share_filling import share_fills_of
from nursery.services.planning.sharing_words import tell_allocation
from nursery.web.listing import read_query, send_table, view_list
from nursery.web.plans.blueprint import bp
from nursery.web.plans.showing import dress, joined
from nursery.web.records import ID
from nursery.web.session import db, today
from nursery.web.species.showing import species_cautions

FILES = "<any(csv,xlsx):file_format>"


@bp.get("/plans/current")
def current() -> str:
    """The plan that is worked by: the adopted one, else the newest."""
    plan = current_plan(db())
    if plan is None:
        return render_template("plans/none.html", section="plan")
    return _plan_page(plan, "plans.export_current")


@bp.get(f"/plans/{ID}")
def detail(record_id: int) -> str:
    """One plan with its lines."""
    return _plan_page(get_plan(db(), record_id), "plans.export")


@bp.get(f"/plans/current.{FILES}")
def export_current(file_format: str) -> Response:
    """The lines of the present plan as a file."""
    plan = current_plan(db())
    return _file(plan, file_format) if plan else Response(status=404)


@bp.get(f"/plans/{ID}.{FILES}")
def export(record_id: int, file_format: str) -> Response:
    """The lines of a plan, as filtered and sorted, as a file with every field."""
    return _file(get_plan(db(), record_id), file_format)


@bp.get(f"/plans/lines/{ID}")
def line(record_id: int) -> str:
    """One line: what to do, what stands in the way, and where each number comes from."""
    view = read_line(db(), record_id)
    steps = tell_line(view)
    waiting = [view.line] if view.need_parts else []
    promised = read_promises(db(), view.plan, waiting, today=today()).get(record_id, [])
    return render_template(
        "plans/line.html",
        section="plan",
        view=view,
        steps=steps,
        held=held_lots(db(), species_ids=[view.line.species_id]),
        mix=read_mix(view.line),
        holding=read_held(db(), [view.line]).get(record_id, []),
        fill=fill_of(promised),
        share_fills=share_fills_of(promised),
        need_origin=origin_text,
        words=words,
        tell_decision=tell_decision,
        first=first_step(view, steps, today()),
        numbers=explain_line(view),
        species_key=view.target.species.key,
        protocol_name=protocol_label(view.protocol.name) if view.protocol else view.line.protocol,
        method_name=str(METHODS[view.line.method]),
        cautions=[caution_text(key) for key in species_cautions(view.entry)] if view.entry else [],
    )


@bp.get(f"/plans/lines/{ID}/trial")
def trial(record_id: int) -> ResponseReturnValue:
    """The line without the seed that would fill it and with it; nothing is written."""
    from nursery.services.planning.trial import try_fill  # noqa: PLC0415 -- reckons, scipy is slow to import

    try:
        tried = try_fill(db(), record_id, today=today())
    except Conflict as nothing_to_try:
        flash(str(nothing_to_try), "info")
        return redirect(url_for(".line", record_id=record_id), 303)
    return render_template(
        "plans/trial.html", section="plan", tried=tried, plan=get_plan(db(), tried.line.plan_id)
    )


def _plan_page(plan: Plan, export_endpoint: str) -> str:
    session = db()
    adopted = current_plan(session)
    short = shortest_lines(session, plan.id)
    holding = read_held(session, short)
    fills = read_fills(session, plan, short, today=today())
    return render_template(
        "plans/detail.html",
        section="plan",
        plan=plan,
        listed=dress(
            view_list(
                lines_listing(plan.id), export=export_endpoint, where=(PlanLine.plan_id == plan.id,), whole=True
            )
        ),
        totals=plan_totals(session, plan.id),
        uncounted=lines_without_container(session, plan.id),
        changed=joined(changes_since(session, plan)),
        held=held_lots(session),
        short=[(line, holding.get(line.id, []), fills.get(line.id)) for line in short],
        went=tell_allocation(plan),
        decisions=decisions_heeded(session, plan),
        decision_labels=words.DECISION_LABELS,
        adopted=adopted if adopted and adopted.is_adopted else None,
    )


def _file(plan: Plan, file_format: str) -> Response:
    query = read_query(lines_listing(plan.id), request.args)
    return send_table(_("Plan"), line_headings(), line_rows(db(), plan.id, query), file_format)
