"""Counting: the short form on the batch's page, the long one on a page of its own, and withdrawing a count."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.i18n import format_date, ngettext
from nursery.i18n import gettext as _
from nursery.models import Batch, Count
from nursery.planning.growing.words import Stage
from nursery.services import batches
from nursery.services.batches.estimating import estimate
from nursery.services.batches.page import stage_to_count, ungraded
from nursery.services.batches.sampling import trays_to_look_at
from nursery.services.batches.words import STAGE_LABELS, plants_text
from nursery.web.batches.forms import ActForm, CountForm
from nursery.web.batches.writing import attempt, get_batch
from nursery.web.health.panels import of_act
from nursery.web.session import actor, db, today


def count_page(record_id: int) -> ResponseReturnValue:
    """The form of a count, or its writing."""
    batch = get_batch(record_id)
    sent = request.method == "POST"
    form = count_form(batch, sent=sent)
    if sent:
        count = attempt(form, lambda: _record(batch, form))
        if count is not None:
            told, tone = tell(count)
            flash(told, tone)
            return redirect(url_for("batches.detail", record_id=batch.id), 303)
    batch = get_batch(record_id)
    page = render_template(
        "batches/count.html", section="grow", batch=batch, form=form,
        look_at=trays_to_look_at(batch, today()), cancel_url=url_for("batches.detail", record_id=batch.id),
        **of_act(batch),
    )  # fmt: skip
    return (page, 422) if sent else page


def count_form(batch: Batch, *, sent: bool = False) -> CountForm:
    """The form, ready for the count that is most likely next."""
    asked = request.args.get("stage", "")
    stage = Stage(asked) if asked in set(Stage) - {Stage.SOWN} else stage_to_count(batch, today())
    return CountForm(request.form if sent else None, batch=batch, stage=stage)


def _record(batch: Batch, form: CountForm) -> Count:
    return batches.record_count(
        db(), actor(), batch=batch, stage=form.stage.data, counted_on=form["counted_on"].data, today=today(),
        plants=form.plants.data, sample=form.sample.data or None, trays=form.trays.data, grades=form.graded(),
        notes=form.notes.data or "", cause=form.cause.data,
    )  # fmt: skip


def tell(count: Count) -> tuple[str, str]:
    """What was saved, in a sentence, with its tone."""
    saved = _(
        "Saved: %(plants)s, %(stage)s, %(day)s.",
        plants=plants_text(count.plants),
        stage=str(STAGE_LABELS[count.stage]).lower(),
        day=format_date(count.counted_on),
    )
    if rest := ungraded(count):
        saved += " " + ngettext(
            "%(num)s of them has no size: the sizes come to less than was counted.",
            "%(num)s of them have no size: the sizes come to less than was counted.",
            rest,
        )
    if count.sample is None:
        return saved, "caution" if rest else "ok"
    saved += " " + _("In 95 of 100 such counts it lies from %(low)s to %(high)s.", low=count.low, high=count.high)
    more = estimate(plants=None, sample=count.sample, trays=count.trays).more_trays
    if not more:
        return saved + " " + _("That is within 10 % of the plants."), "ok"
    return saved + " " + ngettext(
        "Look at %(num)s more tray for ±10 %%.", "Look at %(num)s more trays for ±10 %%.", more
    ), "caution"  # fmt: skip


def withdraw_page(record_id: int, count_id: int) -> ResponseReturnValue:
    """Ask why a count should not stand, and withdraw it."""
    batch = get_batch(record_id)
    count = next((one for one in batch.counts if one.id == count_id), None)
    if count is None or count.withdrawn_at is not None:
        flash(_("This count has been withdrawn already."), "caution")
        return redirect(url_for("batches.detail", record_id=batch.id), 303)
    sent = request.method == "POST"
    form = ActForm(request.form if sent else None, batch=batch, names=())
    del form["happened_on"]
    if sent and attempt(
        form,
        lambda: batches.withdraw_count(db(), actor(), count=count, reason=form.reason.data or "", today=today()),
    ):
        flash(_("The count was withdrawn. It stays readable, and counts for nothing."), "ok")
        return redirect(url_for("batches.detail", record_id=record_id, _anchor="counts"), 303)
    page = render_template(
        "batches/withdraw.html", section="grow", batch=get_batch(record_id), count=db().get(Count, count_id),
        form=form, stages=STAGE_LABELS, cancel_url=url_for("batches.detail", record_id=record_id),
    )  # fmt: skip
    return (page, 422) if sent else page
