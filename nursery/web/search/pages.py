"""Search over everything; an exact code leads straight to its record."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import Row

from nursery.services.search import Group, find_code, search
from nursery.web.cells import show_value
from nursery.web.session import db

bp = Blueprint("search", __name__)


@bp.get("/search")
def page() -> ResponseReturnValue:
    """What was found, by kind; nothing was asked gives a page that says how to ask."""
    text = " ".join(request.args.get("q", "").replace("\0", " ").split())[:200]
    if text and (found := find_code(db(), text)):
        kind, record_id = found
        return redirect(url_for(f"{kind}.detail", record_id=record_id))
    results = search(db(), text) if text else None
    groups = results.groups if results else []
    return render_template(
        "search/page.html",
        section="",
        search_text=text,
        results=results,
        groups=[(group, [_hit(group, row) for row in group.page.rows]) for group in groups],
    )


def _hit(group: Group, row: Row[tuple[object, ...]]) -> dict[str, object]:
    """One record: its name, where it leads, what else tells it from others."""
    first, *others = (group.kind.listing.column(key) for key in group.kind.shown)
    return {
        "title": show_value(first, getattr(row, first.key)),
        "url": url_for(f"{group.kind.name}.detail", record_id=row.id),
        "facts": [text for column in others if (text := show_value(column, getattr(row, column.key)))],
        "archived": row.archived_at is not None,
    }
