"""Bringing zones in: choose a file, look at every feature, say yes."""

from __future__ import annotations

from contextlib import closing
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import CombinedMultiDict, MultiDict

from nursery.errors import Conflict, Invalid
from nursery.i18n import ngettext
from nursery.services import zones
from nursery.services.zones.uploads import MOST_BYTES
from nursery.web.session import actor, db
from nursery.web.zones.forms import FileForm, LookForm
from nursery.web.zones.pages import PAGES, bp

_FILE = "/zones/files/<int(max=2147483647):zone_file_id>"


@bp.route("/zones/new", methods=["GET", "POST"])
def new() -> ResponseReturnValue:
    """Choose a file or paste its text."""
    form = FileForm(CombinedMultiDict([request.files, request.form])) if request.method == "POST" else FileForm()
    if request.method == "POST" and form.validate():
        try:
            name, content = _content(form)
            kept = zones.keep_zone_file(db(), actor(), file_name=name, content=content)
        except Invalid as refused:
            form.file.errors = list(refused.errors.values())
        else:
            db().flush()
            return redirect(url_for(".look", zone_file_id=kept.id), 303)
    page = render_template("zones/new.html", section="map", pages=PAGES, form=form)
    return (page, 422) if request.method == "POST" else page


@bp.get(_FILE)
def look(zone_file_id: int) -> ResponseReturnValue:
    """What the file would do; the address holds the choices."""
    kept = zones.find_zone_file(db(), zone_file_id)
    form = LookForm(request.args)
    asked = bool(request.args)
    sound = form.validate() if asked else True
    found = zones.look_at_file(db(), kept, form.asked())
    form.offer(found)
    choices = [(name, value) for name, value in request.args.items(multi=True) if name in form._fields]
    if not request.args.get("code"):
        choices += [(name, getattr(found.settings, name)) for name in ("code", "name", "lowest", "highest")]
    return render_template(
        "zones/look.html",
        section="map",
        pages=PAGES,
        file=kept,
        form=form,
        look=found,
        asked=asked,
        is_sound=sound and found.is_sound and kept.confirmed_at is None,
        choices=choices,
    )


@bp.post(_FILE)
def confirm(zone_file_id: int) -> ResponseReturnValue:
    """Put the zones on the map as they were looked at, or nothing."""
    kept = zones.find_zone_file(db(), zone_file_id)
    form = LookForm(request.form)
    if not form.validate():
        return redirect(url_for(".look", zone_file_id=zone_file_id, **_sent(request.form, form)), 303)
    try:
        written = zones.write_zones(
            db(), actor(), upload=kept, asked=form.asked(), seen=request.form.get("seen", "")
        )
    except Conflict as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for(".look", zone_file_id=zone_file_id, **_sent(request.form, form)), 303)
    told = ngettext("%(num)s zone is on the map.", "%(num)s zones are on the map.", len(written.rows))
    flash(told, "ok")
    return redirect(url_for(".list_page"), 303)


def _content(form: FileForm) -> tuple[str, bytes]:
    sent: Any = form.file.data
    if not getattr(sent, "filename", ""):
        return "pasted.geojson", str(form.text.data).encode()
    with closing(sent):
        return str(sent.filename), bytes(sent.read(MOST_BYTES + 1))


def _sent(values: MultiDict[str, str], form: LookForm) -> dict[str, Any]:
    return {name: value for name, value in values.items() if name in form._fields}
