"""The page on which one paper is drawn up: what it will say, and what is missing and where."""

from __future__ import annotations

from flask import abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models.papers import PaperKind
from nursery.services.papers.applying import notices
from nursery.services.papers.cases import Stated
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.drawing_up import Preview, draw_up, preview
from nursery.services.papers.seed_quality import waiver_warning
from nursery.services.papers.words import DEFER, FOREST, KIND_LABELS
from nursery.services.papers.zones import zone_note
from nursery.web.papers.forms import DrawForm
from nursery.web.papers.looking import ALL, link_of, on_record
from nursery.web.session import actor, db, today


def draw_page(
    consignment: Consignment, kind: PaperKind, key: str, *, back_url: str, subject: str
) -> ResponseReturnValue:
    """The form of one paper, or its drawing up."""
    part = _part(consignment, kind, key)
    asked = {
        row.field for section in preview(db(), kind, consignment, part, Stated()).sections for row in section.rows
    }
    form = DrawForm(request.form if request.method == "POST" else None, kind=kind, asked=asked)
    if request.method == "POST" and form.validate():
        try:
            paper = draw_up(
                db(), actor(), kind=kind, consignment=consignment, part=part, stated=form.stated,
                language=str(form.language.data), today=today(),
            )  # fmt: skip
        except Invalid as refused:
            form.refuse({field.replace("-", "_"): told for field, told in refused.errors.items()})
        except Conflict as refused:
            form.form_errors.append(str(refused))
        else:
            told = _(
                "%(number)s was drawn up. It is a draft until somebody checks and signs it.", number=paper.number
            )
            flash(told, "ok")
            return redirect(url_for("papers.detail", record_id=paper.id), 303)
    page = _show(consignment, kind, part, form, back_url, subject)
    return (page, 422) if request.method == "POST" else page


def _warnings(found: Preview) -> list[str]:
    """What to mind of this very paper."""
    is_passport = found.case.kind is PaperKind.PASSPORT
    return [waiver_warning(found.case), zone_note(found.case.consignment) if is_passport else ""]


def _part(consignment: Consignment, kind: PaperKind, key: str) -> Part | None:
    """The part that the address names; papers of the law on forest material have one, the others none."""
    if (kind in FOREST) == (key == ALL):
        abort(404)
    if key == ALL:
        return None
    return consignment.part(key) or abort(404)


def _show(
    consignment: Consignment, kind: PaperKind, part: Part | None, form: DrawForm, back_url: str, subject: str
) -> str:
    found = preview(db(), kind, consignment, part, form.stated)
    return render_template(
        "papers/draw.html", section="report", form=form, title=KIND_LABELS[kind], subject=subject, part=part,
        sections=found.sections, missing=on_record(found.missing), link_of=link_of, back_url=back_url,
        notices=[*filter(None, _warnings(found)), *notices(consignment)], defer=DEFER,
    )  # fmt: skip
