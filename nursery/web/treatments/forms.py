"""The form of a treatment, in the order of the label: product, dose, where, when, who."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nursery.i18n import format_moment
from nursery.i18n import lazy as _l
from nursery.models import Nursery, Treatment
from nursery.services.health.cautions import MIXING, PRODUCTS
from nursery.services.health.treating import BOUNDS, REENTRY_HOURS
from nursery.web.fields import DayField, NumberField, TextField
from nursery.web.forms import Group, RecordForm
from nursery.web.health.fields import BatchField, BenchField, TimeField, UsedBeforeField
from nursery.web.record_fields import RecordSelect

#: As labels write them; any other may be typed.
USUAL_UNITS = ("ml per l", "g per l", "ml per 10 l", "ml per m²", "g per m²", "l per ha", "kg per ha")
_HOUR = dt.timedelta(hours=1)


class TreatmentForm(RecordForm):
    """One use of a product. Day and time make ``treated_at``; the hours after it make ``reentry_at``."""

    #: Told above and below the form.
    cautions = (PRODUCTS, MIXING)

    product = UsedBeforeField(
        _l("Product"), column=Treatment.product, needed=True, description=_l("The name on the label.")
    )
    registration_number = TextField(
        _l("Registration number"), most=60, description=_l("As on the label; empty for what needs none.")
    )
    active_substance = TextField(_l("Active substance"), most=120)
    against = UsedBeforeField(_l("Against"), column=Treatment.against, description=_l("Pest or disease."))
    dose = NumberField(_l("Dose"), bounds=BOUNDS["dose"], digits=4, needed=True)
    dose_unit = UsedBeforeField(
        _l("Unit of the dose"), column=Treatment.dose_unit, usual=USUAL_UNITS, most=40, needed=True,
        description=_l("As the label writes it."),
    )  # fmt: skip
    area_m2 = NumberField(_l("Area treated"), bounds=BOUNDS["area_m2"], unit="m²", digits=2)
    water_l = NumberField(_l("Water used"), bounds=BOUNDS["water_l"], unit="l", digits=2)
    batch_id = BatchField(_l("Batch"), description=_l("Its code, as on the tray label."))
    bench_id = BenchField(_l("Bench"))
    nursery_id = RecordSelect(_l("Whole nursery"), model=Nursery)
    treated_on = DayField(_l("Day"), needed=True)
    treated_time = TimeField(_l("Time of day"), needed=True)
    reentry_hours = NumberField(
        _l("Nobody goes in for"),
        bounds=REENTRY_HOURS,
        unit=_l("hours"),
        digits=2,
        description=_l("The re-entry time of the label. Where it says “until dry”, write the hours that takes."),
    )
    applied_by = TextField(_l("Used by"), most=80)
    certificate = TextField(_l("Number of the certificate"), most=60)

    groups = (
        Group(
            _l("What was used"),
            (("product", "registration_number"), ("active_substance", "against"), ("dose", "dose_unit")),
        ),
        Group(_l("Where"), (("batch_id",), ("bench_id", "nursery_id"), ("area_m2", "water_l"))),
        Group(_l("When"), (("treated_on", "treated_time"), ("reentry_hours",))),
        Group(_l("Who"), (("applied_by", "certificate"), ("notes",))),
    )

    @classmethod
    def stored(cls, row: Treatment) -> dict[str, Any]:
        """Day, time and hours of a record."""
        here = row.treated_at.astimezone()
        hours = (row.reentry_at - row.treated_at) / _HOUR if row.reentry_at else None
        return {"treated_on": here.date(), "treated_time": here.time(), "reentry_hours": hours}

    def values(self) -> dict[str, Any]:
        """The moments instead of the fields that make them."""
        given = super().values()
        day, time = given.pop("treated_on"), given.pop("treated_time")
        hours = given.pop("reentry_hours")
        at = dt.datetime.combine(day, time).astimezone()
        until = at + hours * _HOUR if hours is not None else None
        return {**given, "treated_at": at, "reentry_at": until}

    def field_of(self, column: str) -> str:
        """The field behind a moment."""
        return {"treated_at": "treated_on", "reentry_at": "reentry_hours"}.get(column) or super().field_of(column)

    def labels(self) -> dict[str, str]:
        """For histories the moments have names of their own."""
        return {**super().labels(), "treated_at": str(_l("Used at")), "reentry_at": str(_l("Closed until"))}

    def show(self, column: str, value: Any) -> str:
        """Moments, as histories keep them."""
        if column in ("treated_at", "reentry_at") and isinstance(value, str):
            return format_moment(dt.datetime.fromisoformat(value))
        return super().show(column, value)
