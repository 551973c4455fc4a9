"""The form of a storage place."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.services.storage import BOUNDS
from nursery.web.fields import NumberField, PercentField, TextField
from nursery.web.forms import Group, RecordForm


class StoragePlaceForm(RecordForm):
    """A fridge, a cellar, a dry room."""

    name = TextField(_l("Name"), most=80, needed=True)
    temperature_c = NumberField(_l("Temperature"), bounds=BOUNDS["temperature_c"], unit="°C", digits=1)

    humidity_pct = PercentField(
        _l("Humidity"),
        bounds=BOUNDS["humidity_pct"],
        description=_l("Of the air, where seed lies in open bags; leave it empty where all is kept airtight."),
    )

    groups = (Group(_l("The place"), (("name",), ("temperature_c", "humidity_pct"), ("notes",))),)
