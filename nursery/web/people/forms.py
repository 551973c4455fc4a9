"""The form of a person."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.services.people import BOUNDS
from nursery.web.choices import YesNoField
from nursery.web.fields import DayField, NumberField, TextField
from nursery.web.forms import Group, RecordForm


class PersonForm(RecordForm):
    """Who, how many hours, and from when until when."""

    name = TextField(_l("Name"), most=80, needed=True, description=_l("As it stands on work sheets."))
    hours_per_week = NumberField(
        _l("Hours a week"), bounds=BOUNDS["hours_per_week"], digits=1, needed=True,
        description=_l("In an ordinary week."),
    )  # fmt: skip
    is_volunteer = YesNoField(_l("Gives the hours: a volunteer"))
    wage_per_hour = NumberField(
        _l("Wage an hour"), bounds=BOUNDS["wage_per_hour"], digits=2,
        description=_l("Left empty, the nursery’s own counts. Of a volunteer, what a funder lets the hour count."),
    )  # fmt: skip
    from_on = DayField(_l("First day"), description=_l("Left empty, since ever."))
    until_on = DayField(_l("Last day"), description=_l("Left empty, without an end."))

    groups = (
        Group(_l("Who"), (("name",), ("is_volunteer",))),
        Group(_l("Hours"), (("hours_per_week", "wage_per_hour"), ("from_on", "until_on"))),
        Group(_l("More"), (("notes",),)),
    )
