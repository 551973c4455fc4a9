"""Forms of hours worked."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from wtforms import Form, HiddenField

from nursery.i18n import lazy as _l
from nursery.models import Batch, Person, Species
from nursery.planning.work.words import Job
from nursery.services.costing.words import JOB_LABELS
from nursery.services.costing.work_times import HOURS
from nursery.web.fields import ChoiceField, DayField, NotesField, NumberField
from nursery.web.record_fields import RecordField, RecordSelect

#: What a batch is, beside its code.
_SPECIES = select(Species.scientific_name).where(Species.id == Batch.species_id).scalar_subquery()


class HoursForm(Form):
    """Work, hours, who and when; the rest may be left out."""

    job = ChoiceField(_l("Work"), kind=Job, labels=JOB_LABELS, default=Job.SOW)
    hours = NumberField(
        _l("Hours"),
        bounds=HOURS,
        digits=2,
        needed=True,
        description=_l("Of this person. 1,5 and 1.5 mean the same."),
    )
    worker_id = RecordSelect(_l("Who"), model=Person)
    worked_on = DayField(_l("Day"), needed=True)
    batch_id = RecordField(
        _l("Batch"), model=Batch, described=_SPECIES, description=_l("Left empty, the work was for all.")
    )
    notes = NotesField(_l("Notes"))
    task_id = HiddenField()

    def values(self) -> dict[str, Any]:
        """Column values for the service."""
        told = {name: field.data for name, field in self._fields.items()}
        task = str(told["task_id"] or "")
        return told | {"task_id": int(task) if task.isascii() and task.isdigit() and len(task) < 10 else None}


class WithdrawForm(Form):
    """Why an entry is wrong."""

    reason = NotesField(_l("Why is it wrong?"), description=_l("The entry stays on record with this reason."))
