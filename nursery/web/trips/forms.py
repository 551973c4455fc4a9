"""The form of a collection trip."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.services.trips import BOUNDS
from nursery.web.fields import DayField, NumberField, TextField
from nursery.web.forms import Group, RecordForm


class TripForm(RecordForm):
    """One outing."""

    collected_on = DayField(_l("Day"), needed=True)
    code = TextField(_l("Code"), most=24, description=_l("Left empty, the next code of the year is given."))
    people = TextField(_l("People"), most=400, description=_l("Names, as the crew writes them."))
    weather = TextField(_l("Weather"), most=120)
    hours = NumberField(
        _l("Hours"), bounds=BOUNDS["hours"], unit="h", digits=2, description=_l("Of all people together.")
    )
    km = NumberField(_l("Distance"), bounds=BOUNDS["km"], unit="km", digits=1)

    groups = (
        Group(_l("The outing"), (("collected_on", "code"), ("people",), ("weather",), ("hours", "km"))),
        Group(_l("More"), (("notes",),)),
    )
