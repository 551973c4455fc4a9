"""The pick list: on the screen, on paper, and as a PDF."""

from __future__ import annotations

from flask import Response, render_template

from nursery.documents.pick_list import pick_list_pdf
from nursery.i18n import current_locale
from nursery.services.dispatches.picking import pick_list
from nursery.services.dispatches.reading import rows_of
from nursery.services.dispatches.stopping import stops_of
from nursery.services.dispatches.trays import all_trays, trays_by_line
from nursery.web.dispatches.pages import AT, bp, find
from nursery.web.dispatches.sheet import gone_text, no_bench_text, sheet_of
from nursery.web.session import db, now, today


@bp.get(f"{AT}/pick-list")
def picks(record_id: int) -> str:
    """What is fetched from where, and what is loaded first."""
    load = find(record_id)
    return render_template(
        "dispatches/picks.html", section="plant", load=load, picks=pick_list(db(), load), rows=rows_of(load),
        stops=stops_of(db(), load, now=now()), gone=gone_text(load), no_bench=no_bench_text(load),
        all_trays=all_trays(trays_by_line(load.lines).values()),
    )  # fmt: skip


@bp.get(f"{AT}/pick-list.pdf")
def picks_pdf(record_id: int) -> Response:
    """The same as a PDF."""
    load = find(record_id)
    stops = stops_of(db(), load, now=now())
    content = pick_list_pdf(sheet_of(load, pick_list(db(), load), stops), day=today(), language=current_locale())
    response = Response(content, content_type="application/pdf")
    response.headers.set("Content-Disposition", "attachment", filename=f"{load.code}.pdf")
    return response
