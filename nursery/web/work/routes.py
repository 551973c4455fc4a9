"""Pages of work that are looked at."""

from __future__ import annotations

import datetime as dt
from itertools import groupby
from typing import Any

from flask import Blueprint, Response, render_template, request, url_for
from sqlalchemy import ColumnElement

from nursery.i18n import gettext as _
from nursery.models import Task
from nursery.planning.work.words import TaskStatus
from nursery.services.costing.words import JOB_LABELS
from nursery.services.dispatches.reading import under_way
from nursery.services.dispatches.words import STATUS_LABELS, STATUS_TONES
from nursery.services.weeks import Week
from nursery.services.work import reading, words
from nursery.services.work.costing_slips import slips_if_done
from nursery.services.work.instructions import instructions
from nursery.services.work.listing import listing_of
from nursery.services.work.reading import Asked
from nursery.services.work.slipping import followers
from nursery.web.health.panels import of_work
from nursery.web.links import address
from nursery.web.listing import export_list, view_list
from nursery.web.records import ID
from nursery.web.session import db, today
from nursery.web.work.forms import DoneForm, MoveForm, PartForm, PersonForm, SkipForm
from nursery.web.work.links import places_of_work

bp = Blueprint("work", __name__)


@bp.get("/work")
def page() -> str:
    """Late, today, this week; or the week that the address names."""
    asked, week = _asked(), Week.parse(request.args.get("week", ""))
    shown: dict[str, Any] = {
        "section": "grow", "asked": asked, "week": week, "this_week": Week.of(today()), "words": words,
        "people": reading.people_options(db()), "places": reading.place_options(db()), "jobs": JOB_LABELS,
        "here": _here, "undo": _undo(), **of_work(),
    }  # fmt: skip
    if week is not None:
        tasks = reading.read_week(db(), asked, week)
        days = [(day, list(those)) for day, those in groupby(tasks, lambda task: task.due_on)]
        return render_template("work/week.html", **shown, days=days)
    found = reading.read_today(db(), asked, today=today())
    loads = under_way(db(), until=today() + dt.timedelta(days=1))
    told = {"loads": loads, "states": STATUS_LABELS, "tones": STATUS_TONES}
    return render_template("work/today.html", **shown, **told, found=found)


@bp.get("/tasks/sheet")
def sheet() -> str:
    """A week on paper: a sheet for each person, with the protocol's words and what to take care of."""
    week = Week.parse(request.args.get("week", "")) or Week.of(today())
    asked = _asked()
    tasks = [task for task in reading.read_week(db(), asked, week) if task.status in reading.OPEN]
    late = reading.read_today(db(), asked, today=today()).late if week.holds(today()) else []
    everyone = [*(task for task in late if task.due_on < week.monday), *tasks]
    by_person = sorted(everyone, key=lambda task: (task.person.name if task.person else "\uffff", task.due_on))
    people = [
        (name, list(those)) for name, those in groupby(by_person, lambda t: t.person.name if t.person else "")
    ]
    return render_template(
        "work/sheet.html", section="grow", week=week, asked=asked, people=people, words=words,
        told=instructions(db(), everyone), here=_here, this_week=Week.of(today()), **of_work(),
    )  # fmt: skip


@bp.get("/tasks")
def list_page() -> str:
    """All tasks, filtered and sorted; those that are ticked can be given to somebody."""
    listed = view_list(listing_of(today()), export="work.export", where=_asked_for())
    return render_template("work/list.html", section="grow", listed=listed, people=reading.people_options(db()))


@bp.get("/tasks.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The same list as a file."""
    return export_list(listing_of(today()), _("Work"), file_format, where=_asked_for())


def _asked_for() -> list[ColumnElement[bool]]:
    """What is over is listed where a person asks for it, else what is still to do."""
    if request.args.get("status"):
        return []
    if request.args.get("when") == "over":
        return [Task.status != TaskStatus.DROPPED]
    return [Task.status.in_(reading.OPEN)]


@bp.get(f"/tasks/{ID}")
def detail(record_id: int) -> str:
    """One task."""
    return show_task(reading.get_task(db(), record_id))


def show_task(task: Task, **forms: Any) -> str:
    """The page of a task; a form that was refused takes the place of a fresh one."""
    day = today()
    is_open = task.status in reading.OPEN
    fresh = {
        "done": DoneForm(data={"done_on": day}),
        "part": PartForm(data={"amount": task.done_amount, "done_on": day}),
        "skip": SkipForm(),
        "move": MoveForm(data={"due_on": max(day, task.due_on)}),
        "person": PersonForm(data={"person_id": task.person_id}),
    }
    behind = sorted(followers(db(), [task]), key=lambda one: (one.due_on, one.id))
    return render_template(
        "work/task.html", section="grow", task=task, words=words, forms=fresh | forms, behind=behind,
        status=words.STATUS,
        before=db().get(Task, task.after_id) if task.after_id else None, is_open=is_open,
        is_late=is_open and task.due_on < day, told=instructions(db(), [task])[task.id],
        slip=slips_if_done(db(), [task], day).get(task.id) if is_open and task.due_on <= day else None,
        links=places_of_work(task), job=JOB_LABELS[task.job],
        hours_url=address("hours.log_new", task=task.id, job=task.job.value, who=task.person_id),
    )  # fmt: skip


def _name(task: Task) -> str:
    return task.person.name if task.person is not None else ""


def _asked() -> Asked:
    return Asked(*(request.args.get(name, "")[:20] for name in ("person", "place", "job")))


def _here(endpoint: str = "work.page", **changes: str | None) -> str:
    """The same question on another page, or another week."""
    kept = {name: request.args[name][:20] for name in ("person", "place", "job") if request.args.get(name)}
    return url_for(endpoint, **{**kept, **changes})  # type: ignore[arg-type]


def _undo() -> Task | None:
    """The task that was marked just now, to take it back with one touch."""
    number = request.args.get("marked", "")
    if not (number.isascii() and number.isdigit() and len(number) < 10):
        return None
    task = db().get(Task, int(number))
    return task if task is not None and task.status in {"done", "skipped", "partly"} else None
