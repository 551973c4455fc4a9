"""The pages of planting targets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import current_app, request, url_for
from markupsafe import Markup
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.errors import Invalid
from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Container, PlanLine, Site, Species, Target
from nursery.models.targets import TargetBasis
from nursery.services import limits
from nursery.services.listing import conditions
from nursery.services.planning import current_plan
from nursery.services.seasons import season_name, season_span
from nursery.services.targets import (
    LISTING,
    change_target,
    create_target,
    mix_of_site,
    restore_target,
    season_totals,
    wanted_of,
)
from nursery.services.targets.checking import check_target, settled
from nursery.services.targets.meaning import MIX_TOLERANCE
from nursery.web.forms import RecordForm
from nursery.web.links import address
from nursery.web.listing import ListView
from nursery.web.records import RecordPages, Words, build, form_page
from nursery.web.session import db, today
from nursery.web.targets.forms import TargetForm


def _facts(row: Target, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    wanted = wanted_of(vars(row), row.site.area_ha)
    link = Markup('<a href="{}">{}</a>')
    site = link.format(url_for("sites.detail", record_id=row.site_id), f"{row.site.code} · {row.site.name}")
    species = link.format(
        url_for("species.detail", record_id=row.species.key),
        Markup('<i class="taxon">{}</i>').format(row.species.scientific_name),
    )
    by_plan = _("chosen by the plan")
    opens = _("the day the site’s window opens")
    return [
        (_("Planting site"), site),
        (_("Species"), species),
        (_("Season"), season_name(row.season)),
        (_("Wanted"), wanted.sentence if wanted else ""),
        *([(_("Replacements among them"), _replacements(row))] if row.replacements else []),
        (_("Protocol"), form.show("protocol", row.protocol) or _("the species’ usual one")),
        (_("Container"), form.show("container_id", row.container_id) or by_plan),
        (_("Seeds per cell"), format_number(row.seeds_per_cell) or by_plan),
        (_("Assurance"), format_percent(row.assurance, 1) or _("the nursery’s own")),
        (_("Planting day"), format_date(row.plant_on) or opens),
        (_("Priority"), format_number(row.priority)),
        (_("Funder"), row.funder),
        (_("Notes"), row.notes),
    ]


def _replacements(row: Target) -> Markup:
    """How many of its plants make up for losses, and where those were found."""
    url = address("surveys.of_site", record_id=row.site_id)
    told = _("what the surveys of the site found")
    link = Markup('<a href="{}">{}</a>').format(url, told) if url else told
    return Markup("{} · {}").format(format_number(row.replacements), link)


def remarks(row: Target) -> list[tuple[str, str]]:
    """What a person should know of a target that was written: its meaning, and what looks odd."""
    site = row.site
    wanted = wanted_of(vars(row), site.area_ha)
    told = [(wanted.sentence, "info")] if wanted else []
    if row.basis == TargetBasis.DENSITY:
        share = mix_of_site(db(), row.site_id).get(row.season, 0.0)
        if share > 1 + MIX_TOLERANCE:
            told.append((_over(site, row.season, share), "caution"))
    southern = site.latitude < 0
    if season_span(row.season, southern=southern)[1] < today():
        over = _("The season %(season)s is over: no plan can reach it any more.", season=season_name(row.season))
        told.append((over, "caution"))
    return told


def _over(site: Site, season: int, share: float) -> str:
    return _(
        "The shares of the mix of %(site)s in %(season)s sum to %(share)s: more plants are wanted than the"
        " density says.",
        site=site.name,
        season=season_name(season),
        share=format_percent(share, 2),
    )


def _context(row: Target) -> Mapping[str, Any]:
    return {"remarks": remarks(row)[1:] if not row.archived_at else [], "line_url": _line_url(row)}


def _line_url(row: Target) -> str:
    """The line of this target in the plan that is worked by."""
    plan = current_plan(db()) if "plans.line" in current_app.view_functions else None
    if plan is None:
        return ""
    line = db().scalar(select(PlanLine.id).where(PlanLine.plan_id == plan.id, PlanLine.target_id == row.id))
    return url_for("plans.line", record_id=line) if line else ""


def _list_context(listed: ListView) -> Mapping[str, Any]:
    return {"totals": season_totals(db(), *conditions(LISTING, listed.page.query)) if listed.rows else []}


def _initial() -> Mapping[str, Any]:
    """What the page knows that the person came from."""
    site, species = request.args.get("site", ""), request.args.get("species", "")
    season = request.args.get("season", type=int)
    return {
        "site_id": db().scalar(select(Site.id).where(Site.code == site, Site.archived_at.is_(None))),
        "species_id": db().scalar(select(Species.id).where(Species.key == species)),
        "season": season if season is not None and limits.SEASON.holds(season) else None,
        "priority": 3,
    }


PAGES = RecordPages(
    name="targets",
    section="plan",
    model=Target,
    listing=LISTING,
    form=TargetForm,
    create=create_target,
    change=change_target,
    restore=restore_target,
    title=lambda row: f"{row.species.scientific_name} · {row.site.name} · {season_name(row.season)}",
    options=(
        joinedload(Target.site),
        joinedload(Target.species),
        joinedload(Target.container).joinedload(Container.nursery),
    ),
    facts=_facts,
    context=_context,
    list_context=_list_context,
    initial=_initial,
    remarks=remarks,
    detail_template="targets/detail.html",
    form_template="targets/form.html",
    list_template="targets/list.html",
    words=Words(
        list_title=_l("Targets"),
        list_lead=_l("What is wanted where and when; the plan works backward from here."),
        new_title=_l("New target"),
        new_button=_l("New target"),
        noun=_l("Target"),
        empty_title=_l("No targets yet"),
        empty_text=_l(
            "A target says how many plants of a species a site is to get in a season. Write the site down first."
            " A spreadsheet can be imported too."
        ),
        archive_text=_l("The target leaves the lists and the next plan. Plans made before keep it."),
    ),
)
bp = build(PAGES)


@bp.post("/targets/check")
def check() -> str:
    """The form as typed, with what it means in plants and what would be refused; nothing is written."""
    record_id = request.args.get("record_id", 0, type=int)
    row = db().get(Target, record_id) if 0 < record_id < 2**31 else None
    form = TargetForm(request.form, obj=row, data=TargetForm.stored(row))
    if form.validate():
        try:
            with db().no_autoflush:
                check_target(db(), settled(form.values()), today=today(), row=row)
        except Invalid as refused:
            form.refuse(refused.errors)
    return form_page(PAGES, form, row, checked=True)
