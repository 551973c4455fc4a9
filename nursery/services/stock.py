"""Ready stock as the plan forecasts it: by season and species, and by planting site.

Sums are the plan lines' own. The 10–90 % range of a sum is reckoned by what its parts have in common:

- Lines of one species share its rates, and most of what is unknown about a line is in them. They are taken to do
  well or badly together, and so their p10 add up, and their p90 (the quantiles of comonotonic variables add). That
  is the cautious bound: where batches differ by chance the true range is narrower.
- Different species are taken as independent. Their distances from the expected number to p10 (and to p90) add as
  squares, exact for normal distributions. Adding their p10 would be far too wide.

Own convention, no source beyond that arithmetic.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from sqlalchemy import case, func, or_, select
from sqlalchemy.orm import Session

from nursery.models import PlanLine, Species
from nursery.models.plans import LineStatus
from nursery.services.naming import species_named_like

By = Literal["species", "nursery", "container"]
#: What each grouping adds to season and species.
_GROUPS: dict[By, tuple[Any, ...]] = {
    "species": (),
    "nursery": (PlanLine.nursery_name,),
    "container": (PlanLine.nursery_name, PlanLine.container_name),
}


@dataclass(frozen=True, slots=True)
class Forecast:
    """What some lines ask for and give. ``low``–``high`` is the range of ready plants, 10 to 90 %."""

    lines: int
    plants_to_plant: int
    ready_plants: int
    expected: float
    low: float
    high: float
    #: Plants that seed in hand cannot give: those whose seed can still be collected, and those lost to the season.
    to_collect: int
    lost: int
    #: Plants expected to reach the sites: each line's, and never more than it asks for.
    arriving: float

    @property
    def short(self) -> int:
        """Plants that seed in hand cannot give."""
        return self.to_collect + self.lost

    @property
    def met(self) -> float:
        """Share 0–1 of the plants to plant that is expected to arrive."""
        return self.arriving / self.plants_to_plant if self.plants_to_plant else 0.0


@dataclass(frozen=True, slots=True)
class StockRow:
    """One species in one season, or a part of it grown in one nursery or container."""

    season: int
    species_id: int
    species_name: str
    nursery_name: str
    container_name: str
    ready_from: dt.date
    ready_until: dt.date
    #: The least of the lines' chances, which is the chance that all of them are met while they share their rates.
    chance: float
    forecast: Forecast


@dataclass(frozen=True, slots=True)
class StockQuery:
    """What a person asks of the forecast."""

    by: By = "species"
    season: int | None = None
    nursery: str = ""
    q: str = ""
    sort: str = "species"


@dataclass(frozen=True, slots=True)
class SeasonStock:
    """The rows of one season and what they come to together."""

    season: int
    rows: list[StockRow]
    total: Forecast


#: Orders of the rows inside a season; a ``-`` before a key turns it.
SORTS: dict[str, Any] = {
    "species": lambda row: (row.species_name, row.nursery_name, row.container_name),
    "nursery": lambda row: (row.nursery_name, row.container_name, row.species_name),
    "wanted": lambda row: row.forecast.plants_to_plant,
    "needed": lambda row: row.forecast.ready_plants,
    "expected": lambda row: row.forecast.expected,
    "short": lambda row: row.forecast.short,
    "chance": lambda row: row.chance,
    "ready": lambda row: row.ready_from,
}

#: Sums over a group of lines, in the order of `_sums`.
SUMS: tuple[Any, ...] = (
    func.count(PlanLine.id),
    func.sum(PlanLine.plants_to_plant),
    func.sum(PlanLine.ready_plants),
    func.sum(PlanLine.expected),
    func.sum(PlanLine.p10),
    func.sum(PlanLine.p90),
    func.sum(case((PlanLine.status == LineStatus.COLLECT, PlanLine.shortfall), else_=0)),
    func.sum(case((PlanLine.status == LineStatus.COLLECT, 0), else_=PlanLine.shortfall)),
    func.sum(
        case(
            (PlanLine.ready_plants < 1, 0.0),
            (PlanLine.expected >= PlanLine.ready_plants, PlanLine.plants_to_plant * 1.0),
            else_=PlanLine.plants_to_plant * PlanLine.expected / PlanLine.ready_plants,
        )
    ),
)


def read_stock(session: Session, plan_id: int, query: StockQuery) -> list[SeasonStock]:
    """The forecast season by season, in one query; the database adds up the lines."""
    groups = _GROUPS[query.by]
    keys = (PlanLine.season, PlanLine.species_id, PlanLine.species_name, *groups)
    statement = (
        select(
            *keys, func.min(PlanLine.ready_on), func.max(PlanLine.ready_on), func.min(PlanLine.probability), *SUMS
        )
        .join(Species, PlanLine.species_id == Species.id)
        .where(PlanLine.plan_id == plan_id, *_wanted(query))
        .group_by(*keys)
    )
    seasons: dict[int, list[StockRow]] = {}
    for season, species_id, name, *rest in session.execute(statement):
        nursery, container, *_rest = [*rest[: len(groups)], "", ""]
        first, last, chance, *sums = rest[len(groups) :]
        row = StockRow(season, species_id, name, nursery, container, first, last, chance, forecast_of(sums))
        seasons.setdefault(season, []).append(row)
    key, turned = SORTS.get(query.sort.removeprefix("-"), SORTS["species"]), query.sort.startswith("-")
    return [
        SeasonStock(
            season,
            sorted(sorted(rows, key=SORTS["species"]), key=key, reverse=turned),
            together(_by_species(rows)),
        )
        for season, rows in sorted(seasons.items())
    ]


def _wanted(query: StockQuery) -> Sequence[Any]:
    found: list[Any] = []
    if query.season is not None:
        found.append(PlanLine.season == query.season)
    if query.nursery:
        found.append(PlanLine.nursery_name == query.nursery)
    for word in query.q.replace("\0", " ").split()[:8]:
        named = PlanLine.species_name.icontains(word, autoescape=True)
        found.append(or_(named, Species.key.in_(species_named_like(word))))
    return found


def forecast_of(sums: Sequence[Any]) -> Forecast:
    """A forecast from the sums of ``SUMS``; lines of one species only, whose ranges add up."""
    count, to_plant, ready, expected, low, high, to_collect, lost, arriving = sums
    return Forecast(
        int(count), int(to_plant), int(ready), float(expected), float(low), float(high), int(to_collect),
        int(lost), float(arriving),
    )  # fmt: skip


def together(parts: Sequence[Forecast]) -> Forecast:
    """Forecasts of different species as one: amounts add, distances of the range from the mean add as squares."""
    expected = math.fsum(part.expected for part in parts)
    below = math.sqrt(math.fsum((part.expected - part.low) ** 2 for part in parts))
    above = math.sqrt(math.fsum((part.high - part.expected) ** 2 for part in parts))
    return Forecast(
        lines=sum(part.lines for part in parts),
        plants_to_plant=sum(part.plants_to_plant for part in parts),
        ready_plants=sum(part.ready_plants for part in parts),
        expected=expected,
        low=max(expected - below, 0.0),
        high=expected + above,
        to_collect=sum(part.to_collect for part in parts),
        lost=sum(part.lost for part in parts),
        arriving=math.fsum(part.arriving for part in parts),
    )


def alike(parts: Sequence[Forecast]) -> Forecast:
    """Forecasts of one species as one: everything adds, the ranges too."""
    return Forecast(
        lines=sum(part.lines for part in parts),
        plants_to_plant=sum(part.plants_to_plant for part in parts),
        ready_plants=sum(part.ready_plants for part in parts),
        expected=math.fsum(part.expected for part in parts),
        low=math.fsum(part.low for part in parts),
        high=math.fsum(part.high for part in parts),
        to_collect=sum(part.to_collect for part in parts),
        lost=sum(part.lost for part in parts),
        arriving=math.fsum(part.arriving for part in parts),
    )


def _by_species(rows: Sequence[StockRow]) -> list[Forecast]:
    parts: dict[int, list[Forecast]] = {}
    for row in rows:
        parts.setdefault(row.species_id, []).append(row.forecast)
    return [alike(some) for some in parts.values()]


def read_choices(session: Session, plan_id: int) -> tuple[list[int], list[str]]:
    """Seasons and nurseries of a plan, to filter by."""
    pairs = session.execute(
        select(PlanLine.season, PlanLine.nursery_name).where(PlanLine.plan_id == plan_id).distinct()
    ).all()
    return sorted({season for season, _name in pairs}), sorted({name for _season, name in pairs if name})
