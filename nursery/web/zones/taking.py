"""Taking the map's code into a population or site, by one click."""

from __future__ import annotations

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Population, Site
from nursery.models.zones import ZoneKind
from nursery.services import records, zones
from nursery.web.records import ID
from nursery.web.session import actor, db
from nursery.web.zones.pages import bp


@bp.post(f"/zones/take-over/<any(populations,sites):place>/{ID}/<any(region,basin):kind>")
def take_over(place: str, record_id: int, kind: str) -> ResponseReturnValue:
    """Write what the map says into the record."""
    row = (
        records.get(db(), Population, record_id) if place == "populations" else records.get(db(), Site, record_id)
    )
    code = request.form.get("code", "")
    try:
        zones.take_over(db(), actor(), row=row, kind=ZoneKind(kind), code=code)
    except Conflict as refused:
        db().rollback()
        flash(str(refused), "stop")
    else:
        flash(_("The record now says %(code)s, as the map does.", code=code), "ok")
    return redirect(url_for(f"{place}.detail", record_id=record_id), 303)
