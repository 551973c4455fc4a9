"""The form of a bench."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models import Nursery
from nursery.services.benches import BOUNDS
from nursery.web.fields import NumberField, TextField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordSelect


class BenchForm(RecordForm):
    """One bench, bed or bay."""

    nursery_id = RecordSelect(_l("Nursery"), model=Nursery, needed=True)
    name = TextField(
        _l("Name"), most=80, needed=True, description=_l("As it is written on the bench, for example: East 2.")
    )
    area_m2 = NumberField(
        _l("Usable area"),
        bounds=BOUNDS["area_m2"],
        unit="m²",
        digits=2,
        needed=True,
        description=_l("Where trays can stand; paths left out."),
    )

    groups = (
        Group(_l("The bench"), (("nursery_id",), ("name", "area_m2"))),
        Group(_l("More"), (("notes",),)),
    )
