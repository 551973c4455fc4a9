"""The page of room and water by stage."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.i18n import gettext as _
from nursery.planning.growing.words import STAGES
from nursery.services.space.footprint import rooms, set_room
from nursery.web.session import actor, db
from nursery.web.space.forms import RoomsForm
from nursery.web.space.routes import bp


@bp.route("/space/rooms", methods=["GET", "POST"])
def rooms_page() -> ResponseReturnValue:
    """How far apart trays stand and what they drink, to read and to change."""
    if request.method != "POST":
        return _show(RoomsForm.filled(rooms(db())))
    form = RoomsForm(request.form)
    if not form.validate():
        return _show(form), 422
    for stage in STAGES:
        set_room(db(), actor(), stage=stage, **form.of(stage))
    flash(_("Spacing and water were saved."), "ok")
    return redirect(url_for(".rooms_page"), 303)


def _show(form: RoomsForm) -> str:
    return render_template("space/rooms.html", section="grow", form=form)
