"""The pages of planting sites."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flask import current_app, url_for

from nursery.i18n import lazy as _l
from nursery.models import Planting, Site, Target
from nursery.services.papers.rulings import standing_ruling
from nursery.services.planning import current_plan
from nursery.services.plantings import LISTING as PLANTINGS
from nursery.services.sites import LISTING, change_site, create_site
from nursery.services.targets import LISTING as TARGETS
from nursery.services.targets import mix_of_site, season_totals
from nursery.web.listing import view_list
from nursery.web.origin.strategy import origin_of_site
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db
from nursery.web.sites.forms import SiteForm
from nursery.web.surveys.showing import survival_card
from nursery.web.zones.standing import map_remarks, place_context, site_list

#: The site itself need not be told on its own page.
_PLANTINGS = replace(PLANTINGS, columns=tuple(column for column in PLANTINGS.columns if column.key != "site"))
_TARGETS = replace(TARGETS, columns=tuple(column for column in TARGETS.columns if column.key != "site"))


def _context(row: Site) -> Mapping[str, Any]:
    return {
        "targets": view_list(_TARGETS, where=(Target.site_id == row.id,)),
        "totals": season_totals(db(), Target.site_id == row.id),
        "mix": mix_of_site(db(), row.id),
        "plan_url": _plan_url(row),
        "ruling": standing_ruling(db(), row),
        "ruling_kind": "site",
        "origin": origin_of_site(row),
        "plantings": view_list(_PLANTINGS, where=(Planting.site_id == row.id,)),
        **survival_card(row),
        **place_context(row),
    }


def _plan_url(row: Site) -> str:
    """The lines of this site in the adopted plan, when there is one."""
    if "plans.current" not in current_app.view_functions:
        return ""
    plan = current_plan(db())
    return url_for("plans.current", site=row.id) if plan and plan.is_adopted else ""


PAGES = RecordPages(
    name="sites",
    section="plant",
    model=Site,
    listing=LISTING,
    form=SiteForm,
    create=create_site,
    change=change_site,
    title=lambda row: f"{row.code} · {row.name}",
    context=_context,
    initial=lambda: {"window_opens": "11-01", "window_closes": "02-28"},
    detail_template="sites/detail.html",
    list_template="zones/placed_list.html",
    list_context=site_list,
    remarks=map_remarks,
    words=Words(
        list_title=_l("Planting sites"),
        list_lead=_l("Places to be planted, and the days when planting there makes sense."),
        new_title=_l("New planting site"),
        new_button=_l("New site"),
        noun=_l("Planting site"),
        empty_title=_l("No planting sites yet"),
        empty_text=_l(
            "A site is a place to be planted. Write down where it lies: the plan draws seed from the same region"
            " or basin, nearest first. A spreadsheet can be imported too."
        ),
        archive_text=_l("The site leaves the lists, and its targets leave the next plan. All history stays."),
    ),
)
bp = build(PAGES)
