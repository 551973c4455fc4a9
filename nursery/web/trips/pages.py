"""The pages of collection trips."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import request

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Trip
from nursery.models.lots import Material
from nursery.services.lots import LISTING as LOTS
from nursery.services.programme import read_programme
from nursery.services.programme.picks import Pick
from nursery.services.trips import LISTING, change_trip, create_trip
from nursery.web.listing import view_list
from nursery.web.programme import explaining
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db, today
from nursery.web.trips.forms import TripForm

#: Days after a trip in which its lots are usually written down, and populations offered for them at most.
_RECENT, _MOST_OFFERED = 60, 12


def _context(row: Trip) -> Mapping[str, Any]:
    return {
        "lots": view_list(LOTS, where=(Lot.trip_id == row.id,)),
        "offered": _offered(row),
        "amount": explaining.amount,
    }


def _offered(row: Trip) -> Sequence[Pick]:
    """What the programme wanted on the day of the trip and the trip has no lot of yet."""
    if row.archived_at or not 0 <= (today() - row.collected_on).days <= _RECENT:
        return ()
    programme = read_programme(db(), today=today())
    if programme is None:
        return ()
    home = {(lot.population_id, lot.material is Material.CUTTINGS) for lot in row.lots if not lot.archived_at}
    found: dict[tuple[int, bool], Pick] = {}
    for pick in programme.in_season(row.collected_on):
        key = pick.stand.population_id, pick.sheet.is_cuttings
        if key not in home:
            found.setdefault(key, pick)
    return list(found.values())[:_MOST_OFFERED]


def _initial() -> Mapping[str, Any]:
    """Today, and the places of the outlined trip that the address names."""
    key = request.args.get("outline", "")
    programme = read_programme(db(), today=today()) if key else None
    for trip in programme.trips if programme else ():
        if trip.key == key:
            places = "; ".join(f"{pick.stand.code} {pick.sheet.need.species_name}" for pick in trip.picks)
            return {"collected_on": today(), "notes": _("Planned: %(places)s", places=places)}
    return {"collected_on": today()}


PAGES = RecordPages(
    name="trips",
    section="collect",
    model=Trip,
    listing=LISTING,
    form=TripForm,
    create=create_trip,
    change=change_trip,
    title=lambda row: f"{row.code} · {format_date(row.collected_on)}",
    context=_context,
    initial=_initial,
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
