"""Choosing batches to merge, seeing what the rule of mixing says, and merging them."""

from __future__ import annotations

from collections.abc import Sequence

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.planning.mixing import SOURCE
from nursery.services import batches
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.ledger.verdicts import RULE_TEXTS, STATUS_LABELS
from nursery.web.batches.forms import ActForm
from nursery.web.batches.writing import attempt, get_batch
from nursery.web.session import actor, db

#: Batches offered to be merged with one.
_OFFERED = 200


def merge_page(record_id: int) -> ResponseReturnValue:
    """Choose, see the verdict, merge."""
    batch = get_batch(record_id)
    offered = _offered(batch)
    wanted = set(request.values.getlist("with"))
    chosen = [batch, *(other for other in offered if str(other.id) in wanted)]
    merger = batches.judge_merger(db(), chosen) if len(chosen) > 1 else None
    sent = request.method == "POST"
    form = None
    if merger is not None and not merger.refusals:
        form = ActForm(request.form if sent else None, batch=batch, names=("trays", "code"))
        merged = attempt(form, lambda: _merge(chosen, form)) if sent else None
        if merged is not None:
            flash(_("The batches became %(batch)s. Give it labels of its own.", batch=merged.code), "ok")
            if merger.needs_certificate:
                flash(
                    _("Plants of several populations or years need a new master certificate from the authority."),
                    "caution",
                )
            return redirect(url_for("batches.detail", record_id=merged.id), 303)
    batch = get_batch(record_id)
    page = render_template(
        "batches/merge.html", section="grow", batch=batch, offered=_offered(batch), chosen=wanted, merger=merger,
        form=form, stages=STAGE_LABELS, rule_texts=RULE_TEXTS, status_labels=STATUS_LABELS, source=SOURCE,
        refusal=_("No batch to merge with was chosen. Choose one or more of the list.")
        if sent and merger is None else "",
        cancel_url=url_for("batches.detail", record_id=batch.id),
    )  # fmt: skip
    return (page, 422) if sent else page


def _offered(batch: Batch) -> Sequence[Batch]:
    """Other batches of the species with plants alive."""
    return (
        db()
        .scalars(
            select(Batch)
            .where(Batch.species_id == batch.species_id, Batch.id != batch.id)
            .where(Batch.archived_at.is_(None), Batch.alive > 0)
            .options(joinedload(Batch.species), joinedload(Batch.lot), joinedload(Batch.container))
            .order_by(Batch.code)
            .limit(_OFFERED)
        )
        .all()
    )


def _merge(chosen: Sequence[Batch], form: ActForm) -> Batch:
    return batches.merge(
        db(), actor(), batches=chosen, trays=form.trays.data, code=form.code.data or "", **form.circumstances
    )
