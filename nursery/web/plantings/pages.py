"""The pages of plantings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import request, url_for
from markupsafe import Markup
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, DispatchLine, Lot, Planting, Site
from nursery.planning.origin.words import Verdict
from nursery.services.listing import whole
from nursery.services.origin.verdicts import judge_pair
from nursery.services.origin.words import rule_label
from nursery.services.plantings import (
    LISTING,
    archive_planting,
    arrived,
    change_planting,
    create_planting,
    density_of,
    more_than_arrived,
    not_dispatched,
    prefilled,
    restore_planting,
)
from nursery.services.plantings.listing import KINDS
from nursery.web.discretion import shown_people
from nursery.web.forms import RecordForm
from nursery.web.links import address
from nursery.web.plantings.forms import PlantingForm
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db, today


def remarks(row: Planting) -> list[tuple[str, str]]:
    """What the rules of origin say of the lot at the site, and what its batch lacks: it has happened."""
    found: list[tuple[str, str]] = []
    if (missing := not_dispatched(db(), row)) and (batch := db().get(Batch, row.batch_id)) is not None:
        told = ngettext(
            "%(num)s plant was planted here that %(batch)s has not dispatched. Write its dispatch down, so that"
            " the batch no longer counts it.",
            "%(num)s plants were planted here that %(batch)s has not dispatched. Write their dispatch down, so"
            " that the batch no longer counts them.",
            missing,
            batch=batch.code,
        )
        found.append((told, "caution"))
    if (line := more_than_arrived(db(), row)) is not None:
        told = _(
            "Of load %(load)s, %(received)s plants of %(batch)s arrived and %(planted)s are written down as"
            " planted. Correct one of them.",
            load=line.dispatch_code,
            batch=line.batch_code,
            received=format_number(line.received),
            planted=format_number(line.planted),
        )
        found.append((told, "caution"))
    judged = judge_pair(db(), lot_id=row.lot_id, site_id=row.site_id, today=today())
    if judged.verdict is Verdict.PASS:
        return found
    rules = ", ".join(rule_label(one["rule"]) for one in judged.reasons if one["verdict"] == judged.verdict)
    if judged.verdict is Verdict.STOP:
        told = _("By its origin the lot should not stand at this site: %(rules)s. The record stays.", rules=rules)
    else:
        told = _("By its origin the lot stands here with caution: %(rules)s.", rules=rules)
    return [*found, (told, "caution")]


def _facts(row: Planting, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    del form
    link = Markup('<a href="{}">{}</a>')
    site = link.format(url_for("sites.detail", record_id=row.site_id), f"{row.site.code} · {row.site.name}")
    lot = Markup('<a class="code" href="{}">{}</a> <i class="taxon">{}</i>').format(
        url_for("lots.detail", record_id=row.lot_id), row.lot.code, row.lot.species.scientific_name
    )
    return [
        (_("Planting site"), site),
        (_("Lot"), lot),
        *([(_("Batch"), _batch(row.batch_id))] if row.batch_id is not None else []),
        *([(_("Came by load"), load)] if (load := _load(row)) else []),
        (_("Planted on"), format_date(row.planted_on)),
        (_("Plants"), format_number(row.plants)),
        (_("Kind"), str(KINDS["replacement" if row.is_replacement else "first"])),
        (_("Who planted"), shown_people(row.people)),
        (_("Volunteers"), format_number(row.volunteers)),
        (_("Hours of all together"), _("%(hours)s h", hours=format_number(row.hours, 2)) if row.hours else ""),
        (_("Ground planted"), _("%(area)s m²", area=format_number(row.area_m2, 1)) if row.area_m2 else ""),
        (_("Density"), _density(row)),
        (_("Notes"), row.notes),
    ]


def _density(row: Planting) -> Markup | str:
    """Plants for each hectare, beside what the target wants of the species."""
    density = density_of(db(), row)
    if density is None:
        return ""
    told = _("%(plants)s plants per hectare", plants=format_number(density.planted))
    if density.wanted is None or density.share is None:
        return told
    target = Markup('<a href="{}">{}</a>').format(
        url_for("targets.detail", record_id=density.target_id),
        _(
            "%(share)s of the %(wanted)s that the target wants of the species",
            share=format_percent(density.share),
            wanted=format_number(density.wanted),
        ),
    )
    return Markup("{}; {}").format(told, target)


def _load(row: Planting) -> Markup | str:
    line = db().get(DispatchLine, row.dispatch_line_id) if row.dispatch_line_id is not None else None
    if line is None:
        return ""
    url = address("dispatches.detail", record_id=line.dispatch_id)
    code = line.dispatch.code
    return Markup('<a class="code" href="{}">{}</a>').format(url, code) if url else code


def _batch(batch_id: int) -> Markup:
    batch = db().get_one(Batch, batch_id)
    url = url_for("batches.detail", record_id=batch.id)
    return Markup('<a class="code" href="{}">{}</a>').format(url, batch.code)


def _initial() -> Mapping[str, Any]:
    """What the page knows that the person came from; a line of a received load says all of it."""
    line = request.args.get("line", type=whole)
    if line is not None and (found := prefilled(db(), line)):
        return found
    site, lot, batch = (request.args.get(name, "") for name in ("site", "lot", "batch"))
    return {
        "batch_id": db().scalar(select(Batch.id).where(Batch.code == batch)) if batch else None,
        "site_id": db().scalar(select(Site.id).where(Site.code == site, Site.archived_at.is_(None))),
        "lot_id": db().scalar(select(Lot.id).where(Lot.code == lot)) if lot else None,
    }


def _title(row: Planting) -> str:
    plants = ngettext("%(num)s plant", "%(num)s plants", row.plants)
    return _("%(plants)s of %(lot)s at %(site)s", plants=plants, lot=row.lot.code, site=row.site.name)


PAGES = RecordPages(
    name="plantings",
    section="plant",
    model=Planting,
    listing=LISTING,
    form=PlantingForm,
    create=create_planting,
    change=change_planting,
    archive=lambda session, actor, row: archive_planting(session, actor, row=row, today=today()),
    restore=lambda session, actor, row: restore_planting(session, actor, row=row, today=today()),
    title=_title,
    options=(joinedload(Planting.site), joinedload(Planting.lot).joinedload(Lot.species)),
    facts=_facts,
    initial=_initial,
    remarks=remarks,
    context=lambda row: {"remarks": remarks(row)},
    detail_template="plantings/detail.html",
    list_template="plantings/list.html",
    list_context=lambda _listed: {"waiting": arrived(db())},
    words=Words(
        list_title=_l("Plantings"),
        list_lead=_l("What went into the ground: of which lot, where and when. Trace follows it to its mothers."),
        new_title=_l("New planting"),
        new_button=_l("New planting"),
        noun=_l("Planting"),
        empty_title=_l("No plantings yet"),
        empty_text=_l("A planting says how many plants of a lot were planted at a site, and on which day."),
        archive_text=_l("The planting leaves the lists and the trace. Its history stays."),
    ),
)
bp = build(PAGES)
