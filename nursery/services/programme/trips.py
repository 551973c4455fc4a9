"""Picks drawn together into trips: one week, one basin, places near each other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nursery.planning.distance import distances
from nursery.services.programme.effort import Effort
from nursery.services.programme.picks import Pick
from nursery.services.stands import Stand
from nursery.services.weeks import Week

#: Metres from the place a trip is drawn around; planning default, no source.
NEAR = 25_000.0
#: Picks of one trip at most, so that a day or two suffice; common practice, no source.
MOST_PICKS = 10


@dataclass(frozen=True)
class OutlinedTrip:
    """A trip of the programme; it is reckoned anew each time and kept nowhere."""

    week: Week
    #: The pick it is drawn around comes first.
    picks: Sequence[Pick]
    effort: Effort

    @property
    def key(self) -> str:
        """Names it in addresses: its week and the population it is drawn around."""
        return f"{self.week.name}-{self.picks[0].stand.population_id}"

    @property
    def basin(self) -> str:
        """The basin, or the region where none is written down."""
        return self.picks[0].basin or self.picks[0].region_code

    @cached_property
    def stops(self) -> list[tuple[Stand, list[Pick]]]:
        """Populations with what each gives, from the first one to the next nearest."""
        found: dict[int, list[Pick]] = {}
        for pick in self.picks:
            found.setdefault(pick.stand.population_id, []).append(pick)
        return [(picks[0].stand, picks) for picks in found.values()]

    @property
    def hours(self) -> float:
        """Hours of all people together."""
        return self.effort.hours_per_lot * len(self.picks)

    @property
    def km(self) -> float:
        """The way."""
        return self.effort.km_per_trip

    @property
    def first_day(self) -> dt.date:
        """First day of the week on which all of it can be collected."""
        return max(self.week.monday, *(pick.first_day for pick in self.picks))

    @property
    def last_day(self) -> dt.date:
        """Last such day."""
        return min(self.week.sunday, *(pick.last_day for pick in self.picks))

    @property
    def species(self) -> list[str]:
        """Names of what is collected."""
        return sorted({pick.sheet.need.species_name for pick in self.picks})

    @property
    def notice(self) -> str:
        """From which day of the week all of it is lawful, where a permit's notice holds it up."""
        held_up = [pick for pick in self.picks if self.notice_of(pick)]
        return max(held_up, key=lambda pick: pick.first_day).notice if held_up else ""

    def notice_of(self, pick: Pick) -> str:
        """The same for one population; empty for a trip that begins later anyway."""
        inside = pick.not_before is not None and pick.not_before > self.week.monday
        return pick.notice if inside else ""

    def tell_by(self, pick: Pick) -> dt.date | None:
        """By when the authority is to be told of it; None where it was, or need not be."""
        if pick.permit is None or not pick.permit.notice_days or pick.is_told:
            return None
        return self.first_day - dt.timedelta(days=pick.permit.notice_days)

    @property
    def is_covered(self) -> bool:
        """Whether permits cover all of it."""
        return all(pick.is_covered for pick in self.picks)


def draw_trips(picks: Sequence[Pick], effort: Effort) -> list[OutlinedTrip]:
    """Trips, the earliest week first.

    The pick whose season closes first is taken, with all others of its basin within ``NEAR``. Of the weeks in its
    season, but for the last where there are others, that one is chosen in which most of them can be collected, the
    latest of equals: what can wait ripens, and a week is left for bad weather.
    """
    waiting = sorted(picks, key=lambda pick: (pick.last_day, pick.first_day, pick.stand.code))
    if not waiting:
        return []
    lats, lons = ([getattr(pick.stand, axis) for pick in waiting] for axis in ("latitude", "longitude"))
    apart = distances(np.array(lats)[:, None], np.array(lons)[:, None], np.array(lats), np.array(lons))
    left = list(range(len(waiting)))
    trips = []
    while left:
        start = left[0]
        near = [at for at in left if at == start or (apart[start, at] <= NEAR and _same_basin(waiting, start, at))]
        week = max(weeks_of(waiting[start]), key=lambda week: (sum(_fits(waiting[at], week) for at in near), week))
        together = _together(waiting, start, near, week)
        together.sort(key=lambda at: (at != start, apart[start, at], waiting[at].stand.code))
        trips.append(OutlinedTrip(week, [waiting[at] for at in together], effort))
        left = [at for at in left if at not in together]
    return sorted(trips, key=lambda trip: (trip.week, trip.picks[0].stand.code))


def _together(waiting: Sequence[Pick], start: int, near: Sequence[int], week: Week) -> list[int]:
    """Those of the near ones that can be collected in the week, with at least one day on which all of them can."""
    found = [start]
    first, last = waiting[start].first_day, waiting[start].last_day
    for at in near:
        pick = waiting[at]
        days = max(first, pick.first_day, week.monday), min(last, pick.last_day, week.sunday)
        if at != start and len(found) < MOST_PICKS and _fits(pick, week) and days[0] <= days[1]:
            found.append(at)
            first, last = days
    return found


def weeks_of(pick: Pick) -> list[Week]:
    """Weeks in which it can be collected, without the last where there are others."""
    first, last = Week.of(pick.first_day), Week.of(pick.last_day)
    count = (last.monday - first.monday).days // 7
    return [first.plus(number) for number in range(max(1, count))]


def _fits(pick: Pick, week: Week) -> bool:
    return any(own == week for own in weeks_of(pick))


def _same_basin(picks: Sequence[Pick], one: int, other: int) -> bool:
    basins = picks[one].basin, picks[other].basin
    return "" in basins or basins[0] == basins[1]
