"""The stock of one season as it was asked for: totals, groups, weeks, and what there is to choose from.

Page, PDF and workbook are all made from this, so that they show the same plants.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.services.ready.query import WITH_WANTS, By, ReadyQuery
from nursery.services.ready.reading import EverySeason, read_every_season
from nursery.services.ready.rows import Numbers, Stock, Want, sum_up
from nursery.services.ready.week_rows import WeekRow, weeks_of


@dataclass(frozen=True, slots=True)
class Group:
    """A row of the table: what it is called, its sums, and what it is made of."""

    name: str
    #: Empty where the plants have nothing to be grouped by, such as no size yet.
    is_named: bool
    numbers: Numbers
    stock: Sequence[Stock]
    wants: Sequence[Want]


@dataclass(frozen=True)
class ReadySeason:
    """One season, narrowed to what was asked."""

    season: int
    query: ReadyQuery
    today: dt.date
    stock: Sequence[Stock]
    wants: Sequence[Want]
    every: EverySeason

    @cached_property
    def total(self) -> Numbers:
        """All rows together."""
        return sum_up(self.stock, self.wants)

    def groups(self, by: By | None = None) -> list[Group]:
        """Rows by one thing, in the order asked for; wants only where they have a place in it."""
        chosen = by or self.query.by
        found = _grouped(self.stock, self.wants if chosen in WITH_WANTS else (), chosen)
        return _sorted(found, self.query.sort) if by in {None, self.query.by} else found

    @cached_property
    def weeks(self) -> list[WeekRow]:
        """What is ready by when, across the planting window."""
        return weeks_of(self.stock, self.wants, self.today)

    @cached_property
    def unsown(self) -> list[Want]:
        """Targets of which something is still to be sown, or can no longer come."""
        return [want for want in self.wants if want.to_sow or want.short]

    @cached_property
    def choices(self) -> Mapping[str, list[tuple[str, str]]]:
        """Species, sites and nurseries of the season, to filter by."""
        stock, wants = self.every.stock.get(self.season, ()), self.every.wants.get(self.season, ())
        rows: list[Any] = [*stock, *wants]
        return {
            "species": _pairs((row.species_name, row.species_id) for row in rows),
            "site": _pairs((row.site_name, row.site_id) for row in rows if row.site_id is not None),
            "nursery": _pairs((row.nursery_name, row.nursery_name) for row in rows if row.nursery_name),
        }

    @property
    def waiting(self) -> int:
        """Plants that came back from the season's sites and wait for a decision."""
        return sum(self.every.waiting.get(want.target_id, 0) for want in self.wants)

    @property
    def is_past(self) -> bool:
        """Whether the planting of everything asked for is over."""
        return bool(self.wants) and all(self.is_over(want) for want in self.wants)

    def is_over(self, want: Want) -> bool:
        """Whether nothing can be done for a target any more."""
        return want.closes_on < self.today


def read_ready(session: Session, query: ReadyQuery, *, today: dt.date) -> ReadySeason:
    """The season asked for, or the one that is being planted; a fixed number of queries."""
    every = read_every_season(session, today=today)
    season = query.season if query.season is not None else every.season_for(today)

    def is_wanted(row: Stock | Want) -> bool:
        return (
            query.species in {None, row.species_id}
            and query.site in {None, row.site_id}
            and query.nursery in {"", row.nursery_name}
        )

    stock = [row for row in every.stock.get(season, ()) if is_wanted(row)]
    wants = [row for row in every.wants.get(season, ()) if is_wanted(row)]
    return ReadySeason(season, query, today, stock, wants, every)


def _of_stock(row: Stock, by: By) -> str:
    return {
        By.SPECIES: row.species_name,
        By.CONTAINER: row.container_name,
        By.GRADE: row.grade,
        By.ORIGIN: row.origin.label,
        By.SITE: row.site_name,
        By.BATCH: f"{row.code} {row.grade}".strip(),
    }[by]


def _of_want(row: Want, by: By) -> str:
    return {By.SPECIES: row.species_name, By.CONTAINER: row.container_name, By.SITE: row.site_name}[by]


def unnamed(by: By) -> str:
    """What plants are called that have nothing to be grouped by."""
    return {
        By.CONTAINER: _("No container: flats and beds"),
        By.GRADE: _("Not graded yet"),
        By.ORIGIN: _("Origin not known"),
        By.SITE: _("For no site"),
    }.get(by, "")


def _grouped(stock: Sequence[Stock], wants: Sequence[Want], by: By) -> list[Group]:
    plants: defaultdict[str, list[Stock]] = defaultdict(list)
    asked: defaultdict[str, list[Want]] = defaultdict(list)
    for row in stock:
        plants[_of_stock(row, by)].append(row)
    for want in wants:
        asked[_of_want(want, by)].append(want)
    names = sorted({*plants, *asked}, key=lambda name: (not name, name.casefold()))
    return [
        Group(name or unnamed(by), bool(name), sum_up(plants[name], asked[name]), plants[name], asked[name])
        for name in names
    ]


def _sorted(groups: list[Group], sort: str) -> list[Group]:
    key, turned = sort.removeprefix("-"), sort.startswith("-")
    if not key:
        return groups
    by: Callable[[Group], Any] = (
        (lambda group: group.name.casefold()) if key == "name" else lambda group: getattr(group.numbers, key)
    )
    return sorted(groups, key=by, reverse=turned)


def _pairs(rows: Any) -> list[tuple[str, str]]:
    return [(str(value), name) for name, value in sorted(set(rows))]
