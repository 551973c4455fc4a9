"""What is open in plant health, whom to call, and shutting off."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.services.health.cautions import NOTIFIABLE
from nursery.services.health.glance import HYGIENE_EVERY, WALK_EVERY, glance_at_health
from nursery.services.health.quarantine import lift, place_name, quarantine
from nursery.services.health.quarantine_list import LISTING
from nursery.services.health.words import FINDINGS, TONES
from nursery.services.listing import whole
from nursery.services.preferences import change_preferences, read_preferences
from nursery.web.health.forms import ContactForm, QuarantineForm
from nursery.web.links import address
from nursery.web.listing import export_list, view_list
from nursery.web.scoutings.pages import asked_places, places
from nursery.web.session import actor, db, now, today

bp = Blueprint("health", __name__)
_QUARANTINE = "<int(max=2147483647):quarantine_id>"


@bp.get("/health")
def home() -> str:
    """What is open, and what to do first where nothing was written down yet."""
    return render_template(
        "health/home.html",
        section="grow",
        glance=glance_at_health(db(), now=now()),
        contact=read_preferences(db()).health_contact,
        notifiable=NOTIFIABLE,
        findings=FINDINGS,
        tones=TONES,
        places=places,
        quarantined=place_name,
        walk_every=WALK_EVERY,
        hygiene_every=HYGIENE_EVERY,
    )


@bp.route("/health/contact", methods=["GET", "POST"])
def contact() -> ResponseReturnValue:
    """Whom to call when something is suspected that must be notified."""
    if request.method != "POST":
        return _contact_page(ContactForm(obj=read_preferences(db())))
    form = ContactForm(request.form)
    if not form.validate():
        return _contact_page(form), 422
    change_preferences(db(), actor(), values=form.values())
    flash(_("The contact is written down; it stands wherever it is needed."), "ok")
    return redirect(url_for(".home"), 303)


@bp.get("/health/quarantines")
def quarantines() -> str:
    """All quarantines, standing and lifted."""
    listed = view_list(LISTING, export=".export_quarantines")
    return render_template("health/quarantines.html", section="grow", listed=listed)


@bp.get("/health/quarantines.<any(csv,xlsx):file_format>")
def export_quarantines(file_format: str) -> Response:
    """The list as a file."""
    return export_list(LISTING, _("Quarantines"), file_format)


@bp.route("/health/quarantines/new", methods=["GET", "POST"])
def shut_off() -> ResponseReturnValue:
    """Shut a batch or a bench off."""
    if request.method != "POST":
        return _quarantine_page(QuarantineForm(data={**asked_places(), "since": today()}))
    form = QuarantineForm(request.form)
    if form.validate():
        try:
            row = quarantine(
                db(), actor(), **form.values(), today=today(), scouting_id=request.form.get("scouting", type=whole)
            )
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        except Conflict as standing:
            db().rollback()
            form.form_errors.append(str(standing))
        else:
            flash(_("%(place)s is in quarantine: nothing leaves it.", place=place_name(row)), "ok")
            return redirect(_back(row.scouting_id, row.batch_id), 303)
    return _quarantine_page(form), 422


@bp.route(f"/health/quarantines/{_QUARANTINE}/lift", methods=["POST"])
def lift_one(quarantine_id: int) -> ResponseReturnValue:
    """Let a batch or a bench out again."""
    try:
        row = lift(
            db(), actor(), quarantine_id=quarantine_id, reason=request.form.get("reason", ""), today=today()
        )
    except (Invalid, Conflict) as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for(".home"), 303)
    flash(_("The quarantine of %(place)s is lifted.", place=place_name(row)), "ok")
    return redirect(_back(row.scouting_id, row.batch_id), 303)


def _back(scouting_id: int | None, batch_id: int | None) -> str:
    """Where the person came from, as far as one can tell."""
    if scouting_id is not None:
        return url_for("scoutings.detail", record_id=scouting_id)
    return (address("batches.detail", record_id=batch_id) if batch_id is not None else "") or url_for(".home")


def _contact_page(form: ContactForm) -> str:
    return render_template("health/contact.html", section="grow", form=form)


def _quarantine_page(form: Any) -> str:
    return render_template("health/quarantine.html", section="grow", form=form)
