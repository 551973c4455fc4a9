"""Trace through mixes and splits: back from a site, and on from a mother, stand or lot; drawn, and as tables."""

from __future__ import annotations

from flask import Response, render_template, request

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.services.flows import Onward, follow_batch, follow_lot, follow_stand, trace_site
from nursery.services.flows.forward import list_mothers
from nursery.services.planning.plans import current_plan
from nursery.web.listing import send_table
from nursery.web.session import db
from nursery.web.trace import flow_tables, graphs
from nursery.web.trace.drawing import BOX_HEIGHT, BOX_WIDTH, Node
from nursery.web.trace.pages import FORMAT, LOT, bp

SITE = "<int(max=2147483647):site_id>"
BATCH = "<int(max=2147483647):batch_id>"
STAND = "<int(max=2147483647):population_id>"
_BOX = {"width": BOX_WIDTH, "height": BOX_HEIGHT}


@bp.get(f"/trace/sites/{SITE}")
def site(site_id: int) -> str:
    """From a site back to every mother."""
    plan = current_plan(db())
    trace = trace_site(db(), plan, site_id)
    parts = [
        (key, origins, rows, graphs.site_drawing(trace, origins, rows))
        for key, origins, rows in (
            ("planted", trace.planted, trace.plantings),
            ("sent", trace.sent, trace.sent_rows),
            ("planned", trace.planned, trace.lines),
        )
        if rows
    ]
    return render_template("trace/site.html", section="plant", plan=plan, trace=trace, parts=parts, box=_BOX)


@bp.get(f"/trace/sites/{SITE}.{FORMAT}")
def site_export(site_id: int, file_format: str) -> Response:
    """The origins of a site as a file."""
    trace = trace_site(db(), current_plan(db()), site_id)
    title = _("Origins of %(site)s", site=trace.site.code)
    return send_table(title, flow_tables.site_headings(), flow_tables.site_cells(trace), file_format)


@bp.get(f"/trace/stands/{STAND}")
def stand(population_id: int) -> str:
    """From a stand, or from the one mother asked for, on to every site."""
    tag = _tag()
    row, onward = follow_stand(db(), current_plan(db()), population_id, tag)
    begin = graphs.mother_node(row.id, row.code, tag) if tag else graphs.stand_node(row.id, row.code, row.name)
    title = _("Mother %(tag)s of %(stand)s", tag=tag, stand=row.code) if tag else f"{row.code} · {row.name}"
    return _onward(onward, begin, title, stand=row, tag=tag, mothers=list_mothers(db(), population_id))


@bp.get(f"/trace/stands/{STAND}.{FORMAT}")
def stand_export(population_id: int, file_format: str) -> Response:
    """What became of a stand's seed, or of one mother's, as a file."""
    row, onward = follow_stand(db(), current_plan(db()), population_id, _tag())
    title = _("Onward from %(name)s", name=f"{row.code} {_tag()}".strip())
    return send_table(title, flow_tables.onward_headings(), flow_tables.onward_cells(onward), file_format)


@bp.get(f"/trace/lots/{LOT}/onward")
def onward(lot_id: int) -> str:
    """From a lot on to every site."""
    lot, found = follow_lot(db(), current_plan(db()), lot_id)
    begin = graphs.lot_node(lot.id, lot.code, lot.species.scientific_name)
    return _onward(found, begin, _("Lot %(code)s", code=lot.code), lot=lot)


@bp.get(f"/trace/lots/{LOT}/onward.{FORMAT}")
def onward_export(lot_id: int, file_format: str) -> Response:
    """What became of a lot as a file."""
    lot, found = follow_lot(db(), current_plan(db()), lot_id)
    title = _("Onward from %(name)s", name=lot.code)
    return send_table(title, flow_tables.onward_headings(), flow_tables.onward_cells(found), file_format)


@bp.get(f"/trace/batches/{BATCH}")
def batch(batch_id: int) -> str:
    """From a batch back to its lots, and on to the batches and sites its plants went to."""
    return render_template("trace/batch.html", section="plant", onward=follow_batch(db(), batch_id))


@bp.get(f"/trace/batches/{BATCH}.{FORMAT}")
def batch_export(batch_id: int, file_format: str) -> Response:
    """What became of a batch as a file."""
    found = follow_batch(db(), batch_id)
    title = _("Onward from %(name)s", name=found.batch.code)
    return send_table(title, flow_tables.batch_headings(), flow_tables.batch_cells(found), file_format)


def _onward(found: Onward, begin: Node, title: str, **more: object) -> str:
    drawing = graphs.onward_drawing(found, begin)
    return render_template(
        "trace/onward.html", section="plant", onward=found, drawing=drawing, name=title, box=_BOX, **more
    )


def _tag() -> str:
    tag = request.args.get("tag", "").strip()
    if len(tag) > 40:
        raise NotFound(_("There is no such mother."))
    return tag
