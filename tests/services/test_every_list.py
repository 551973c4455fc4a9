"""Every list of the product by each of its columns: each row once, forth and back, whatever the column holds."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import Boolean, case, func, insert, null, select, type_coerce, update
from sqlalchemy.orm import Session

import nursery.services
from nursery.i18n import lazy as _l
from nursery.models import Batch, Population
from nursery.services.listing import Column, Condition, Listing, ListQuery, export_rows, read_page
from nursery.services.needs import needs_listing
from nursery.services.planning.lines.listing import lines_listing
from nursery.services.populations import LISTING as POPULATIONS
from nursery.services.site_stock import site_listing
from nursery.services.work.listing import listing_of
from nursery.web.plans.pages import LISTING as PLANS
from tests.conftest import TODAY


def declared() -> dict[str, Listing]:
    """Lists that stand in modules, by the module that declares them."""
    found: dict[int, tuple[str, Listing]] = {id(PLANS): ("nursery.web.plans.pages", PLANS)}
    for module in pkgutil.walk_packages(nursery.services.__path__, "nursery.services."):
        for name, value in vars(importlib.import_module(module.name)).items():
            if isinstance(value, Listing):
                found.setdefault(id(value), (f"{module.name}.{name}", value))
    return dict(found.values())


#: Lists made for a plan, a site or a day.
MADE: dict[str, Listing] = {
    "lines": lines_listing(1),
    "needs": needs_listing(TODAY, 1),
    "work": listing_of(TODAY),
    "site": site_listing(1, 1),
}
LISTS = declared() | MADE


def test_no_list_of_the_product_is_missing_here() -> None:
    sources = [*Path("nursery/services").rglob("*.py"), *Path("nursery/web").rglob("*.py")]
    made = sum(len(re.findall(r"(?:= |return )Listing\(", file.read_text("utf-8"))) for file in sources)

    assert made == len(LISTS)


def some(session: Session, listing: Listing) -> tuple[Condition, ...]:
    """Twenty rows from all over the list: as many pages as it takes, and soon walked."""
    model = listing.model
    ids = session.scalars(listing.joins(select(model.id).select_from(model)).order_by(model.id)).all()
    return (model.id.in_(ids[:: len(ids) // 20 + 1]),)


def walk(
    session: Session, listing: Listing, sort: str, where: Sequence[Condition], size: int
) -> tuple[list[list[int]], list[list[int]]]:
    """Ids page by page from the first to the last and back; a walk without end is broken off."""
    query = ListQuery(sort=sort, archived="all")
    page = read_page(session, listing, query, where=where, size=size)
    forth, back = [[row.id for row in page.rows]], []
    while page.after and len(forth) < 25:
        page = read_page(session, listing, replace(query, after=page.after), where=where, size=size)
        forth.append([row.id for row in page.rows])
    while page.before and len(back) < 25:
        page = read_page(session, listing, replace(query, before=page.before), where=where, size=size)
        back.append([row.id for row in page.rows])
    return forth, back


def assert_each_row_once(session: Session, listing: Listing, sort: str) -> None:
    where = some(session, listing)
    query = ListQuery(sort=sort, archived="all")
    whole = [row.id for row in export_rows(session, listing, query, where=where)]
    assert 1 < len(whole) == len(set(whole))

    forth, back = walk(session, listing, sort, where, size=max(1, len(whole) // 4))

    assert [row_id for page in forth for row_id in page] == whole, sort
    assert back == forth[-2::-1], sort


def shuffle(session: Session, listing: Listing) -> None:
    """Yes in every third row, so that yes and no both run over the end of a page."""
    for column in listing.columns:
        if isinstance(column.value.type, Boolean):
            model = column.value.class_
            session.execute(update(model).values({column.value: case((model.id % 3 == 0, True), else_=False)}))


def double(session: Session, listing: Listing) -> None:
    """A row more like the first, where the season has but one of its kind."""
    table = listing.model.__table__
    first = dict(session.execute(select(table).limit(1)).mappings().one())
    if "batch_id" in first:  # one batch is in quarantine once
        first["batch_id"] = session.scalar(select(Batch.id).where(Batch.id != first["batch_id"]).limit(1))
    session.execute(insert(table).values(first | {"id": first["id"] + 1000}))


@pytest.mark.parametrize("name", LISTS)
def test_a_walk_by_any_column_of_any_list_meets_each_row_once(demo_session: Session, name: str) -> None:
    listing = LISTS[name]
    if demo_session.scalar(select(func.count()).select_from(listing.model)) == 1:
        double(demo_session, listing)
    shuffle(demo_session, listing)

    for column in listing.columns:
        if column.sortable:
            assert_each_row_once(demo_session, listing, column.key)
            assert_each_row_once(demo_session, listing, "-" + column.key)


@pytest.mark.parametrize("sort", ["hangs", "-hangs"])
def test_yes_no_and_not_known_are_walked_alike(demo_session: Session, sort: str) -> None:
    steep = case((Population.id % 5 == 0, null()), (Population.id % 2 == 0, True), else_=False)
    column = Column("hangs", _l("Steep"), type_coerce(steep, Boolean), "choice")
    listing = replace(POPULATIONS, columns=(*POPULATIONS.columns, column))

    assert_each_row_once(demo_session, listing, sort)
    told = [row.hangs for row in export_rows(demo_session, listing, ListQuery(sort=sort))]
    assert told == sorted(told, key=lambda value: (value is None, value is (sort == "hangs")))


def test_stands_can_be_sorted_by_whether_their_place_is_sensitive() -> None:
    assert POPULATIONS.column("is_sensitive").sortable
