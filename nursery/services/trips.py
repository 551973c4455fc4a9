"""Collection trips: one outing, from which one or more lots come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import extract, func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Trip
from nursery.services import checking, limits, records
from nursery.services.codes import next_code
from nursery.services.listing import Column, Filter, Listing, whole
from nursery.services.lot_checks import refuse_dates

#: Common practice, no source: a crew of fifty for a month, and twice around the globe.
BOUNDS = {"hours": limits.Bounds(0, 10_000), "km": limits.Bounds(0, 80_000)}

_YEAR = extract("year", Trip.collected_on)
_LOTS = (
    select(func.count(Lot.id))
    .where(Lot.trip_id == Trip.id, Lot.archived_at.is_(None))
    .correlate(Trip)
    .scalar_subquery()
)


def _years(session: Session) -> Sequence[tuple[str, str]]:
    years = session.scalars(select(_YEAR).where(Trip.archived_at.is_(None)).distinct().order_by(_YEAR.desc()))
    return [(str(int(year)), str(int(year))) for year in years]


LISTING = Listing(
    model=Trip,
    order="-date",
    columns=(
        Column("code", _l("Code"), Trip.code, "code", link=("trips.detail", Trip.id)),
        Column("date", _l("Day"), Trip.collected_on, "date"),
        Column("people", _l("People"), Trip.people),
        Column("lots", _l("Lots"), _LOTS, "number", nullable=False),
        Column("hours", _l("Hours"), Trip.hours, "number", digits=1),
        Column("km", _l("Distance"), Trip.km, "number", digits=1, unit="km"),
        Column("weather", _l("Weather"), Trip.weather),
        Column("notes", _l("Notes"), Trip.notes, on_screen=False),
    ),
    search=(Trip.code, Trip.people, Trip.weather),
    filters=(Filter("year", _l("Year"), _YEAR, _years, parse=whole),),
)


def create_trip(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Trip:
    """Write a trip down; an empty code gets the next one of its year."""
    _check(values, today)
    code = values.get("code") or propose_code(session, values["collected_on"])
    return records.create(session, actor, Trip, {**values, "code": code})


def change_trip(
    session: Session,
    actor: str,
    *,
    row: Trip,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Trip:
    """Change a trip; when its day changes, the lots it gave get the same day."""
    checked = {**values, "code": values.get("code") or row.code}
    _check({**checking.columns_of(row), **checked}, today)
    new_day = checked.get("collected_on", row.collected_on)
    moved = [lot for lot in row.lots if lot.collected_on != new_day]
    for lot in moved:
        refused = refuse_dates({**checking.columns_of(lot), "collected_on": new_day}, today)
        if refused:
            message = _(
                "%(day)s does not fit the lot %(lot)s of this trip: %(reason)s",
                day=format_date(new_day),
                lot=lot.code,
                reason=" ".join(refused.values()),
            )
            raise Invalid({"collected_on": message})
    changed = records.update(session, actor, row, checked, version=version)
    for lot in moved:
        records.update(session, actor, lot, {"collected_on": new_day})
    return changed


def recorded_trip(session: Session, first: dt.date, last: dt.date) -> Trip | None:
    """The trip that was written down last for some days, or None."""
    return session.scalar(
        select(Trip)
        .where(Trip.archived_at.is_(None), Trip.collected_on >= first, Trip.collected_on <= last)
        .order_by(Trip.id.desc())
        .limit(1)
    )


def propose_code(session: Session, day: dt.date) -> str:
    """The next running code of the day's year."""
    return next_code(session, Trip.code, f"T-{day.year}-")


def _check(values: Mapping[str, Any], today: dt.date) -> None:
    refused = checking.beyond(values, BOUNDS)
    if values["collected_on"] > today:
        refused["collected_on"] = _("The trip would lie in the future. Write it down when you are back.")
    elif values["collected_on"].year < limits.RIPENING_YEAR.low:
        refused["collected_on"] = _("The year is before 1900. Correct the date.")
    if refused:
        raise Invalid(refused)
