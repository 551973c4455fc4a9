"""What this nursery has learned of a species: rates, their batches, what they change in the plan."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from flask import Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.evidence import kind_label, record_evidence, withdraw_evidence
from nursery.services.learned.comparing import compare_plan
from nursery.services.learned.reading import LearnedView, read_learned
from nursery.services.planning.words import STATUS
from nursery.tabular.writer import Cell, Heading
from nursery.web.listing import send_table
from nursery.web.session import actor, db, today
from nursery.web.species.evidence_form import EvidenceForm, evidence_form
from nursery.web.species.routes import bp


@bp.get("/species/<record_id>/learned")
def learned(record_id: str) -> ResponseReturnValue:
    """The page; an id leads to the page of its key."""
    view = read_learned(db(), record_id)
    if record_id != view.species.row.key:
        return redirect(url_for(".learned", record_id=view.species.row.key))
    return _page(view, evidence_form(view, happened_on=today()))


@bp.post("/species/<record_id>/learned")
def add_evidence(record_id: str) -> ResponseReturnValue:
    """Write one batch down."""
    view = read_learned(db(), record_id)
    form = evidence_form(view, request.form)
    if form.validate():
        try:
            row = record_evidence(db(), actor(), species=view.species.row.key, values=form.values(), today=today())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            rate = kind_label(row.part, row.rate)
            flash(_("The batch counts. %(rate)s now follows all batches seen here.", rate=rate), "ok")
            return redirect(
                url_for(".learned", record_id=view.species.row.key, _anchor=f"{row.part}-{row.rate}"), 303
            )
    return _page(read_learned(db(), record_id), form), 422


@bp.post("/species/<record_id>/learned/<int:evidence_id>/withdraw")
def withdraw(record_id: str, evidence_id: int) -> ResponseReturnValue:
    """Let one batch count no longer."""
    try:
        withdraw_evidence(
            db(), actor(), species=record_id, evidence_id=evidence_id, reason=request.form.get("reason", "")
        )
    except Invalid as refused:
        db().rollback()
        flash(str(refused), "stop")
    else:
        flash(_("The batch counts no longer; it stays on record with the reason."), "ok")
    return redirect(url_for(".learned", record_id=record_id, _anchor="withdrawn"), 303)


@bp.get("/species/<record_id>/learned.<any(csv,xlsx):file_format>")
def learned_export(record_id: str, file_format: str) -> Response:
    """All batches of the species as a file, the withdrawn ones too."""
    view = read_learned(db(), record_id)
    headings = [
        Heading(_("Rate"), width=28),
        Heading(_("Day"), "date"),
        Heading(_("What it was"), width=28),
        Heading(_("Lot"), width=16),
        Heading(_("Succeeded"), "number"),
        Heading(_("Of"), "number"),
        Heading(_("Share"), "number", digits=4),
        Heading(_("Beside the other batches"), "number", digits=4),
        Heading(_("Person"), width=18),
        Heading(_("Withdrawn because"), width=28),
    ]
    title = _("Learned rates of %(species)s", species=view.species.entry.scientific_name)
    return send_table(title, headings, _rows(view), file_format)


def _rows(view: LearnedView) -> Iterator[list[Cell]]:
    for rate in view.rates:
        for each in rate.batches:
            batch = each.batch
            yield [
                rate.label, batch.happened_on, each.origin_label, each.lot_code, _count(batch.successes),
                _count(batch.trials), round(each.share, 6), round(each.mean, 6), batch.person, "",
            ]  # fmt: skip
    for row in view.withdrawn:
        yield [
            kind_label(row.part, row.rate), row.happened_on, row.source, "", _count(row.successes),
            _count(row.trials), round(row.successes / row.trials, 6), None, row.person, row.withdrawn_reason,
        ]  # fmt: skip


def _count(value: float) -> float:
    """Whole numbers without a point."""
    return int(value) if value == int(value) else value


def _page(view: LearnedView, form: EvidenceForm) -> str:
    context: dict[str, Any] = {
        "view": view,
        "species": view.species,
        "form": form,
        "lines": compare_plan(db(), view.species.row.id, today=today()) if view.rates else [],
        "statuses": STATUS,
        "kind_label": kind_label,
        "exports": [
            (name.upper(), url_for(".learned_export", record_id=view.species.row.key, file_format=name))
            for name in ("csv", "xlsx")
        ],
    }
    return render_template("species/learned.html", section="species", **context)
