"""The pages of standard times: all jobs, and one job's own figure."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from wtforms import Form

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.work.times import WORKING_TIMES
from nursery.planning.work.words import Job
from nursery.services.costing.standard_times import (
    HOURS_PER_1000,
    drop_standard_time,
    own_times,
    set_standard_time,
    standard_times,
)
from nursery.services.costing.words import JOB_LABELS, UNIT_LABELS
from nursery.services.work.syncing import sync_tasks
from nursery.web.fields import NotesField, NumberField
from nursery.web.session import actor, db, today

bp = Blueprint("standard_times", __name__)

_JOB = f"<any({', '.join(repr(job.value) for job in Job)}):job>"


class TimeForm(Form):
    """An own figure and where it comes from."""

    hours_per_1000 = NumberField(_l("Hours of one person"), bounds=HOURS_PER_1000, digits=3, needed=True)
    reason = NotesField(
        _l("Where the figure comes from"), description=_l("Such as: timed on 3 March, four trays.")
    )


@bp.get("/standard-times")
def page() -> str:
    """Every job with the time in force."""
    return render_template(
        "standard_times/page.html",
        section="grow",
        times=standard_times(db()),
        own=own_times(db()),
        working=WORKING_TIMES,
        jobs=JOB_LABELS,
        units=UNIT_LABELS,
    )


@bp.route(f"/standard-times/{_JOB}", methods=["GET", "POST"])
def change(job: str) -> ResponseReturnValue:
    """One job's own figure."""
    row = own_times(db()).get(Job(job))
    if request.method != "POST":
        return _show(Job(job), TimeForm(obj=row))
    form = TimeForm(request.form)
    if form.validate():
        try:
            set_standard_time(
                db(), actor(), job=Job(job), hours_per_1000=form.hours_per_1000.data, reason=form.reason.data
            )
        except Invalid as refused:
            db().rollback()
            for name, told in refused.errors.items():
                form[name].errors = [*form[name].errors, told]
        else:
            sync_tasks(db(), actor(), today=today())
            told = _(
                "The standard time of “%(job)s” was saved. Open tasks are reckoned by it.",
                job=JOB_LABELS[Job(job)],
            )
            flash(told, "ok")
            if not form.hours_per_1000.data:
                flash(
                    _("0 hours: such work fills no week and costs nothing in what is reckoned. If that is not"
                      " meant, correct it."),
                    "caution",
                )  # fmt: skip
            return redirect(url_for(".page"), 303)
    return _show(Job(job), form), 422


@bp.post(f"/standard-times/{_JOB}/drop")
def drop(job: str) -> ResponseReturnValue:
    """Back to the working figure."""
    drop_standard_time(db(), actor(), job=Job(job))
    sync_tasks(db(), actor(), today=today())
    flash(_("“%(job)s” goes by the working figure again.", job=JOB_LABELS[Job(job)]), "ok")
    return redirect(url_for(".page"), 303)


def _show(job: Job, form: TimeForm) -> str:
    return render_template(
        "standard_times/change.html",
        section="grow",
        form=form,
        job=job,
        row=own_times(db()).get(job),
        label=JOB_LABELS[job],
        working=WORKING_TIMES[job],
        unit=UNIT_LABELS[WORKING_TIMES[job].unit],
    )
