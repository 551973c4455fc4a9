"""The papers of a load."""

from __future__ import annotations

from flask import abort, render_template, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import joinedload

from nursery.models import Dispatch, Site
from nursery.models.papers import PaperKind
from nursery.services.papers.consignments import consign_load, rules_day
from nursery.services.papers.keeping import papers_of
from nursery.services.papers.words import WHO_LABELS
from nursery.web.links import address
from nursery.web.papers.drawing import draw_page
from nursery.web.papers.looking import context
from nursery.web.papers.routes import bp
from nursery.web.session import db, today

_LOAD = "<int(max=2147483647):dispatch_id>"
_NAMES = ",".join(f'"{kind.value}"' for kind in PaperKind if not kind.value.startswith("seed-"))
_KINDS = f"<any({_NAMES}):kind>"


@bp.get(f"/papers/load/{_LOAD}")
def of_load(dispatch_id: int) -> str:
    """Which papers travel with a load and why, what they wait for, and which do not."""
    load = _get(dispatch_id)
    consignment = consign_load(db(), load, rules_day(load, today()))
    return render_template(
        "papers/of_load.html", section="report", load=load, who=WHO_LABELS[consignment.who],
        load_url=address("dispatches.detail", record_id=load.id), papers=papers_of(db(), dispatch_id=load.id),
        **context(consignment, lambda **values: url_for("papers.draw_load", dispatch_id=dispatch_id, **values)),
    )  # fmt: skip


@bp.route(f"/papers/load/{_LOAD}/{_KINDS}/<part>", methods=["GET", "POST"])
def draw_load(dispatch_id: int, kind: str, part: str) -> ResponseReturnValue:
    """Draw one paper of a load up."""
    load = _get(dispatch_id)
    return draw_page(
        consign_load(db(), load, rules_day(load, today())), PaperKind(kind), part, subject=load.code,
        back_url=url_for("papers.of_load", dispatch_id=dispatch_id),
    )  # fmt: skip


def _get(dispatch_id: int) -> Dispatch:
    load = db().get(
        Dispatch, dispatch_id,
        options=[joinedload(Dispatch.site).joinedload(Site.recipient), joinedload(Dispatch.recipient)],
    )  # fmt: skip
    return load if load is not None else abort(404)
