"""The form of a storage place."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.services.storage import BOUNDS
from nursery.web.fields import NumberField, TextField
from nursery.web.forms import Group, RecordForm


class StoragePlaceForm(RecordForm):
    """A fridge, a cellar, a dry room."""

    name = TextField(_l("Name"), most=80, needed=True)
    temperature_c = NumberField(_l("Temperature"), bounds=BOUNDS["temperature_c"], unit="°C", digits=1)

    groups = (Group(_l("The place"), (("name", "temperature_c"), ("notes",))),)
