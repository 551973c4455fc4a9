"""The pages of collection trips."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import format_date
from nursery.i18n import lazy as _l
from nursery.models import Lot, Trip
from nursery.services.lots import LISTING as LOTS
from nursery.services.trips import LISTING, change_trip, create_trip
from nursery.web.listing import view_list
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import today
from nursery.web.trips.forms import TripForm


def _lots(row: Trip) -> Mapping[str, Any]:
    return {"lots": view_list(LOTS, where=(Lot.trip_id == row.id,))}


PAGES = RecordPages(
    name="trips",
    section="collect",
    model=Trip,
    listing=LISTING,
    form=TripForm,
    create=create_trip,
    change=change_trip,
    title=lambda row: f"{row.code} · {format_date(row.collected_on)}",
    context=_lots,
    initial=lambda: {"collected_on": today()},
    detail_template="trips/detail.html",
    words=Words(
        list_title=_l("Collection trips"),
        list_lead=_l("Outings to collect, each giving one or more lots."),
        new_title=_l("New trip"),
        new_button=_l("New trip"),
        noun=_l("Collection trip"),
        empty_title=_l("No trips yet"),
        empty_text=_l(
            "Write a trip down when you are back: the day, the people, the hours and the way. Then add the lots"
            " that came home with you."
        ),
        archive_text=_l("The trip leaves the lists. Its lots stay as they are."),
    ),
)
bp = build(PAGES)
