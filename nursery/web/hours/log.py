"""Hours that were worked: the list, the form for a phone, and withdrawing."""

from __future__ import annotations

import datetime as dt
from typing import Any

from flask import Blueprint, Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Batch, Person, Task, WorkTime
from nursery.planning.work.words import Job
from nursery.services.costing.words import JOB_LABELS, UNIT_LABELS
from nursery.services.costing.work_times import LISTING, get_work_time, log_hours, withdraw_hours
from nursery.services.costing.worked import read_worked
from nursery.services.listing import whole
from nursery.web.hours.forms import HoursForm, WithdrawForm
from nursery.web.listing import export_list, view_list
from nursery.web.records import ID
from nursery.web.session import actor, db, today


def add_routes(bp: Blueprint) -> None:
    """The pages of the log beside those of the weeks."""
    both = ["GET", "POST"]
    bp.add_url_rule("/hours/log", "log", page)
    bp.add_url_rule("/hours/log.<any(csv,xlsx):file_format>", "log_export", export)
    bp.add_url_rule("/hours/log/new", "log_new", new, methods=both)
    bp.add_url_rule(f"/hours/log/{ID}/withdraw", "withdraw", withdraw, methods=both)


def page() -> str:
    """What was written down."""
    return render_template(
        "hours/log.html", section="grow", listed=view_list(LISTING, export="hours.log_export"),
        worked=read_worked(db()), jobs=JOB_LABELS, units=UNIT_LABELS,
    )  # fmt: skip


def export(file_format: str) -> Response:
    """The log as a file."""
    return export_list(LISTING, _("Hours worked"), file_format)


def new() -> ResponseReturnValue:
    """The form, or its writing; “and another” keeps the person, the day and the work."""
    if request.method != "POST":
        return _show(HoursForm(data=_initial()))
    form = HoursForm(request.form, data={"task_id": request.args.get("task", "")})
    if form.validate():
        try:
            row = log_hours(db(), actor(), values=form.values(), today=today())
        except Invalid as refused:
            db().rollback()
            for name, told in refused.errors.items():
                form[name].errors = [*form[name].errors, told]
        else:
            flash(_saved(row), "ok")
            if request.form.get("then") == "another":
                day = row.worked_on.isoformat()
                again = url_for(".log_new", who=row.worker_id, day=day, job=row.job.value)
                return redirect(again, 303)
            return redirect(url_for(".log"), 303)
    return _show(form), 422


def withdraw(record_id: int) -> ResponseReturnValue:
    """Why an entry is wrong, or its withdrawal."""
    row = get_work_time(db(), record_id)
    form = WithdrawForm(request.form)
    if request.method != "POST":
        return _show_withdraw(row, form)
    try:
        withdraw_hours(db(), actor(), row=row, reason=form.reason.data)
    except Invalid as refused:
        db().rollback()
        form.reason.errors = [refused.errors["reason"]]
        return _show_withdraw(row, form), 422
    flash(_("The entry was withdrawn. It stays on record and counts no more."), "ok")
    return redirect(url_for(".log"), 303)


def _saved(row: WorkTime) -> str:
    hours = format_number(row.hours, 2)
    return _("%(hours)s hours of “%(job)s” were saved.", hours=hours, job=JOB_LABELS[row.job])


def _initial() -> dict[str, Any]:
    """What is known already: from the task or batch the person came from, the entry before, or who sits here."""
    known: dict[str, Any] = {"worked_on": _day(), "worker_id": request.args.get("who", type=whole) or _who()}
    task = db().get(Task, request.args.get("task", 0, type=whole))
    if task is not None:
        known |= {"task_id": task.id, "job": task.job, "batch_id": task.batch_id}
        known["worker_id"] = task.person_id or known["worker_id"]
    if (job := request.args.get("job", "")) in {job.value for job in Job}:
        known["job"] = Job(job)
    if batch := request.args.get("batch", ""):
        known["batch_id"] = db().scalar(select(Batch.id).where(Batch.code == batch))
    return known


def _day() -> dt.date:
    """The day of the entry before, or today."""
    try:
        return min(dt.date.fromisoformat(request.args.get("day", "")), today())
    except ValueError:
        return today()


def _who() -> int | None:
    """The person of the same name as who sits here, or the only one."""
    active = db().execute(select(Person.id, Person.name).where(Person.archived_at.is_(None)).limit(500)).all()
    same = [key for key, name in active if name.casefold() == actor().casefold()]
    return same[0] if same else active[0].id if len(active) == 1 else None


def _show_withdraw(row: WorkTime, form: WithdrawForm) -> str:
    return render_template("hours/withdraw.html", section="grow", row=row, form=form, jobs=JOB_LABELS)


def _show(form: HoursForm) -> str:
    return render_template("hours/log_new.html", section="grow", form=form)
