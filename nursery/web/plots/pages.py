"""The pages of plots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from flask import request, url_for
from markupsafe import Markup
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Site, Survey, SurveyPlot
from nursery.services.surveys.listing import LISTING as SURVEYS
from nursery.services.surveys.plots import LISTING, change_plot, create_plot
from nursery.web.forms import RecordForm
from nursery.web.listing import view_list
from nursery.web.plots.forms import PlotForm
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db

#: The plot itself need not be told on its own page.
_SURVEYS = replace(
    SURVEYS, columns=tuple(column for column in SURVEYS.columns if column.key not in {"site", "plot"})
)


def _facts(row: SurveyPlot, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    site = Markup('<a href="{}">{}</a>').format(
        url_for("sites.detail", record_id=row.site_id), f"{row.site.code} · {row.site.name}"
    )
    has_place = row.latitude is not None and row.longitude is not None
    place = f"{form.show('latitude', row.latitude)}, {form.show('longitude', row.longitude)}" if has_place else ""
    return [
        (_("Planting site"), site),
        (_("Area"), _("%(area)s m²", area=format_number(row.area_m2, 1)) if row.area_m2 else ""),
        (_("Where it lies"), place),
        (_("Notes"), row.notes),
    ]


def _context(row: SurveyPlot) -> Mapping[str, Any]:
    return {"surveys": view_list(_SURVEYS, where=(Survey.plot_id == row.id,))}


def _initial() -> Mapping[str, Any]:
    site = request.args.get("site", "")
    return {"site_id": db().scalar(select(Site.id).where(Site.code == site, Site.archived_at.is_(None)))}


PAGES = RecordPages(
    name="plots",
    section="plant",
    model=SurveyPlot,
    listing=LISTING,
    form=PlotForm,
    create=create_plot,
    change=change_plot,
    title=lambda row: _("Plot %(plot)s, %(site)s", plot=row.name, site=row.site.name),
    options=(joinedload(SurveyPlot.site),),
    facts=_facts,
    context=_context,
    initial=_initial,
    detail_template="plots/detail.html",
    list_template="plots/list.html",
    words=Words(
        list_title=_l("Survey plots"),
        list_lead=_l("Marked pieces of a site that are counted after one, three and five years."),
        new_title=_l("New survey plot"),
        new_button=_l("New plot"),
        noun=_l("Survey plot"),
        empty_title=_l("No survey plots yet"),
        empty_text=_l(
            "Mark a piece of a planted site with posts, by chance and not where it looks best, and write it down:"
            " what lives in it after one, three and five years says how the planting does."
        ),
        archive_text=_l("The plot leaves the lists. What was counted in it stays, and still counts."),
    ),
)
bp = build(PAGES)
