"""Hours and kilometres of a trip, by the nursery's own trips."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Lot, Trip

#: Where the nursery has no trips yet; common practice, no source.
HOURS_PER_LOT, KM_PER_TRIP = 4.0, 60.0


@dataclass(frozen=True, slots=True)
class Effort:
    """Medians of past trips; ``*_from`` is the number of trips they rest on, 0 for the usual figure."""

    hours_per_lot: float
    hours_from: int
    km_per_trip: float
    km_from: int


def read_effort(session: Session) -> Effort:
    """What a lot and a trip took until now: hours of all people by lot, and the way by trip; one query."""
    rows = session.execute(
        select(Trip.hours, Trip.km, func.count(Lot.id))
        .outerjoin(Lot, Lot.trip_id == Trip.id)
        .where(Trip.archived_at.is_(None))
        .group_by(Trip.id, Trip.hours, Trip.km)
    ).all()
    hours = [spent / lots for spent, _km, lots in rows if spent and lots]
    ways = [km for _hours, km, _lots in rows if km]
    return Effort(
        median(hours) if hours else HOURS_PER_LOT, len(hours), median(ways) if ways else KM_PER_TRIP, len(ways)
    )
