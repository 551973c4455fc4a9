"""What is done to tasks: marking, putting off, giving to somebody, all of it back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from flask import Blueprint, flash, redirect, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from werkzeug.datastructures import MultiDict
from werkzeug.urls import iri_to_uri

from nursery.errors import Conflict, Forbidden, Invalid
from nursery.i18n import format_date, ngettext
from nursery.i18n import gettext as _
from nursery.models import Person, Task
from nursery.planning.work.words import TaskStatus
from nursery.services import records
from nursery.services.work import words
from nursery.services.work.doing import (
    Done,
    assign_tasks,
    finish_task,
    move_task,
    part_task,
    reopen_task,
    skip_task,
)
from nursery.services.work.reading import NOBODY, get_task
from nursery.services.work.syncing import sync_tasks
from nursery.web.paths import back
from nursery.web.records import ID
from nursery.web.session import actor, db, today
from nursery.web.work.forms import DoneForm, MoveForm, PartForm, PersonForm, SkipForm
from nursery.web.work.routes import show_task

#: Tasks that can be given to somebody at once.
MOST = 500


def add_routes(bp: Blueprint) -> None:
    """The addresses; all of them are posted to."""
    for verb, view in (("done", done), ("part", part), ("skip", skip), ("move", move), ("reopen", reopen)):
        bp.add_url_rule(f"/tasks/{ID}/{verb}", verb, view, methods=["POST"])
    bp.add_url_rule(f"/tasks/{ID}/person", "person", person, methods=["POST"])
    bp.add_url_rule("/tasks/assign", "assign", assign, methods=["POST"])
    bp.add_url_rule("/tasks/done", "done_many", done_many, methods=["POST"])
    bp.add_url_rule("/tasks/move", "move_many", move_many, methods=["POST"])
    bp.add_url_rule("/tasks/refresh", "refresh", refresh, methods=["POST"])


def done(record_id: int) -> ResponseReturnValue:
    """Done: today, where no day is said, so that one touch suffices."""
    said = {**request.form.to_dict(), "done_on": request.form.get("done_on") or today().isoformat()}
    return _act(record_id, "done", DoneForm(MultiDict(said)), _finish)


def _finish(task: Task, values: dict[str, Any]) -> Done:
    return finish_task(db(), actor(), task=task, today=today(), **values)


def part(record_id: int) -> ResponseReturnValue:
    """Some of it is done."""
    return _act(
        record_id, "part", PartForm(request.form),
        lambda task, values: part_task(db(), actor(), task=task, today=today(), **values),
    )  # fmt: skip


def skip(record_id: int) -> ResponseReturnValue:
    """It is not going to be done."""
    return _act(
        record_id, "skip", SkipForm(request.form),
        lambda task, values: skip_task(db(), actor(), task=task, today=today(), **values),
    )  # fmt: skip


def move(record_id: int) -> ResponseReturnValue:
    """It is put off, or brought forward."""
    return _act(
        record_id, "move", MoveForm(request.form),
        lambda task, values: move_task(db(), actor(), task=task, today=today(), **values),
    )  # fmt: skip


def reopen(record_id: int) -> ResponseReturnValue:
    """What was said of it is taken back."""
    task = get_task(db(), record_id)
    try:
        changed = reopen_task(db(), actor(), task=task, today=today())
    except Conflict as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(_back(record_id), 303)
    flash(_("Open again: %(task)s.", task=words.line(task)), "ok")
    _tell(changed)
    return redirect(_back(record_id), 303)


def person(record_id: int) -> ResponseReturnValue:
    """Give one task to somebody."""
    task, form = get_task(db(), record_id), PersonForm(request.form)
    if form.validate():
        assign_tasks(db(), actor(), tasks=[task], person_id=form.person_id.data)
        flash(_("Saved who does it."), "ok")
    return redirect(url_for("work.detail", record_id=record_id), 303)


def assign() -> ResponseReturnValue:
    """Give all that is ticked to somebody, or to nobody."""
    tasks, chosen = _ticked(), request.form.get("person", "")
    if not tasks or not chosen:
        flash(_("Tick the tasks first, and choose who does them."), "caution")
        return redirect(back(), 303)
    worker = None if chosen == NOBODY else _person(chosen)
    count = assign_tasks(db(), actor(), tasks=tasks, person_id=worker.id if worker else None)
    told = ngettext("%(num)s task was given to %(person)s.", "%(num)s tasks were given to %(person)s.", count,
                    person=worker.name if worker else _("nobody"))  # fmt: skip
    flash(told, "ok")
    return redirect(back(), 303)


def done_many() -> ResponseReturnValue:
    """All that is ticked is done, today."""
    return _act_on_all(
        lambda task: finish_task(db(), actor(), task=task, done_on=today(), today=today()),
        lambda count: ngettext("%(num)s task is done.", "%(num)s tasks are done.", count),
    )


def move_many() -> ResponseReturnValue:
    """All that is ticked is put off to one day."""
    form = MoveForm(request.form)
    day = form.due_on.data if form.validate() else None
    if day is None:
        flash(_("Say to which day they are put off."), "caution")
        return redirect(back(), 303)
    return _act_on_all(
        lambda task: move_task(db(), actor(), task=task, due_on=day, today=today()),
        lambda count: ngettext(
            "%(num)s task is put off to %(day)s.",
            "%(num)s tasks are put off to %(day)s.",
            count,
            day=format_date(day),
        ),
    )


def _ticked() -> Sequence[Task]:
    """Tasks that are ticked, those that come first first."""
    ids = [int(text) for text in request.form.getlist("task")[:MOST] if text.isascii() and text.isdigit()]
    chosen = Task.id.in_([one for one in ids if one < 2**31])
    return db().scalars(select(Task).where(chosen).order_by(Task.due_on, Task.id)).all() if ids else []


def _act_on_all(write: Callable[[Task], Done], said: Callable[[int], str]) -> ResponseReturnValue:
    """One after another; those that are refused are named with the reason, and the others hold."""
    tasks = _ticked()
    if not tasks:
        flash(_("Tick the tasks first."), "caution")
        return redirect(back(), 303)
    written, moved = 0, 0
    for task in tasks:
        try:
            with db().begin_nested():
                moved += write(task).slip.moved
        except (Invalid, Conflict, Forbidden) as refused:
            flash(f"{words.line(task)}: {refused}", "stop")
        else:
            written += 1
    if written:
        flash(said(written), "ok")
    if moved:
        flash(ngettext("%(num)s task moved with it.", "%(num)s tasks moved with it.", moved), "info")
    return redirect(back(), 303)


def refresh() -> ResponseReturnValue:
    """Bring the tasks up to date with plan, permits, lots and batches as they are now."""
    found = sync_tasks(db(), actor(), today=today())
    flash(
        _(
            "Up to date: %(made)s tasks came new, %(changed)s changed, %(dropped)s are no longer asked for.",
            made=found.made, changed=found.changed, dropped=found.dropped,
        ),
        "ok",
    )  # fmt: skip
    return redirect(url_for("work.page"), 303)


def _act(
    record_id: int, verb: str, form: Any, write: Callable[[Task, dict[str, Any]], Done]
) -> ResponseReturnValue:
    task = get_task(db(), record_id)
    if not form.validate():
        return show_task(task, **{verb: form}), 422
    try:
        changed = write(task, form.values())
    except Invalid as refused:
        db().rollback()
        for name, message in refused.errors.items():
            form[name].errors = [*form[name].errors, message]
        return show_task(get_task(db(), record_id), **{verb: form}), 422
    except Conflict as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(_back(record_id), 303)
    flash(_said(task), "ok")
    _tell(changed)
    return redirect(_back(record_id, marked=verb != "move"), 303)


def _said(task: Task) -> str:
    told = words.line(task)
    match task.status:
        case TaskStatus.DONE:
            return _("Done: %(task)s.", task=told)
        case TaskStatus.PARTLY:
            return _("Partly done: %(task)s.", task=told)
        case TaskStatus.SKIPPED:
            return _("Skipped: %(task)s.", task=told)
        case _:
            return _("Moved: %(task)s.", task=told)


def _tell(changed: Done) -> None:
    """What it moved, and what that costs."""
    slip = changed.slip
    if not slip.moved:
        return
    moved = ngettext("%(num)s task moved with it.", "%(num)s tasks moved with it.", slip.moved)
    flash(f"{moved} {slip.text}".strip(), slip.tone)


def _back(record_id: int, *, marked: bool = False) -> str:
    """The page it was done on, with the way to undo it."""
    here = back() if request.form.get("next") else url_for("work.detail", record_id=record_id)
    if not marked or "/tasks/" in here:
        return here
    return iri_to_uri(f"{here}{'&' if '?' in here else '?'}marked={record_id}")


def _person(text: str) -> Person:
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    return records.get(db(), Person, number)
