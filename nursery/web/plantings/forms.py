"""The form of a planting."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models import Lot, Site
from nursery.services import limits
from nursery.web.fields import DayField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordField


class PlantingForm(RecordForm):
    """Site, lot, day and plants."""

    site_id = RecordField(
        _l("Planting site"), model=Site, needed=True, description=_l("Code or name of the site.")
    )
    lot_id = RecordField(
        _l("Lot"), model=Lot, needed=True, description=_l("Code of the lot that the plants were raised from.")
    )
    planted_on = DayField(_l("Planted on"), needed=True)
    plants = WholeNumberField(_l("Plants"), needed=True, bounds=limits.PLANTS)

    groups = (
        Group(_l("What was planted where"), (("site_id", "lot_id"),)),
        Group(_l("When and how many"), (("planted_on", "plants"), ("notes",))),
    )
