"""The form of a planting site."""

from __future__ import annotations

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Recipient
from nursery.planning.mixing import Category
from nursery.services.origin.words import CATEGORY_LABELS
from nursery.services.sites import BOUNDS
from nursery.web.choices import OptionalChoiceField, YesNoField
from nursery.web.coordinates import CoordinateFields
from nursery.web.fields import NumberField, TextField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordSelect
from nursery.web.year_day_field import YearDayField


class SiteForm(CoordinateFields, RecordForm):
    """One place to be planted."""

    code = TextField(_l("Code"), most=24, description=_l("Left empty, the next running code is given."))
    name = TextField(_l("Name"), most=120, needed=True, description=_l("As the crew calls the place."))
    area_ha = NumberField(
        _l("Area"), bounds=BOUNDS["area_ha"], unit="ha", digits=4, description=_l("Needed for plants per hectare.")
    )
    elevation_m = NumberField(_l("Elevation"), bounds=BOUNDS["elevation_m"], unit="m")
    basin = TextField(_l("Basin"), most=80, description=_l("Left empty, the map fills it in where it knows."))
    region_code = TextField(
        _l("Region of provenance"),
        most=24,
        description=_l("The code as the authority writes it. Left empty, the map fills it in where it knows."),
    )
    window_opens = YearDayField(
        _l("Planting opens"), needed=True, description=_l("First planting day of a season, such as 1 Nov.")
    )
    window_closes = YearDayField(
        _l("Planting closes"), needed=True, description=_l("Last planting day; it may lie after the new year.")
    )

    native_only = YesNoField(
        _l("Takes native material only"),
        description=_l("Nothing non-indigenous and nothing of unknown status is planted here."),
    )
    least_category = OptionalChoiceField(
        _l("Lowest category taken"),
        kind=Category,
        labels=CATEGORY_LABELS,
        nothing=_l("any"),
        description=_l("The categories of the law, from source-identified to tested."),
    )

    recipient_id = RecordSelect(
        _l("Who takes plants over"),
        model=Recipient,
        description=_l(
            "A partner or contractor who takes over what is delivered there. Left open, your own crews."
        ),
    )
    planting_permit = TextField(
        _l("Planting authorisation"),
        most=60,
        description=_l("Its number, or that of the prior notice, as the authority writes it."),
    )

    groups = (
        Group(_l("The site"), (("name", "code"), ("area_ha",), ("recipient_id", "planting_permit"))),
        Group(_l("Where it lies"), (("latitude", "longitude"), ("elevation_m",), ("basin", "region_code"))),
        Group(_l("What it takes"), (("native_only",), ("least_category",))),
        Group(_l("When it is planted"), (("window_opens", "window_closes"),)),
        Group(_l("More"), (("notes",),)),
    )

    def labels(self) -> dict[str, str]:
        """With what is chosen on a page of its own."""
        return super().labels() | {"rule_set_id": _("Rules followed")}
