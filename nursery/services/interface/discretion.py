"""A list as it goes out to other programs: no people, no free remarks, and sensitive places told coarsely.

What is left out can be neither searched nor sorted by, since that would tell it too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

from sqlalchemy import Row, case, null

from nursery.models import Batch, Lot, Person, Population, Site, Target, Task, Trip
from nursery.planning.generalising import generalise
from nursery.services.listing import Column, Expression, Listing

#: Names of people, and remarks, in which people write down names, telephones and the way to a stand.
WITHHELD = (
    Trip.people, Trip.notes, Person.name, Task.done_by, Task.reason, Population.notes, Lot.notes, Batch.notes,
    Site.notes, Target.notes,
)  # fmt: skip
#: Told of stands that are not sensitive, as data for others tell it (`nursery.services.exchange`).
HIDDEN = (Population.name, Population.elevation_m)
#: Told of sensitive stands to tenths of a degree; nobody sorts by what is rounded.
ROUNDED = (Population.latitude, Population.longitude)


@lru_cache(maxsize=16)
def discreet(listing: Listing) -> Listing:
    """The list without what is private."""
    kept = [column for column in listing.columns if not _is_one_of(column.value, WITHHELD)]
    gone = {column.key for column in listing.columns} - {column.key for column in kept}
    return replace(
        listing,
        columns=tuple(_told(column) for column in kept),
        search=tuple(_open(each) for each in listing.search if not _is_one_of(each, WITHHELD)),
        filters=tuple(
            replace(each, value=_open(each.value)) for each in listing.filters if each.key not in gone
        ),
    )  # fmt: skip


def without_people(plan: Mapping[str, Any]) -> dict[str, Any]:
    """A plan as the command line tells it, but for who decided on a lot and the reason given."""
    lines = [
        {**line, "lots": [{**draw, "decision": _unnamed(draw["decision"])} for draw in line["lots"]]}
        for line in plan["lines"]
    ]
    return {**plan, "lines": lines, "decisions": [_unnamed(each) for each in plan["decisions"]]}


def _unnamed(decision: Mapping[str, Any] | None) -> dict[str, Any] | None:
    if decision is None:
        return None
    return {name: value for name, value in decision.items() if name not in {"person", "reason"}}


def tell_place(row: Row[Any], told: dict[str, Any]) -> Mapping[str, Any]:
    """A stand's coordinates as they go out, and how many metres they may be off."""
    if not row.is_sensitive:
        return {**told, "uncertainty": None}
    place = generalise(row.latitude, row.longitude)
    return {**told, "latitude": place.latitude, "longitude": place.longitude, "uncertainty": place.metres}


def _told(column: Column) -> Column:
    if _is_one_of(column.value, HIDDEN):
        return replace(column, value=_open(column.value), nullable=True)
    if _is_one_of(column.value, ROUNDED):
        return replace(column, sortable=False)
    return column


def _open(expression: Expression) -> Expression:
    if not _is_one_of(expression, HIDDEN):
        return expression
    return case((Population.is_sensitive, null()), else_=expression)


def _is_one_of(expression: Expression, some: tuple[Any, ...]) -> bool:
    # Compared by identity: “==” of columns makes SQL.
    return any(expression is each for each in some)
