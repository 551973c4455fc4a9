"""The form of a planting."""

from __future__ import annotations

from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Lot, Site
from nursery.services import limits
from nursery.services.batches.origins import batch_lots
from nursery.services.planting_people import AREA_M2, HOURS, VOLUNTEERS
from nursery.web.choices import YesNoField
from nursery.web.fields import DayField, NumberField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.plantings.fields import LoadLineSelect
from nursery.web.record_fields import RecordField
from nursery.web.session import db


class PlantingForm(RecordForm):
    """Site, lot, day and plants; who planted, and how densely."""

    site_id = RecordField(
        _l("Planting site"), model=Site, needed=True, description=_l("Code or name of the site.")
    )
    # What was planted is often the last of its batch and lot, which are archived by then.
    batch_id = RecordField(
        _l("Batch"), model=Batch, takes_archived=True,
        description=_l("Code on the tray; the lot follows from it. Empty if not known."),
    )  # fmt: skip
    lot_id = RecordField(
        _l("Lot"), model=Lot, takes_archived=True,
        description=_l("Code of the lot that the plants were raised from."),
    )  # fmt: skip
    planted_on = DayField(_l("Planted on"), needed=True)
    plants = WholeNumberField(_l("Plants"), needed=True, bounds=limits.PLANTS)
    dispatch_line_id = LoadLineSelect(
        _l("Came by load"), description=_l("Left empty where nobody wrote a load down.")
    )
    people = TextField(
        _l("Who planted"), most=200, description=_l("Names with commas between, or a number such as “crew of 6”.")
    )
    volunteers = WholeNumberField(
        _l("Volunteers"), bounds=VOLUNTEERS,
        description=_l("On top of those named beside it: a crew of 3 with 9 volunteers is 12 people."),
    )  # fmt: skip
    hours = NumberField(
        _l("Hours of all together"), bounds=HOURS, unit="h", digits=2, description=_l("3 people for 5 h are 15.")
    )
    area_m2 = NumberField(
        _l("Ground planted"), bounds=AREA_M2, unit="m²", digits=1, description=_l("The density follows from it.")
    )
    is_replacement = YesNoField(
        _l("Replacements"), description=_l("Planted where others had died. They are counted apart, always.")
    )

    groups = (
        Group(_l("What was planted where"), (("site_id",), ("batch_id", "lot_id"), ("dispatch_line_id",))),
        Group(_l("When and how many"), (("planted_on", "plants"), ("area_m2",), ("is_replacement",))),
        Group(_l("By whom"), (("people", "volunteers"), ("hours",), ("notes",))),
    )

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """A lot is needed, unless the batch tells it; of a merged batch its largest."""
        sound = bool(super().validate(*arguments, **options))
        if self.lot_id.data is None and not self.lot_id.errors:
            if self.batch_id.data is not None:
                shares = batch_lots(db(), [self.batch_id.data])[self.batch_id.data]
                self.lot_id.data = max(shares, key=lambda lot_id: (shares[lot_id], -lot_id))
            else:
                self.lot_id.errors = [_("Give the lot, or the batch that the plants came from.")]
                return False
        return sound
