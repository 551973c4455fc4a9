"""The forms of quarantine and of whom to call."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.web.fields import DayField, NotesField, TextField
from nursery.web.forms import Group, RecordForm
from nursery.web.health.fields import BatchField, BenchField


class QuarantineForm(RecordForm):
    """What is shut off, why, since when."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    batch_id = BatchField(_l("Batch"), description=_l("Its code, as on the tray label."))
    bench_id = BenchField(_l("Bench"), description=_l("With everything that stands on it."))
    reason = NotesField(
        _l("Reason"), description=_l("What was seen, or what is feared."), render_kw={"rows": 3, "maxlength": 2000}
    )
    since = DayField(_l("Since"), needed=True)

    groups = (
        Group(_l("What is shut off"), (("batch_id",), ("bench_id",))),
        Group(_l("Why"), (("reason",), ("since",))),
    )


class ContactForm(RecordForm):
    """Whom to call."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    health_contact = TextField(
        _l("Whom to call"),
        most=200,
        description=_l("The plant health authority of your district: name, telephone, hours."),
    )
