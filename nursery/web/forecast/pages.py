"""Forecast of the growing seasons, one target's page with its ways out, and the click that moves plants."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for

from nursery.errors import Conflict
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Target
from nursery.services import records
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.catalogue import effective_entries
from nursery.services.forecast import words
from nursery.services.forecast.listing import ForecastQuery, cells, choices, headings, wanted
from nursery.services.forecast.moving import move_to, takers_of
from nursery.services.forecast.promises import Standing, read_forecasts
from nursery.services.forecast.rescuing import read_rescue
from nursery.services.planning.words import protocol_name
from nursery.web.forecast.drawing import draw
from nursery.web.listing import send_table
from nursery.web.session import actor, db, today

bp = Blueprint("forecast", __name__)
FORMAT = "<any(csv,xlsx):file_format>"
TARGET = "<int(max=2147483647):target_id>"


@bp.get("/forecast")
def page() -> str:
    """Targets of the growing seasons, shortages first."""
    found, query = read_forecasts(db(), today=today()), _query()
    return render_template(
        "forecast/page.html",
        section="grow",
        targets=wanted(found.targets, query),
        every=found.targets,
        free=[one for some in found.free.values() for one in some],
        query=query,
        seasons=choices(found.targets),
        standings=words.STANDINGS,
        words=words,
        exports=[(name.upper(), _url("forecast.export", file_format=name)) for name in ("csv", "xlsx")],
    )


@bp.get(f"/forecast.{FORMAT}")
def export(file_format: str) -> Response:
    """The same as filtered, as a file."""
    targets = wanted(read_forecasts(db(), today=today()).targets, _query())
    return send_table(_("Forecast"), headings(), cells(targets), file_format)


@bp.get(f"/forecast/{TARGET}")
def detail(target_id: int) -> str:
    """One target: how its forecast moved, batch by batch, and what can be done."""
    target = records.get(db(), Target, target_id)
    found = read_forecasts(db(), today=today(), species_id=target.species_id, told=[target.id])
    forecast = found.target(target.id)
    if forecast is None:
        return render_template("forecast/none.html", section="grow", target=target)
    rescue = read_rescue(db(), forecast, found, today=today()) if forecast.is_short else None
    entry = effective_entries(db(), [target.species_id]).get(target.species_id)
    return render_template(
        "forecast/detail.html",
        section="grow",
        target=forecast,
        drawing=draw(forecast.points, forecast.promised),
        rescue=rescue,
        shorter=protocol_name(rescue.shorter[0], entry) if rescue and rescue.shorter else "",
        stage_labels=STAGE_LABELS,
        takers=takers_of(db(), forecast, found, today=today()) if forecast.standing is Standing.SPARE else [],
        standings=words.STANDINGS,
        words=words,
    )


@bp.post(f"/forecast/{TARGET}/move")
def move(target_id: int) -> Any:
    """Give this target what another can spare of a batch."""
    try:
        batch_id = int(request.form.get("batch_id", ""))
    except ValueError:
        abort(404)
    try:
        batch = move_to(db(), actor(), batch_id=batch_id, target_id=target_id, today=today())
    except Conflict as refusal:
        flash(str(refusal), "stop")
        return redirect(url_for(".detail", target_id=target_id), 303)
    flash(
        _("%(batch)s (%(plants)s plants) is now for this target.", batch=batch.code, plants=_plants(batch.alive)),
        "ok",
    )
    return redirect(url_for(".detail", target_id=target_id), 303)


def _plants(alive: int) -> str:
    return format_number(alive) if alive else _("not counted yet:")


def _query() -> ForecastQuery:
    return ForecastQuery.of(request.args)


def _url(endpoint: str, **values: str) -> str:
    kept: dict[str, Any] = {
        name: request.args[name] for name in ("season", "q", "standing") if name in request.args
    }
    return url_for(endpoint, **{**kept, **values})
