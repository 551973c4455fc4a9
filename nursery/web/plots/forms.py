"""The form of a plot."""

from __future__ import annotations

from typing import Any

from nursery.i18n import lazy as _l
from nursery.models import Site
from nursery.services.surveys.plots import AREA_M2
from nursery.web.coordinates import CoordinateFields, LatitudeField, LongitudeField
from nursery.web.fields import NumberField, TextField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordField


class PlotForm(CoordinateFields, RecordForm):
    """One marked piece of a site."""

    site_id = RecordField(
        _l("Planting site"), model=Site, needed=True, description=_l("Code or name of the site.")
    )
    name = TextField(
        _l("Name"), most=80, needed=True, description=_l("As on its post: A, B, or “by the old mill”.")
    )
    area_m2 = NumberField(_l("Area"), bounds=AREA_M2, unit="m²", digits=1)
    latitude: Any = LatitudeField(
        _l("Latitude"), description=_l("So that it is found again. A pair pasted here fills the longitude too.")
    )
    longitude: Any = LongitudeField(_l("Longitude"), description=_l("Degrees east; west is negative."))

    groups = (
        Group(_l("The plot"), (("site_id",), ("name", "area_m2"))),
        Group(_l("Where it lies"), (("latitude", "longitude"), ("notes",))),
    )
