"""What pages of sites show of their surveys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import url_for
from sqlalchemy import func, select

from nursery.i18n import format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Site, SurveyPlot
from nursery.services.seasons import season_name
from nursery.services.surveys.site import SiteSurvival, read_site
from nursery.services.surveys.words import year_name
from nursery.web.session import db


def survival_card(site: Site, season: int | None = None) -> Mapping[str, Any]:
    """Values of ``surveys/_survival.html``."""
    found = read_site(db(), site, season)
    plots = db().scalar(
        select(func.count()).where(SurveyPlot.site_id == site.id, SurveyPlot.archived_at.is_(None))
    )
    if found is None:
        return {"survived": None, "plots": plots or 0}
    return {
        "survived": found,
        "plots": plots or 0,
        "survival_urls": [
            url_for("surveys.chart", record_id=site.id, season=found.season, narrow=narrow)
            for narrow in (None, "1")
        ],
        "survival_alt": _alt(found),
        "year_name": year_name,
    }


def _alt(found: SiteSurvival) -> str:
    told = ngettext(
        "A line of survival over the years for %(num)s species planted in %(season)s.",
        "A line of survival over the years for each of %(num)s species planted in %(season)s.",
        len(found.by_species),
        season=season_name(found.season),
    )
    last = [rows[-1] for rows in found.by_species.values()]
    best, worst = max(last, key=lambda row: row.rate), min(last, key=lambda row: row.rate)
    return _(
        "%(told)s Last %(best)s had %(most)s alive, %(worst)s %(least)s. The table below holds the same numbers.",
        told=told,
        best=best.species,
        most=format_percent(best.rate),
        worst=worst.species,
        least=format_percent(worst.rate),
    )
