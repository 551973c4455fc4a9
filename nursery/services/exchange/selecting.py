"""What goes out: which lots, how exactly their places are told, and whether people are named."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Lot, Population
from nursery.planning.generalising import Told, generalise
from nursery.services.dossier.asking import Asked
from nursery.services.dossier.scope import reach
from nursery.services.preferences import read_preferences


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person asks for; a site, a lot and a ripening year narrow the lots."""

    day: dt.date
    site_id: int | None = None
    lot_id: int | None = None
    year: int | None = None
    #: Names of people go along.
    people: bool = False
    #: WIEWS code of the institute, as typed in.
    institute: str = ""
    licence: str = ""


@dataclass(frozen=True)
class Selected:
    """Lots with their stands and trips, and who gives them out."""

    wanted: Wanted
    lots: Sequence[Lot]
    organisation: str
    #: ISO 3166-1 alpha-2 of the nursery, for stands that name none.
    country: str

    def country_of(self, stand: Population) -> str:
        """Two letters; empty where nobody wrote any."""
        return (stand.country or self.country).upper()


def select_lots(session: Session, wanted: Wanted) -> Selected:
    """All lots that are not archived, or those behind a site or a lot; in a fixed number of queries."""
    query = (
        select(Lot)
        .options(
            joinedload(Lot.species), joinedload(Lot.trip), joinedload(Lot.storage_place),
            joinedload(Lot.population).joinedload(Population.species),
        )
        .order_by(Lot.code)
    )  # fmt: skip
    if wanted.site_id is None and wanted.lot_id is None:
        query = query.where(Lot.archived_at.is_(None))
    else:
        asked = Asked(wanted.day, "", site_id=wanted.site_id, lot_id=None if wanted.site_id else wanted.lot_id)
        query = query.where(Lot.id.in_(reach(session, asked).lot_ids))
    if wanted.year is not None:
        query = query.where(Lot.ripening_year == wanted.year)
    own = read_preferences(session)
    return Selected(wanted, session.scalars(query).all(), own.organisation, own.country)


def told_place(stand: Population) -> Told:
    """A stand's place as it goes out: sensitive ones rounded, always."""
    if stand.is_sensitive:
        return generalise(stand.latitude, stand.longitude)
    return Told(stand.latitude, stand.longitude, None)
