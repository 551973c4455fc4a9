"""The pages of populations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import joinedload

from nursery.i18n import lazy as _l
from nursery.models import Lot, Population
from nursery.services.lots import LISTING as LOTS
from nursery.services.populations import LISTING, change_population, create_population
from nursery.web.listing import view_list
from nursery.web.populations.forms import PopulationForm
from nursery.web.records import RecordPages, Words, build
from nursery.web.zones.standing import map_remarks, place_context, population_list


def _lots(row: Population) -> Mapping[str, Any]:
    return {"lots": view_list(LOTS, where=(Lot.population_id == row.id,)), **place_context(row)}


PAGES = RecordPages(
    name="populations",
    section="collect",
    model=Population,
    listing=LISTING,
    form=PopulationForm,
    create=create_population,
    change=change_population,
    title=lambda row: f"{row.code} · {row.name}",
    options=(joinedload(Population.species),),
    context=_lots,
    detail_template="populations/detail.html",
    list_template="zones/placed_list.html",
    list_context=population_list,
    remarks=map_remarks,
    words=Words(
        list_title=_l("Populations"),
        list_lead=_l("Wild stands where seed or cuttings are collected."),
        new_title=_l("New population"),
        new_button=_l("New population"),
        noun=_l("Population"),
        empty_title=_l("No populations yet"),
        empty_text=_l(
            "A population is a wild stand of one species. Write down where it grows, so that its seed is planted"
            " in the right places. A spreadsheet can be imported too."
        ),
        archive_text=_l("The population leaves the lists. Its lots and their history stay."),
    ),
)
bp = build(PAGES)
