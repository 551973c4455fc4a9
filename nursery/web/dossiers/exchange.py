"""Data in the forms that gene banks, biodiversity portals and maps ask for: what they are, and downloads."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace

from flask import Response, abort, render_template, request
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Lot, Site
from nursery.services import records
from nursery.services.dossier.packing import LICENCES
from nursery.services.exchange.darwin_core import darwin_core
from nursery.services.exchange.geojson import GEOJSON_TYPE, geojson
from nursery.services.exchange.mcpd import mcpd_csv
from nursery.services.exchange.selecting import Selected, Wanted, select_lots
from nursery.services.limits import RIPENING_YEAR
from nursery.services.listing import whole
from nursery.tabular.writer import CSV_TYPE
from nursery.tabular.zipping import ZIP_TYPE
from nursery.web.discretion import sees_private
from nursery.web.dossiers.pages import bp
from nursery.web.session import db, today


@bp.get("/exchange")
def exchange() -> ResponseReturnValue:
    """Which forms there are, who asks for them, and what goes along."""
    return _answer(lambda selected: _page(selected, {}))


@bp.get("/exchange/passport.csv")
def mcpd() -> ResponseReturnValue:
    """Lots as passport data of gene banks."""
    title = _("Passport data of lots")
    return _answer(lambda chosen: _sent(mcpd_csv(db(), chosen), CSV_TYPE, title, chosen, "csv"))


@bp.get("/exchange/darwin-core.zip")
def dwca() -> ResponseReturnValue:
    """Trips, stands and lots as a Darwin Core Archive."""
    return _answer(lambda chosen: _sent(darwin_core(db(), chosen), ZIP_TYPE, "Darwin Core", chosen, "zip"))


@bp.get("/exchange/places.geojson")
def places() -> ResponseReturnValue:
    """Sites and stands for a map."""
    return _answer(lambda chosen: _sent(geojson(db(), chosen), GEOJSON_TYPE, _("Places"), chosen, "geojson"))


def _answer(make: Callable[[Selected], ResponseReturnValue]) -> ResponseReturnValue:
    """What is asked for; else the page with what is wrong, and all that was typed still there."""
    try:
        year = _year()
    except Invalid as refused:
        return _page(select_lots(db(), _wanted(None)), refused.errors), 422
    return make(select_lots(db(), _wanted(year)))


def _page(selected: Selected, refused: Mapping[str, str]) -> str:
    return render_template(
        "dossiers/exchange.html",
        section="report",
        selected=selected,
        refused=refused,
        of=_subject(selected.wanted),
        sensitive=sum(one.is_sensitive for one in {lot.population for lot in selected.lots}),
        licences=[("", _("Not said")), *((key, title) for key, (title, _path) in LICENCES.items())],
    )


def _wanted(year: int | None) -> Wanted:
    args = request.args
    wanted = Wanted(
        today(), site_id=_record("site_id"), lot_id=_record("lot_id"), year=year,
        people=args.get("people") == "1" and sees_private(),
        institute=re.sub(r"[^A-Z0-9]", "", args.get("institute", "").upper())[:12],
        licence=args.get("licence", ""),
    )  # fmt: skip
    return wanted if wanted.licence in LICENCES else replace(wanted, licence="")


def _record(name: str) -> int | None:
    """The record that is asked for; what cannot be one is not there, rather than everything."""
    text = request.args.get(name, "").strip()
    if not text:
        return None
    try:
        return whole(text)
    except ValueError:
        abort(404)


def _year() -> int | None:
    """The ripening year; what is none is refused: a file of all years would be taken for one of that year."""
    text = request.args.get("year", "").strip()
    if not text:
        return None
    try:
        year = whole(text)
    except ValueError as odd:
        raise Invalid({"year": _("“%(text)s” is not a whole number.", text=text[:20])}) from odd
    if (refused := RIPENING_YEAR.refusal(year)) is not None:
        raise Invalid({"year": refused})
    return year


def _subject(wanted: Wanted) -> str:
    """The site or lot that the data are narrowed to, in words."""
    if wanted.site_id is not None:
        site = records.get(db(), Site, wanted.site_id)
        return _("behind the plants of %(site)s", site=f"{site.code} · {site.name}")
    if wanted.lot_id is not None:
        return _("in and around lot %(code)s", code=records.get(db(), Lot, wanted.lot_id).code)
    return ""


def _sent(content: bytes, kind: str, title: str, selected: Selected, ending: str) -> Response:
    response = Response(content, content_type=kind)
    name = f"{title} {selected.wanted.day.isoformat()}.{ending}"
    response.headers.set("Content-Disposition", "attachment", filename=name)
    return response
