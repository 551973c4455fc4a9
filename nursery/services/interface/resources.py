"""The lists that other programs read: each is the list of a page, described once by its listing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy
from sqlalchemy import Row

from nursery.i18n import lazy as _l
from nursery.services import lots, populations, sites, trips
from nursery.services.batches import listing as batches
from nursery.services.calculators.calculator import Result
from nursery.services.interface.discretion import discreet, tell_place
from nursery.services.listing import Listing
from nursery.services.targets import listing as targets
from nursery.services.work.listing import listing_of

#: Rows of one answer where nobody asks for another number, and at most.
SIZE, MOST = 100, 500


@dataclass(frozen=True)
class Resource:
    """A kind of record: its name in addresses, and the list of a day. ``more`` are values that ``tell`` adds."""

    name: str
    title: LazyProxy
    about: LazyProxy
    listing: Callable[[dt.date], Listing]
    tell: Callable[[Row[Any], dict[str, Any]], Mapping[str, Any]] = lambda _row, told: told
    more: tuple[Result, ...] = ()


def _always(listing: Listing) -> Callable[[dt.date], Listing]:
    told = discreet(listing)
    return lambda _today: told


RESOURCES = {
    one.name: one
    for one in (
        Resource(
            "populations",
            _l("Populations"),
            _l(
                "Wild stands where material is collected. Of sensitive ones the coordinates are rounded to a tenth"
                " of a degree, and name and elevation are left out."
            ),
            _always(populations.LISTING),
            tell_place,
            (Result("uncertainty", _l("How far the place may be off"), "whole", "m"),),
        ),
        Resource("trips", _l("Trips"), _l("Collecting trips, without names of people."), _always(trips.LISTING)),
        Resource("lots", _l("Lots"), _l("Seed and cuttings with what is left of them."), _always(lots.LISTING)),
        Resource("batches", _l("Batches"), _l("What was sown, with plants alive."), _always(batches.LISTING)),
        Resource(
            "tasks",
            _l("Tasks"),
            _l("Dated work, late or to come, without the names of people."),
            lambda today: discreet(listing_of(today)),
        ),
        Resource("sites", _l("Planting sites"), _l("Where plants go, and when."), _always(sites.LISTING)),
        Resource(
            "targets", _l("Targets"), _l("What is wanted where, season by season."), _always(targets.LISTING)
        ),
    )
}
