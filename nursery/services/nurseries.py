"""Nurseries: growing places of one's own, with their benches and their climate."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Nursery
from nursery.services import checking, limits, records
from nursery.services.coordinates import Point, refuse_misplaced
from nursery.services.limits import Bounds
from nursery.services.listing import Column, Listing

#: Common practice: from a balcony to the largest glasshouses.
BENCH_AREA_M2 = Bounds(0, 1_000_000)
#: Monthly means of inhabited places lie well inside (from memory).
MEAN_C = Bounds(-50, 45)
BOUNDS = {"elevation_m": limits.ELEVATION_M, "bench_area_m2": BENCH_AREA_M2}

LISTING = Listing(
    model=Nursery,
    order="name",
    columns=(
        Column("name", _l("Name"), Nursery.name, link=("nurseries.detail", Nursery.id)),
        Column("bench", _l("Bench area"), Nursery.bench_area_m2, "number", digits=1, unit="m²"),
        Column("elevation", _l("Elevation"), Nursery.elevation_m, "number", unit="m"),
        Column("latitude", _l("Latitude"), Nursery.latitude, "number", digits=6),
        Column("longitude", _l("Longitude"), Nursery.longitude, "number", digits=6),
        Column("notes", _l("Notes"), Nursery.notes, on_screen=False),
    ),
    search=(Nursery.name,),
)


def create_nursery(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Nursery:
    """Write a nursery down."""
    del today
    _check(session, values)
    return records.create(session, actor, Nursery, values)


def change_nursery(
    session: Session,
    actor: str,
    *,
    row: Nursery,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Nursery:
    """Change a nursery."""
    del today
    _check(session, {**checking.columns_of(row), **values}, was=(row.latitude, row.longitude))
    return records.update(session, actor, row, values, version=version)


def _check(session: Session, values: Mapping[str, Any], was: Point | None = None) -> None:
    refused = checking.beyond(values, BOUNDS)
    refused |= refuse_misplaced(session, values["latitude"], values["longitude"], was)
    means = values.get("monthly_mean_c")
    if means is not None and (len(means) != 12 or any(mean is None for mean in means)):
        known = sum(mean is not None for mean in means)
        refused["monthly_mean_c"] = _(
            "%(known)s of 12 monthly means are given. Fill in all twelve, or leave all of them empty.", known=known
        )
    elif means is not None and (told := next(filter(None, map(MEAN_C.refusal, means)), None)):
        refused["monthly_mean_c"] = told
    if refused:
        raise Invalid(refused)
