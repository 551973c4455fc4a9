"""The list of climate normals, and bringing them in: choose a file, look at what was understood, say yes."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from typing import Any

from flask import Blueprint, Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import CombinedMultiDict
from wtforms import FileField, Form
from wtforms.validators import ValidationError

from nursery.errors import Conflict, Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.climates import Climate
from nursery.services import climates
from nursery.services.climates.columns import KIND
from nursery.tabular.templates import TemplateColumn, template_csv
from nursery.tabular.writer import CSV_TYPE
from nursery.web.listing import export_list, view_list
from nursery.web.session import actor, db, today

bp = Blueprint("climates", __name__)
_FILE = "/climates/files/<int(max=2147483647):climate_file_id>"
#: Problems listed on the page.
LISTED = 500


class FileForm(Form):
    """A table of normals."""

    file = FileField(_l("File"), description=_l("CSV or Excel workbook (.xlsx), one row a place and period."))

    def validate_file(self, field: Any) -> None:
        """A file with a name; browsers send an empty one when none was chosen."""
        if not getattr(field.data, "filename", ""):
            raise ValidationError(_("Choose a file."))


@bp.get("/climates")
def list_page() -> str:
    """All normals."""
    return render_template(
        "climates/list.html", section="map", listed=view_list(climates.LISTING, export="climates.export")
    )


@bp.get("/climates.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """All normals as a file."""
    return export_list(climates.LISTING, _("Climate normals"), file_format)


@bp.get("/climates/<int(max=2147483647):record_id>")
def place(record_id: int) -> ResponseReturnValue:
    """The place whose normals these are."""
    row = db().get(Climate, record_id)
    if row is None:
        raise NotFound(_("There is no such record. It may have been typed wrongly."))
    if row.population_id is not None:
        return redirect(url_for("populations.detail", record_id=row.population_id, _anchor="climate"), 302)
    return redirect(url_for("sites.detail", record_id=row.site_id, _anchor="climate"), 302)


@bp.route("/climates/new", methods=["GET", "POST"])
def new() -> ResponseReturnValue:
    """Choose a file."""
    form = FileForm(CombinedMultiDict([request.files, request.form])) if request.method == "POST" else FileForm()
    if request.method == "POST" and form.validate():
        try:
            with closing(form.file.data) as sent:
                kept = climates.keep_climate_file(db(), actor(), file_name=sent.filename, content=sent.read())
        except Invalid as refused:
            form.file.errors = list(refused.errors.values())
        else:
            db().flush()
            return redirect(url_for(".look", climate_file_id=kept.id), 303)
    page = render_template("climates/new.html", section="map", form=form, kind=KIND)
    return (page, 422) if request.method == "POST" else page


@bp.get("/climates/template.csv")
def template() -> Response:
    """An empty file to fill in."""
    columns = [
        TemplateColumn(str(column.label), str(column.help), column.required, column.example, is_text=True)
        for column in KIND.columns
    ]
    headers = {"Content-Disposition": 'attachment; filename="climates-template.csv"'}
    return Response(template_csv(columns), content_type=CSV_TYPE, headers=headers)


@bp.get(_FILE)
def look(climate_file_id: int) -> ResponseReturnValue:
    """What the file would do; ``m`` in the address names the field of each column."""
    kept = climates.find_climate_file(db(), climate_file_id)
    mapping = _mapping(request.args)
    found = climates.look_at_climates(db(), content=kept.content, today=today(), mapping=mapping)
    return render_template(
        "climates/look.html", section="map", file=kept, found=found, kind=KIND, findings=found.findings[:LISTED]
    )


@bp.post(_FILE)
def confirm(climate_file_id: int) -> ResponseReturnValue:
    """Write the file as it was looked at, or nothing."""
    kept = climates.find_climate_file(db(), climate_file_id)
    mapping = _mapping(request.form)
    try:
        found = climates.write_climates(
            db(), actor(), upload=kept, today=today(), mapping=mapping, seen=request.form.get("seen", "")
        )
    except Conflict as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for(".look", climate_file_id=climate_file_id, m=mapping), 303)
    flash(
        _(
            "Climate normals are on record: %(new)s new, %(changed)s changed.",
            new=found.new,
            changed=found.changed,
        ),
        "ok",
    )
    return redirect(url_for(".list_page"), 303)


def _mapping(values: Any) -> Sequence[str] | None:
    chosen: list[str] = values.getlist("m")
    return chosen or None
