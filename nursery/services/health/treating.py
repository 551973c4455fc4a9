"""The log of plant protection: what was used on what, how much, against what, by whom; when one may go back in.

Professional users keep records of the products they use: name, time and dose of application, area and crop
(Regulation (EC) No 1107/2009, Art. 67(1), as recital 1 of Implementing Regulation (EU) 2023/564, read, tells it).
That they keep them for three years at least is from memory. The registration number, and the growth stage
where the authorisation turns on it, come with the implementing regulation: read in a summary, not in the act.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_moment
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Treatment
from nursery.services import checking, limits, records
from nursery.services.health.places import COLUMNS, refuse_nowhere, with_places
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Filter, Listing, options_of

#: Common practice: they catch slips of the keyboard, not unusual nurseries.
BOUNDS = {
    "dose": Bounds(0, 100_000, above=True),
    "area_m2": Bounds(0, 1_000_000, above=True),
    "water_l": Bounds(0, 1_000_000, above=True),
}
#: The longest time before going in again that can be written down: a season.
REENTRY_HOURS = Bounds(0, 4_000)

LISTING = Listing(
    model=Treatment,
    order="-used_at",
    joins=with_places(Treatment),
    columns=(
        Column("used_at", _l("Used at"), Treatment.treated_at, "moment", link=("treatments.detail", Treatment.id)),
        Column("product", _l("Product"), Treatment.product),
        Column("registration", _l("Registration number"), Treatment.registration_number),
        Column("substance", _l("Active substance"), Treatment.active_substance, on_screen=False),
        Column("dose", _l("Dose"), Treatment.dose, "number", digits=4),
        Column("dose_unit", _l("Unit of the dose"), Treatment.dose_unit),
        *COLUMNS,
        Column("area", _l("Area"), Treatment.area_m2, "number", digits=2, unit="m²"),
        Column("water", _l("Water"), Treatment.water_l, "number", digits=2, unit="l"),
        Column("against", _l("Against"), Treatment.against),
        Column("reentry_at", _l("Closed until"), Treatment.reentry_at, "moment"),
        Column("applied_by", _l("Used by"), Treatment.applied_by),
        Column("certificate", _l("Certificate"), Treatment.certificate, on_screen=False),
        Column("notes", _l("Notes"), Treatment.notes, on_screen=False),
    ),
    search=(
        Treatment.product,
        Treatment.registration_number,
        Treatment.active_substance,
        Treatment.against,
        Treatment.applied_by,
        *(column.value for column in COLUMNS),
    ),
    filters=(Filter("product", _l("Product"), Treatment.product, options_of(Treatment.product)),),
)


def create_treatment(session: Session, actor: str, *, values: Mapping[str, Any], now: dt.datetime) -> Treatment:
    """Write a use down; the person is the one who writes where no other is named."""
    given = {**values, "applied_by": values.get("applied_by") or actor}
    _check(session, given, now)
    return records.create(session, actor, Treatment, given)


def change_treatment(
    session: Session,
    actor: str,
    *,
    row: Treatment,
    values: Mapping[str, Any],
    version: int | None = None,
    now: dt.datetime,
) -> Treatment:
    """Correct a use."""
    _check(session, {**checking.columns_of(row), **values}, now)
    return records.update(session, actor, row, values, version=version)


def lacking(row: Treatment) -> list[str]:
    """Particulars that the law or good practice asks for and this entry does not have."""
    asked = (
        (row.registration_number, _("the registration number on the label")),
        (row.area_m2, _("the area treated")),
        (row.against, _("what it was used against")),
        (row.certificate, _("the number of the person’s certificate")),
        (row.reentry_at, _("the time before anybody may go back in")),
    )
    return [name for value, name in asked if value in (None, "")]


def _check(session: Session, values: Mapping[str, Any], now: dt.datetime) -> None:
    refused = checking.beyond(values, BOUNDS) | refuse_nowhere(session, values)
    at: dt.datetime = values["treated_at"]
    if at > now:
        refused["treated_at"] = _(
            "%(moment)s is still to come. Write a treatment down when it is done.", moment=format_moment(at)
        )
    elif at.year < limits.SEASON.low:
        refused["treated_at"] = _("%(moment)s is too long ago. Correct the day.", moment=format_moment(at))
    until: dt.datetime | None = values.get("reentry_at")
    if until is not None and until < at:
        refused["reentry_at"] = _(
            "%(until)s is before the treatment, at %(at)s. Correct one of the two.",
            until=format_moment(until),
            at=format_moment(at),
        )
    if not str(values.get("product") or "").strip():
        refused["product"] = _("Name the product as on its label.")
    if not str(values.get("dose_unit") or "").strip():
        refused["dose_unit"] = _("Give the unit of the dose as on the label, for example: ml per l.")
    if refused:
        raise Invalid(refused)
