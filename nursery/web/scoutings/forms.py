"""The form of a note from a walk: short, for a phone between the benches."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models import Nursery
from nursery.models.health import Finding
from nursery.services.health.scouting import AFFECTED
from nursery.services.health.words import FINDINGS
from nursery.web.fields import ChoiceField, DayField, NotesField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.health.fields import BatchField, BenchField, PhotosField
from nursery.web.record_fields import RecordSelect


class ScoutingForm(RecordForm):
    """Finding first, then where, then the rest, which may stay as it is."""

    finding = ChoiceField(_l("Finding"), kind=Finding, labels=FINDINGS, default=Finding.DISEASE)
    description = NotesField(
        _l("What you see"),
        description=_l("Leaves, stems, roots, how it lies on the bench; what you suspect. Few words are enough."),
        render_kw={"rows": 3},
    )
    photos = PhotosField(
        _l("Photographs"), description=_l("JPEG, PNG or WebP, up to 10 MB each and 30 MB together.")
    )
    plants_affected = WholeNumberField(_l("Plants affected"), bounds=AFFECTED, description=_l("A guess will do."))
    batch_id = BatchField(_l("Batch"), description=_l("Its code, as on the tray label."))
    bench_id = BenchField(_l("Bench"))
    nursery_id = RecordSelect(_l("Whole nursery"), model=Nursery)
    seen_on = DayField(_l("Seen on"), needed=True)
    person = TextField(_l("Person"), most=80)

    groups = (
        Group(_l("What was found"), (("finding",), ("description",), ("photos",), ("plants_affected",))),
        Group(_l("Where"), (("batch_id",), ("bench_id", "nursery_id")), _l("One of them is enough.")),
        Group(_l("When and who"), (("seen_on", "person"), ("notes",))),
    )
