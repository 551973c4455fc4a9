"""The form of a deviation."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence

from nursery.i18n import lazy as _l
from nursery.models import Site
from nursery.services.seasons import season_name, season_of
from nursery.web.fields import DayField, Needed, NotesField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordField
from nursery.web.session import today
from nursery.web.targets.fields import SeasonField

#: Seasons offered: the present one and those before.
OFFERED = 4


class PastSeasonField(SeasonField):
    """A season that has begun."""

    def suggestions(self) -> Sequence[tuple[str, str]]:
        """The present season and the ones before."""
        first = season_of(today())
        return [(season_name(season), "") for season in range(first, first - OFFERED, -1)]


class DeviationForm(RecordForm):
    """What went otherwise, why, and what was done."""

    season = PastSeasonField(_l("Season"), needed=True)
    happened_on = DayField(_l("Day"), needed=True)
    site_id = RecordField(_l("Site"), model=Site, description=_l("Left empty, it touches the whole season."))
    what = NotesField(_l("What happened"), [Needed()])
    why = NotesField(_l("Why"))
    action = NotesField(_l("What was done"), description=_l("What was done about it, or what will be."))

    groups = (
        Group(_l("What went otherwise"), (("season", "happened_on"), ("site_id",), ("what",))),
        Group(_l("Why, and what was done"), (("why",), ("action",)), _l("Both stand on the report.")),
        Group(_l("More"), (("notes",),), _l("Notes stand on no report.")),
    )
