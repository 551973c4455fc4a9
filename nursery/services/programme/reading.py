"""The programme of the current plan, read in a fixed number of queries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import CollectionNeed, Plan, Population
from nursery.services.needs import Sheet, plants_first, read_sheets
from nursery.services.permits.books import read_book
from nursery.services.permits.notices import read_told
from nursery.services.planning.plans import current_plan
from nursery.services.programme.allotting import Allotting
from nursery.services.programme.effort import Effort, read_effort
from nursery.services.programme.options import Permission
from nursery.services.programme.picks import NeedPlan, Pick
from nursery.services.programme.trips import OutlinedTrip, draw_trips
from nursery.services.weeks import Week


@dataclass(frozen=True, slots=True)
class Programme:
    """Needs that can still be met, their populations, and the trips."""

    plan: Plan
    needs: Sequence[NeedPlan]
    trips: Sequence[OutlinedTrip]
    effort: Effort
    #: Needs whose season is over.
    over: int

    @property
    def hours(self) -> float:
        """Of all trips."""
        return sum(trip.hours for trip in self.trips)

    @property
    def km(self) -> float:
        """Of all trips."""
        return sum(trip.km for trip in self.trips)

    @property
    def uncovered(self) -> list[Pick]:
        """What no permit covers, the season that opens first on top."""
        found = [pick for need in self.needs for pick in need.picks if not pick.is_covered]
        return sorted(found, key=lambda pick: (pick.first_day, pick.sheet.need.species_name, pick.stand.code))

    @property
    def without_population(self) -> list[NeedPlan]:
        """Needs for which more populations must be found."""
        return [need for need in self.needs if need.to_find]

    def in_season(self, day: dt.date) -> list[Pick]:
        """What may be collected on a day, that of the trips of its week on top."""
        found = [
            (trip.week != Week.of(day), trip.week, pick)
            for trip in self.trips
            for pick in trip.picks
            if pick.sheet.need.opens_on <= day <= pick.sheet.need.closes_on
        ]
        return [pick for _other_week, _week, pick in sorted(found, key=lambda one: one[:2])]

    def trip_of(self, pick: Pick) -> OutlinedTrip:
        """The trip on which it is collected."""
        return next(trip for trip in self.trips if any(own is pick for own in trip.picks))


def read_programme(session: Session, *, today: dt.date) -> Programme | None:
    """The programme of the current plan as permits and populations stand today; None while there is no plan."""
    plan = current_plan(session)
    if plan is None:
        return None
    needs = session.execute(
        select(CollectionNeed.id, CollectionNeed.closes_on)
        .where(CollectionNeed.plan_id == plan.id)
        .order_by(*plants_first())
    ).all()
    still = [need_id for need_id, closes_on in needs if closes_on >= today]
    sheets = read_sheets(session, plan, still)
    allotting = Allotting(read_permission(session, list(sheets.values()), today=today))
    plans = [allotting.need(sheets[need_id]) for need_id in still]
    effort = read_effort(session)
    trips = draw_trips([pick for need in plans for pick in need.picks], effort)
    return Programme(plan, plans, trips, effort, len(needs) - len(still))


def read_permission(session: Session, sheets: Sequence[Sheet], *, today: dt.date) -> Permission:
    """What permits allow to the stands of some needs."""
    book = read_book(session, species_ids={sheet.need.species_id for sheet in sheets})
    return Permission(book, _places(session, sheets), read_told(session, book.permits), today)


def find_trip(programme: Programme | None, key: str) -> OutlinedTrip:
    """The trip of an address, or ``NotFound``."""
    for trip in programme.trips if programme else ():
        if trip.key == key:
            return trip
    raise NotFound(
        _("The programme has no such trip any more: the plan, a permit or a population was changed. Look again.")
    )


def _places(session: Session, sheets: Sequence[Sheet]) -> dict[int, Population]:
    ids = {stand.population_id for sheet in sheets for stand in sheet.stands.here}
    found = session.scalars(select(Population).where(Population.id.in_(ids)))
    return {place.id: place for place in found}
