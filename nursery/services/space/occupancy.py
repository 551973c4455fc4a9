"""Bench taken in each nursery and on each bench, week by week: what grows, and what the plan has still to sow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Bench, Nursery
from nursery.planning.arrays import Floats, Ints
from nursery.planning.growing.words import STAGES
from nursery.planning.space.occupancy import by_place, over, weekly
from nursery.services.planning.plans import current_plan
from nursery.services.space.footprint import rooms, water_rates
from nursery.services.space.growing import batch_items, read_batches
from nursery.services.space.items import Item, Items
from nursery.services.space.lines import LineRow, line_items, read_lines
from nursery.services.weeks import Week

#: A year ahead, this week included.
WEEKS = 53
#: As far ahead as anybody looks.
MOST_WEEKS = 4 * 52


@dataclass(frozen=True)
class Place:
    """A nursery as a whole, or one of its benches; ``area_m2`` is None where nobody wrote it down."""

    nursery_id: int
    bench_id: int | None
    name: str
    area_m2: float | None


@dataclass(frozen=True)
class Use:
    """Bench of one place by week, in m²: what grows, what is still to sow, and what is too little."""

    place: Place
    growing: Floats
    planned: Floats
    over: Floats

    @property
    def taken(self) -> Floats:
        """All together."""
        return self.growing + self.planned

    def of(self, weeks: int) -> Use:
        """The first weeks alone."""
        return Use(self.place, self.growing[:weeks], self.planned[:weeks], self.over[:weeks])

    @property
    def weeks_over(self) -> int:
        """Weeks in which the area does not suffice."""
        return int((self.over > 0).sum())

    @property
    def worst(self) -> int:
        """The week with the most that is too little."""
        return int(self.over.argmax())

    @property
    def is_used(self) -> bool:
        """Whether anything stands there in any of the weeks."""
        return bool((self.taken > 0).any())


@dataclass(frozen=True)
class NurseryUse:
    """One nursery with its benches."""

    whole: Use
    benches: Sequence[Use]
    #: Litres a day by week; None where no rate of watering is given.
    water: Floats | None


@dataclass(frozen=True)
class Occupancy:
    """All nurseries over some weeks, and the things that stand there: ``taken`` is (things, weeks) in m²."""

    weeks: Sequence[Week]
    nurseries: Sequence[NurseryUse]
    items: Items
    taken: Floats
    lines: Sequence[LineRow]
    #: Things that belong to no nursery.
    nowhere: Sequence[Item]
    #: Nurseries whose benches have more area than their own record tells, with both.
    differing: Sequence[tuple[Place, float, float]]

    def standing(self, nursery_id: int, week: int) -> list[tuple[Item, float]]:
        """What stands in a nursery in a week, with its m², the largest first."""
        found = [
            (item, float(area))
            for item, area in zip(self.items.rows, self.taken[:, week], strict=True)
            if area > 0 and item.nursery_id == nursery_id
        ]
        return sorted(found, key=lambda pair: -pair[1])


def spacing_of(session: Session) -> Floats:
    """Spacing by position in `STAGES`."""
    found = rooms(session)
    return np.array([found[stage].spacing for stage in STAGES])


def read_occupancy(
    session: Session, *, today: dt.date, weeks: int | None = WEEKS, first: Week | None = None
) -> Occupancy:
    """Bench taken from ``first`` (this week) on, in a fixed number of queries.

    Without a number of ``weeks`` it reaches as far as the plan, a year at least and `MOST_WEEKS` at most.
    """
    plan = current_plan(session)
    lines = read_lines(session, plan, today=today)
    items = batch_items(session, read_batches(session), plan, today=today).joined(line_items(lines))
    start = first or Week.of(today)
    if weeks is None:
        last = max((line.row.plant_on for line in lines), default=today)
        weeks = min(max((last - start.monday).days // 7 + 1, WEEKS), MOST_WEEKS)
    monday, spacing, rates = np.datetime64(start.monday, "D"), spacing_of(session), water_rates(session)
    taken = weekly(items.spans, spacing, len(items.rows), monday, weeks)
    drunk = None if rates is None else weekly(items.spans, spacing * rates, len(items.rows), monday, weeks)
    nurseries = session.scalars(select(Nursery).where(Nursery.archived_at.is_(None)).order_by(Nursery.name)).all()
    benches = session.scalars(
        select(Bench).where(Bench.archived_at.is_(None)).order_by(Bench.name, Bench.id)
    ).all()
    found = [_nursery_use(nursery, benches, items.rows, taken, drunk) for nursery in nurseries]
    known = {nursery.id for nursery in nurseries}
    return Occupancy(
        weeks=[start.plus(number) for number in range(weeks)],
        nurseries=found,
        items=items,
        taken=taken,
        lines=lines,
        nowhere=[item for item in items.rows if item.nursery_id not in known],
        differing=_differing(nurseries, benches),
    )


def area_of(nursery: Nursery, benches: Sequence[Bench]) -> float | None:
    """Usable area: what the nursery's record tells, or the sum of its benches where that is more."""
    area = max(nursery.bench_area_m2, sum(bench.area_m2 for bench in benches if bench.nursery_id == nursery.id))
    return area or None


def _nursery_use(
    nursery: Nursery, benches: Sequence[Bench], rows: Sequence[Item], taken: Floats, drunk: Floats | None
) -> NurseryUse:
    own = [bench for bench in benches if bench.nursery_id == nursery.id]
    places = [
        Place(nursery.id, None, nursery.name, area_of(nursery, benches)),
        *(Place(nursery.id, bench.id, bench.name, bench.area_m2) for bench in own),
    ]
    position = {bench.id: number for number, bench in enumerate(own, start=1)}
    here = _positions([0 if row.nursery_id == nursery.id else -1 for row in rows])
    on_bench = _positions([position.get(row.bench_id or 0, -1) for row in rows])
    grows = np.array([row.batch_id is not None for row in rows], np.bool_)
    by_kind = [
        by_place(taken * kind[:, None], here, len(places)) + by_place(taken * kind[:, None], on_bench, len(places))
        for kind in (grows, ~grows)
    ]
    growing, planned = by_kind
    areas = np.array([np.nan if place.area_m2 is None else place.area_m2 for place in places])
    missing = over(growing + planned, areas)
    uses = [Use(place, growing[at], planned[at], missing[at]) for at, place in enumerate(places)]
    water = None if drunk is None else drunk[here >= 0].sum(axis=0)
    return NurseryUse(uses[0], uses[1:], water)


def _positions(found: Sequence[int]) -> Ints:
    return np.array(found, np.int64)


def _differing(nurseries: Sequence[Nursery], benches: Sequence[Bench]) -> list[tuple[Place, float, float]]:
    found = []
    for nursery in nurseries:
        summed = sum(bench.area_m2 for bench in benches if bench.nursery_id == nursery.id)
        # Less is no contradiction: not every table need be written down as a bench.
        if nursery.bench_area_m2 and summed - nursery.bench_area_m2 > 0.05:
            place = Place(nursery.id, None, nursery.name, area_of(nursery, benches))
            found.append((place, nursery.bench_area_m2, summed))
    return found
