"""The pages of trace: look something up, a target's chain, a lot's reach; each also as a file."""

from __future__ import annotations

from flask import Blueprint, Response, render_template, request

from nursery.i18n import gettext as _
from nursery.services.lots import MATERIAL_LABELS
from nursery.services.need_words import origin_text
from nursery.services.planning.decided import decisions_of, tell_decision
from nursery.services.planning.plans import current_plan
from nursery.services.planning.words import STATUS
from nursery.services.populations import STATUS_LABELS
from nursery.services.tracing import LotTrace, TargetTrace, find_traceable, trace_lot, trace_target
from nursery.web.listing import send_table
from nursery.web.session import db, today
from nursery.web.trace import chains, tables

bp = Blueprint("trace", __name__)
FORMAT = "<any(csv,xlsx):file_format>"
TARGET = "<int(max=2147483647):target_id>"
LOT = "<int(max=2147483647):lot_id>"


@bp.get("/trace")
def page() -> str:
    """Pick a target or a lot."""
    text = request.args.get("q", "").strip()[:200]
    return render_template("trace/page.html", section="plant", text=text, found=find_traceable(db(), text))


@bp.get(f"/trace/targets/{TARGET}")
def target(target_id: int) -> str:
    """From a planting site back to the mother stands."""
    plan = current_plan(db())
    trace = trace_target(db(), plan, target_id)
    return render_template(
        "trace/target.html",
        section="plant",
        plan=plan,
        trace=trace,
        decided=_decided(trace),
        need_origin=origin_text,
        trunk=chains.trunk(trace),
        branches=[
            (lot, chains.branch(draw, lot, made=bool(made)), chains.sources(made))
            for draw, lot in trace.draws
            for made in [trace.sources(lot)]
        ],
        grown=[(batch, chains.grown(batch)) for batch in trace.batches],
        status=STATUS[trace.line.status] if trace.line else None,
        status_labels=STATUS_LABELS,
        material_labels=MATERIAL_LABELS,
    )


@bp.get(f"/trace/targets/{TARGET}.{FORMAT}")
def target_export(target_id: int, file_format: str) -> Response:
    """The chain of a target as a file."""
    trace = trace_target(db(), current_plan(db()), target_id)
    title = _(
        "Trace %(site)s %(species)s", site=trace.target.site.code, species=trace.target.species.scientific_name
    )
    return send_table(title, tables.chain_headings(), tables.chain_cells(trace, _decided(trace)), file_format)


@bp.get(f"/trace/lots/{LOT}")
def lot(lot_id: int) -> str:
    """From a lot back to its stand, and on to every site it may reach."""
    plan = current_plan(db())
    trace = trace_lot(db(), plan, lot_id, today=today())
    return render_template(
        "trace/lot.html",
        section="plant",
        plan=plan,
        trace=trace,
        decided=_decided(trace),
        stem=chains.stem(trace),
        sources=chains.sources(trace.sources),
    )


@bp.get(f"/trace/lots/{LOT}.{FORMAT}")
def lot_export(lot_id: int, file_format: str) -> Response:
    """Every site with what the rule of origin says of a lot, as a file."""
    trace = trace_lot(db(), current_plan(db()), lot_id, today=today())
    title = _("Reach of lot %(code)s", code=trace.lot.code)
    return send_table(title, tables.reach_headings(), tables.reach_cells(trace), file_format)


@bp.get(f"/trace/lots/{LOT}/draws.{FORMAT}")
def draws_export(lot_id: int, file_format: str) -> Response:
    """The plan lines that draw a lot, as a file."""
    trace = trace_lot(db(), current_plan(db()), lot_id, today=today())
    title = _("Plan lines of lot %(code)s", code=trace.lot.code)
    return send_table(title, tables.draw_headings(), tables.draw_cells(trace, _decided(trace)), file_format)


@bp.get(f"/trace/lots/{LOT}/origins.{FORMAT}")
def origins_export(lot_id: int, file_format: str) -> Response:
    """The collected lots whose seed is in a lot, with their shares, as a file."""
    trace = trace_lot(db(), None, lot_id, today=today())
    title = _("Origins of lot %(code)s", code=trace.lot.code)
    return send_table(title, tables.origin_headings(), tables.origin_cells(trace), file_format)


def _decided(trace: TargetTrace | LotTrace) -> dict[int, str]:
    """What people decided about the lots drawn, as sentences by the draw's id."""
    found = decisions_of(db(), [draw for draw, _other in trace.draws])
    return {draw_id: tell_decision(decision) for draw_id, decision in found.items()}
