"""Lots to look at: to test again, to sow in time, past their best, or in the wrong place."""

from __future__ import annotations

from collections import Counter
from typing import Any

from flask import Blueprint, Response, render_template, request, url_for

from nursery.i18n import gettext as _
from nursery.services.watch_words import REASON_LABELS, Reason
from nursery.tabular.writer import Heading
from nursery.web.listing import send_table
from nursery.web.session import db, today

bp = Blueprint("watch", __name__)

#: Rows on one page; the files hold all.
ROWS = 200


@bp.get("/watch")
def list_page() -> str:
    """The list, all of it or one reason."""
    watched = _watched()
    chosen = _chosen()
    asked = [each for each in watched if chosen is None or each.reason is chosen]
    return render_template(
        "watch/list.html",
        section="seed",
        watched=asked[:ROWS],
        total=len(asked),
        any_watched=bool(watched),
        reasons=REASON_LABELS,
        counts=Counter(each.reason for each in watched),
        choices=[(reason.value, str(label)) for reason, label in REASON_LABELS.items()],
        chosen=chosen or "",
        exports=[
            (name.upper(), url_for("watch.export", file_format=name, reason=chosen)) for name in ("csv", "xlsx")
        ],
    )


@bp.get("/watch.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The list as a file."""
    chosen = _chosen()
    headings = [
        Heading(_("Lot")),
        Heading(_("Species"), width=28),
        Heading(_("Kept in"), width=28),
        Heading(_("Reason"), width=24),
        Heading(_("Due"), "date"),
        Heading(_("Viability today"), "percent"),
        Heading(_("What to do"), width=80),
    ]
    rows = (
        [
            each.code, each.species_name, each.place, str(REASON_LABELS[each.reason]), each.day, each.viability,
            each.text,
        ]
        for each in _watched()
        if chosen is None or each.reason is chosen
    )  # fmt: skip
    return send_table(_("Seed watch"), headings, rows, file_format)


def _watched() -> list[Any]:
    from nursery.services.watching import watch_lots  # noqa: PLC0415 -- slow import

    return watch_lots(db(), today=today())


def _chosen() -> Reason | None:
    asked = request.args.get("reason", "")
    return next((reason for reason in Reason if reason.value == asked), None)
