"""Every decision in one list, on screen and as a file."""

from __future__ import annotations

from typing import Any

from flask import Response, render_template, request, url_for

from nursery.i18n import gettext as _
from nursery.services.origin.decision_list import PAGE, read_decisions
from nursery.services.origin.words import DECISION_LABELS
from nursery.web.listing import send_table
from nursery.web.origin import tables
from nursery.web.origin.pages import FORMAT, bp, whole_number
from nursery.web.session import db


@bp.get("/origin/decisions")
def decisions() -> str:
    """The newest first; withdrawn ones on request."""
    standing = request.args.get("withdrawn") != "yes"
    page = whole_number(request.args.get("page", ""))
    rows, total = read_decisions(db(), standing=standing, page=page)
    kept: dict[str, Any] = {} if standing else {"withdrawn": "yes"}
    return render_template(
        "origin/decisions.html",
        section="plan",
        rows=rows,
        total=total,
        standing=standing,
        labels=DECISION_LABELS,
        before=url_for("origin.decisions", **kept, page=page - 1) if page else None,
        after=url_for("origin.decisions", **kept, page=page + 1) if (page + 1) * PAGE < total else None,
        exports=[(name.upper(), url_for("origin.decisions_export", file_format=name)) for name in ("csv", "xlsx")],
    )


@bp.get(f"/origin/decisions.{FORMAT}")
def decisions_export(file_format: str) -> Response:
    """All of them, withdrawn ones too."""
    rows, _total = read_decisions(db(), standing=False)
    title = _("Decisions about origin")
    return send_table(title, tables.decision_headings(), tables.decision_cells(rows), file_format)
