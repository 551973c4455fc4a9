"""The pages of treatments."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from flask import request, url_for
from markupsafe import Markup
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import format_moment, format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Bench, Scouting, Treatment
from nursery.services.health.cautions import HIDING, MIXING, PRODUCTS
from nursery.services.health.doses import amount_used
from nursery.services.health.places import place_name
from nursery.services.health.treating import LISTING, change_treatment, create_treatment, lacking
from nursery.services.listing import whole
from nursery.web.forms import RecordForm
from nursery.web.records import RecordPages, Words, build
from nursery.web.scoutings.pages import asked_places, places
from nursery.web.session import actor, db, now
from nursery.web.treatments.forms import TreatmentForm

#: What another use of the same product has in common with the one before.
_LIKE = ("product", "registration_number", "active_substance", "against", "dose", "dose_unit", "certificate")


def _create(session: Session, person: str, *, values: Mapping[str, Any], today: dt.date) -> Treatment:
    del today
    scouting = session.get(Scouting, request.args.get("scouting", 0, type=whole))
    return create_treatment(
        session, person, values={**values, "scouting_id": scouting.id if scouting else None}, now=now()
    )


def _change(
    session: Session, person: str, *, row: Treatment, values: Mapping[str, Any], version: int, today: dt.date
) -> Treatment:
    del today
    return change_treatment(session, person, row=row, values=values, version=version, now=now())


def _initial() -> Mapping[str, Any]:
    """Now, the place that the person came from, and the particulars of an earlier use that is named."""
    given: dict[str, Any] = {
        "treated_on": now().date(),
        "treated_time": now().time(),
        "applied_by": actor(),
        **asked_places(),
    }
    like = db().get(Treatment, request.args.get("like", 0, type=whole))
    if like is not None:
        given |= {name: getattr(like, name) for name in _LIKE}
        given["reentry_hours"] = TreatmentForm.stored(like)["reentry_hours"]
    seen = db().get(Scouting, request.args.get("scouting", 0, type=whole))
    if seen is not None:
        given |= {"batch_id": seen.batch_id, "bench_id": seen.bench_id, "nursery_id": seen.nursery_id}
    bench = db().get(Bench, given["bench_id"] or 0)
    if bench is not None:
        given["area_m2"] = bench.area_m2
    return given


def dose_text(row: Treatment) -> str:
    """A dose with its unit."""
    return f"{format_number(row.dose, 4)} {row.dose_unit}"


def _facts(row: Treatment, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    del form
    amount = amount_used(row.dose, row.dose_unit, area_m2=row.area_m2, water_l=row.water_l)
    used = f"{format_number(amount.value, 4)} {amount.unit}" if amount else ""
    seen = (
        Markup('<a href="{}">{}</a>').format(
            url_for("scoutings.detail", record_id=row.scouting_id), _("The note that led to it")
        )
        if row.scouting_id
        else ""
    )
    return [
        (_("Product"), row.product),
        (_("Registration number"), row.registration_number),
        (_("Active substance"), row.active_substance),
        (_("Against"), row.against),
        (_("Dose"), dose_text(row)),
        (_("Area treated"), f"{format_number(row.area_m2, 2)} m²" if row.area_m2 else ""),
        (_("Water used"), f"{format_number(row.water_l, 2)} l" if row.water_l else ""),
        (_("Product used"), used, _("dose times the water or the area it is meant for") if used else ""),
        (_("Where"), places(row)),
        (_("Used at"), format_moment(row.treated_at)),
        (_("Closed until"), format_moment(row.reentry_at)),
        (_("Used by"), row.applied_by),
        (_("Number of the certificate"), row.certificate),
        (_("Reason"), seen),
        (_("Notes"), row.notes),
    ]


def _context(row: Treatment) -> Mapping[str, Any]:
    running = row.reentry_at is not None and row.treated_at <= now() < row.reentry_at and not row.archived_at
    return {
        "is_running": running,
        "place": place_name(row),
        "lacking": lacking(row),
        "cautions": (PRODUCTS, MIXING, HIDING),
    }


PAGES = RecordPages(
    name="treatments",
    section="grow",
    model=Treatment,
    listing=LISTING,
    form=TreatmentForm,
    create=_create,
    change=_change,
    title=lambda row: _("%(product)s, %(moment)s", product=row.product, moment=format_moment(row.treated_at)),
    options=(joinedload(Treatment.batch), joinedload(Treatment.bench), joinedload(Treatment.nursery)),
    facts=_facts,
    context=_context,
    initial=_initial,
    detail_template="treatments/detail.html",
    form_template="treatments/form.html",
    list_template="treatments/list.html",
    list_context=lambda _listed: {"cautions": (PRODUCTS, MIXING)},
    words=Words(
        list_title=_l("Treatments"),
        list_lead=_l("The log of plant protection: product, dose, place, person, and when one may go back in."),
        new_title=_l("New treatment"),
        new_button=_l("New treatment"),
        noun=_l("Treatment"),
        empty_title=_l("No treatments yet"),
        empty_text=_l(
            "Write each use of a plant protection product down when it is done: product, dose, where, who, and how"
            " long nobody goes in. The log can be printed and exported for the authority."
        ),
        archive_text=_l("The treatment leaves the log and its sums. Its history stays."),
    ),
)
bp = build(PAGES)
