"""Deviations written down, corrected and listed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Deviation, Site
from nursery.services import checking, limits, records
from nursery.services.listing import Column, Filter, Listing, whole
from nursery.services.seasons import season_name

BOUNDS = {"season": limits.SEASON}
#: Letters of a text that still stands in a table of the report.
MOST = 1000


def _seasons(session: Session) -> list[tuple[str, str]]:
    found = session.scalars(select(Deviation.season).distinct().order_by(Deviation.season.desc()))
    return [(str(season), season_name(season)) for season in found]


LISTING = Listing(
    model=Deviation,
    order="-day",
    joins=lambda query: query.outerjoin(Site, Deviation.site_id == Site.id),
    columns=(
        Column("what", _l("What happened"), Deviation.what, link=("deviations.detail", Deviation.id)),
        Column("season", _l("Season"), Deviation.season, "season"),
        Column("day", _l("Day"), Deviation.happened_on, "date"),
        Column("site", _l("Site"), Site.name),
        Column("why", _l("Why"), Deviation.why),
        Column("action", _l("What was done"), Deviation.action),
        Column("notes", _l("Notes"), Deviation.notes, on_screen=False),
    ),
    search=(Deviation.what, Deviation.why, Deviation.action, Site.name),
    filters=(Filter("season", _l("Season"), Deviation.season, _seasons, parse=whole),),
)


def create_deviation(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Deviation:
    """Write a deviation down."""
    _check(values, today)
    return records.create(session, actor, Deviation, values)


def change_deviation(
    session: Session,
    actor: str,
    *,
    row: Deviation,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Deviation:
    """Correct a deviation, or write down what was done about it."""
    _check({**checking.columns_of(row), **values}, today)
    return records.update(session, actor, row, values, version=version)


def _check(values: Mapping[str, Any], today: dt.date) -> None:
    refused = checking.beyond(values, BOUNDS)
    if values["happened_on"] > today:
        refused["happened_on"] = _(
            "%(day)s is still to come. Write down what has happened.", day=format_date(values["happened_on"])
        )
    elif values["happened_on"].year < limits.SEASON.low:
        refused["happened_on"] = _(
            "%(day)s is too long ago. Correct the date.", day=format_date(values["happened_on"])
        )
    for name in ("what", "why", "action"):
        if len(values.get(name) or "") > MOST:
            refused[name] = _(
                "This text has more than %(most)s letters. Shorten it; the rest can stand in the notes.", most=MOST
            )
    if refused:
        raise Invalid(refused)
