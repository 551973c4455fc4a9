"""From a task to the page where it is done."""

from __future__ import annotations

from nursery.i18n import gettext as _
from nursery.models import Task
from nursery.planning.work.words import Job
from nursery.web.links import address, line_address


def places_of_work(task: Task) -> list[tuple[str, str]]:
    """``(label, address)`` of pages, the one on which the work itself is written down first."""
    found = [_own(task)]
    if task.batch_id is not None:
        found.append((_("The batch"), address("batches.detail", record_id=task.batch_id)))
    if task.lot_id is not None:
        found.append((_("The lot"), address("lots.detail", record_id=task.lot_id)))
    if task.line_id is not None:
        found.append((_("The plan line"), line_address(task.line_id)))
    if task.site_id is not None:
        found.append((_("The planting site"), address("sites.detail", record_id=task.site_id)))
    if task.population_id is not None:
        found.append((_("The population"), address("populations.detail", record_id=task.population_id)))
    unique = {url: label for label, url in reversed(found) if url}
    return [(label, url) for url, label in reversed(unique.items())]


def _own(task: Task) -> tuple[str, str]:
    """The page on which the work itself is written down; an empty address where there is none."""
    told, found = task.details, ("", "")
    match task.job:
        case Job.SOW:
            found = (
                _("Sow it: the batch begins"),
                address("batches.new", draw=told.get("draw"), lot=told.get("lot")),
            )
        case Job.COUNT | Job.GRADE if task.batch_id is not None:
            stage = told.get("stage", "ready")
            found = _("Count"), address("batches.count", record_id=task.batch_id, stage=stage)
        case Job.PRICK_OUT | Job.THIN | Job.MOVE if task.batch_id is not None:
            found = _("Write it down"), address("batches.act", record_id=task.batch_id, act_name=task.job.value)
        case Job.DISPATCH:
            found = _("The load that takes them there"), address("dispatches.of_task", task_id=task.id)
        case Job.NOTICE:
            found = _("The permit, to note the notice"), address("permits.detail", record_id=task.permit_id)
        case Job.COLLECT if told.get("recorded"):
            found = _("The trip"), address("trips.detail", record_id=told["recorded"])
        case Job.COLLECT:
            found = _("The trip in the programme"), address("programme.trip", trip_key=told.get("trip", ""))
        case Job.SURVEY:
            asked = {"site": task.site_id, "season": told.get("season"), "year": told.get("year")}
            found = _("Count a plot"), address("surveys.new", **asked)
        case Job.RETEST:
            found = _("Write the test down"), address("lots.detail", record_id=task.lot_id)
    return found
