"""Stock and wants of every season from the records, in a fixed number of queries."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Container, Lot, Nursery, Population, Site, Species, Target
from nursery.planning.growing.words import Stage
from nursery.services.batches.origins import batch_lots
from nursery.services.dispatches.waiting import read_waiting
from nursery.services.forecast.gathering import Known, know
from nursery.services.forecast.reading import BatchForecast, forecasts_of
from nursery.services.health.quarantine import standing_quarantines
from nursery.services.ready.allotting import Allotted, Standing, allot, read_reserved
from nursery.services.ready.elsewhere import read_elsewhere
from nursery.services.ready.rows import Origin, Stock, Want, apportion
from nursery.services.ready.wanting import read_wants
from nursery.services.seasons import season_of

#: Size grade of plants that nobody graded.
UNGRADED = ""


@dataclass(frozen=True)
class EverySeason:
    """Stock and wants by season, before anything is asked of them."""

    stock: Mapping[int, Sequence[Stock]]
    wants: Mapping[int, Sequence[Want]]
    #: Plants that came back and wait for a decision, by the target they were sent for: neither ready nor sent.
    waiting: Mapping[int, int] = field(default_factory=dict)

    @property
    def seasons(self) -> list[int]:
        """Those that have anything."""
        return sorted({*self.stock, *self.wants})

    def season_for(self, today: dt.date) -> int:
        """The season that a person means who names none: the first whose planting is not over."""
        for season in self.seasons:
            closes = max((want.closes_on for want in self.wants.get(season, ())), default=None)
            if closes >= today if closes is not None else season >= season_of(today):
                return season
        return season_of(today)


@dataclass(frozen=True, slots=True)
class _Live:
    """A batch with plants, or seed that will give some."""

    row: Any
    forecast: BatchForecast
    sizes: Mapping[str, int]

    @property
    def is_ready(self) -> bool:
        return bool(self.row.stage is Stage.READY)


def read_every_season(session: Session, *, today: dt.date) -> EverySeason:
    """Everything that stands or grows, and everything that is wanted; the same queries whatever their number."""
    known = know(session)
    wants, live = read_wants(session, known), _live(session, known, today)
    # A season whose planting is over asks for nothing more: what is left of it is free.
    asked = {
        each.want.target_id: each.want.wanted - each.want.sent - each.want.to_sow
        for each in wants if each.want.closes_on >= today
    }  # fmt: skip
    season_of_target = {each.want.target_id: each.season for each in wants if each.want.target_id in asked}
    given = allot([_standing(one) for one in live], read_reserved(session), asked)
    ids = [one.row.id for one in live]
    shut, origins = standing_quarantines(session, ids), _origins(session, ids)
    stock: defaultdict[int, list[Stock]] = defaultdict(list)
    for one in live:
        own = season_of_target.get(one.row.target_id)
        season = own if own is not None else season_of(max(one.forecast.ready_on or today, today))
        stock[season] += _rows(one, given, origins.get(one.row.id, Origin()), is_shut=one.row.id in shut)
    wanted: defaultdict[int, list[Want]] = defaultdict(list)
    for each in wants:
        covered = given.targets.get(each.want.target_id, 0)
        wanted[each.season].append(replace(each.want, covered=covered))
    for each in read_elsewhere(session):
        wanted[each.season].append(each.want)
    return EverySeason(dict(stock), dict(wanted), _waiting(session))


def _waiting(session: Session) -> dict[int, int]:
    found: defaultdict[int, int] = defaultdict(int)
    for one in read_waiting(session):
        target_id = one.own_target_id if one.target_id is None else one.target_id
        if target_id is not None:
            found[target_id] += one.plants
    return dict(found)


def _live(session: Session, known: Known, today: dt.date) -> list[_Live]:
    forecasts = forecasts_of(known, today)
    ids = [
        batch.id for batch in known.batches
        if batch.archived_at is None and (batch.alive or round(forecasts[batch.id].expected))
    ]  # fmt: skip
    if not ids:
        return []
    rows = session.execute(_batches().where(Batch.archived_at.is_(None)))
    found, wanted = [], set(ids)
    for row in rows:
        if row.id in wanted:
            plants = round(forecasts[row.id].expected)
            found.append(_Live(row, forecasts[row.id], apportion(plants, _grades(known, row))))
    return found


def _batches() -> Any:
    return (
        select(
            Batch.id, Batch.code, Batch.species_id, Batch.target_id, Batch.stage, Batch.alive,
            Species.scientific_name, Container.name.label("container_name"), Nursery.name.label("nursery_name"),
            Site.id.label("site_id"), Site.name.label("site_name"),
        )
        .join(Batch.species).outerjoin(Batch.container).outerjoin(Batch.target)
        .outerjoin(Nursery, Nursery.id == func.coalesce(Batch.nursery_id, Container.nursery_id))
        .outerjoin(Site, Site.id == Target.site_id)
        .order_by(Species.scientific_name, Batch.code)
    )  # fmt: skip


def _grades(known: Known, row: Any) -> dict[str, int]:
    """Sizes by the latest grading; plants that were counted and not graded have none."""
    graded = [
        count for count in known.counts.get(row.id, ()) if count.stage is Stage.READY and count.grades
    ]  # fmt: skip
    if not graded or row.stage is not Stage.READY:
        return {UNGRADED: 1}
    sizes = {str(name): int(plants) for name, plants in (graded[-1].grades or {}).items() if int(plants) > 0}
    rest = graded[-1].plants - sum(sizes.values())
    return {**sizes, **({UNGRADED: rest} if rest > 0 else {})} or {UNGRADED: 1}


def _standing(one: _Live) -> Standing:
    row = one.row
    return Standing(row.id, row.target_id, row.site_id, one.is_ready, one.forecast.ready_on, one.sizes)


def _rows(one: _Live, given: Allotted, origin: Origin, *, is_shut: bool) -> Iterator[Stock]:
    """A row for each size of a batch; its range and what stands ready are shared out as its plants are."""
    row, taken = one.row, given.plants[one.row.id]
    shares = dict(one.sizes) if sum(one.sizes.values()) else {**dict.fromkeys(one.sizes, 0), UNGRADED: 1}
    ready = apportion(row.alive if one.is_ready else 0, shares)
    low, high = apportion(one.forecast.p10, shares), apportion(one.forecast.p90, shares)
    lent = tuple(sorted(given.lent.get(row.id, {}).items()))
    for size in shares:
        expected = one.sizes.get(size, 0)
        allocated = taken.get(size, 0)
        yield Stock(
            batch_id=row.id, code=row.code, species_id=row.species_id, species_name=row.scientific_name,
            container_name=row.container_name or "", grade=size, origin=origin,
            nursery_name=row.nursery_name or "", site_id=row.site_id, site_name=row.site_name or "",
            stage=row.stage, ready_on=one.forecast.ready_on, ready=ready[size], expected=expected, low=low[size],
            high=high[size], allocated=allocated, held=expected - allocated if is_shut else 0, lent=lent,
        )  # fmt: skip


def _origins(session: Session, batch_ids: Collection[int]) -> dict[int, Origin]:
    shares = batch_lots(session, batch_ids)
    lots = {lot_id for each in shares.values() for lot_id in each}
    if not lots:
        return {}
    places = {
        row.id: row
        for row in session.execute(
            select(Lot.id, Population.name, Population.region_code).join(Lot.population).where(Lot.id.in_(lots))
        )
    }
    found = {}
    for batch_id, each in shares.items():
        own = [places[lot_id] for lot_id in each if lot_id in places]
        found[batch_id] = Origin(
            tuple(sorted({row.name for row in own})), tuple(sorted({row.region_code for row in own} - {""}))
        )
    return found
