"""The list of papers, one paper, its PDF, its signature and its end."""

from __future__ import annotations

from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import joinedload

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.i18n import language_name
from nursery.i18n import lazy as _l
from nursery.models import Paper
from nursery.services.listing import Listing
from nursery.services.papers.applying import doubt
from nursery.services.papers.keeping import (
    STATE_LABELS,
    STATE_TONES,
    UNTRUE,
    State,
    all_untrue,
    kept,
    list_of,
    state_of,
    untrue_of,
)
from nursery.services.papers.printing import paper_pdf
from nursery.services.papers.signing import make_void, sign
from nursery.services.papers.words import DEFER, KIND_LABELS
from nursery.services.preferences import read_preferences
from nursery.web.links import address
from nursery.web.listing import Computed, export_list, view_list
from nursery.web.papers.forms import SignForm
from nursery.web.records import ID
from nursery.web.session import actor, db, today

bp = Blueprint("papers", __name__)


@bp.get("/papers")
def list_page() -> str:
    """All papers, and how long they are kept."""
    listed = view_list(_listing(), export="papers.export")
    return render_template(
        "papers/list.html", section="report", listed=listed,
        untrue=untrue_of(db(), [row.id for row in listed.page.rows], today()),
        kept=kept(db(), today()), years=read_preferences(db()).records_years, defer=DEFER,
    )  # fmt: skip


@bp.get("/papers.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The list as a file."""
    session, day = db(), today()
    told = Computed(_l("No longer true"), lambda ids: untrue_of(session, ids, day))
    return export_list(_listing(), _("Papers"), file_format, computed=[told])


@bp.get(f"/papers/{ID}")
def detail(record_id: int) -> str:
    """One paper as it was drawn up."""
    return _page(_get(record_id), SignForm())


@bp.get(f"/papers/{ID}.pdf")
def pdf(record_id: int) -> Response:
    """The paper, for printing."""
    paper = _get(record_id)
    content = paper_pdf(paper, lambda: doubt(db(), paper, today()))
    response = Response(content, content_type="application/pdf")
    response.headers.set("Content-Disposition", "inline", filename=f"{paper.number}.pdf")
    return response


@bp.post(f"/papers/{ID}/sign")
def sign_paper(record_id: int) -> ResponseReturnValue:
    """Write the signature down."""
    paper, form = _get(record_id), SignForm(request.form)
    if form.validate():
        try:
            sign(
                db(), actor(), paper=paper, signed_by=form.signed_by.data, signed_on=form.signed_on.data,
                today=today(),
            )  # fmt: skip
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        except Conflict as refused:
            db().rollback()
            flash(str(refused), "stop")
            return redirect(url_for(".detail", record_id=record_id), 303)
        else:
            flash(_("%(name)s has signed %(number)s.", name=paper.signed_by, number=paper.number), "ok")
            return redirect(url_for(".detail", record_id=record_id), 303)
    return _page(_get(record_id), form), 422


@bp.post(f"/papers/{ID}/void")
def void(record_id: int) -> ResponseReturnValue:
    """Take a paper out of force, with a reason."""
    paper = _get(record_id)
    try:
        make_void(db(), actor(), paper=paper, reason=request.form.get("reason", ""))
    except (Invalid, Conflict) as refused:
        db().rollback()
        flash(str(refused), "stop")
    else:
        flash(_("%(number)s is void. It is kept with the reason.", number=paper.number), "ok")
    return redirect(url_for(".detail", record_id=record_id), 303)


def _listing() -> Listing:
    """The list; which papers are true no longer is worked out for all of them where it is asked."""
    return list_of(frozenset(all_untrue(db(), today()) if request.args.get("truth") == UNTRUE else ()))


def _get(record_id: int) -> Paper:
    paper = db().get(
        Paper, record_id, options=[joinedload(Paper.dispatch), joinedload(Paper.lot), joinedload(Paper.recipient)]
    )
    return paper if paper is not None else abort(404)


def _page(paper: Paper, form: SignForm) -> str:
    state = state_of(paper)
    return render_template(
        "papers/detail.html", section="report", paper=paper, form=form, title=KIND_LABELS[paper.kind], state=state,
        state_label=STATE_LABELS[state], state_tone=STATE_TONES[state], is_draft=state is State.DRAFT,
        is_void=state is State.VOID, language=language_name(paper.language), defer=DEFER,
        subject_url=_subject_url(paper), untrue=doubt(db(), paper, today()),
    )  # fmt: skip


def _subject_url(paper: Paper) -> str:
    """The page where the papers of the same load or gift stand together."""
    if paper.dispatch_id is not None:
        return url_for("papers.of_load", dispatch_id=paper.dispatch_id)
    if paper.act:
        return url_for("papers.of_gift", act=paper.act)
    return address("lots.detail", record_id=paper.lot_id) if paper.lot_id else ""
