"""Choose a file, look at what was understood, say yes; templates to fill in."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from typing import Any

from flask import (
    Blueprint,
    Response,
    current_app,
    flash,
    redirect,
    render_template,
    request,
    stream_with_context,
    url_for,
)
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import CombinedMultiDict, FileStorage

from nursery.errors import Conflict, Invalid
from nursery.services import importing
from nursery.tabular.writer import CSV_TYPE, XLSX_TYPE
from nursery.web.imports.forms import UploadForm
from nursery.web.imports.views import PreviewPage
from nursery.web.session import actor, db, today

bp = Blueprint("imports", __name__, url_prefix="/imports")
_ID = "/<int(max=2147483647):upload_id>"


@bp.get("")
def index() -> str:
    """Choose a kind and a file."""
    form = UploadForm(data={"kind": request.args.get("kind", "")})
    return _page(form)


def _page(form: UploadForm) -> str:
    return render_template("imports/index.html", section="import", form=form, kinds=importing.KINDS.values())


@bp.post("")
def upload() -> ResponseReturnValue:
    """Keep the file and go on to its preview."""
    form = UploadForm(CombinedMultiDict([request.files, request.form]))
    if form.validate():
        try:
            kept = importing.keep_upload(
                db(),
                actor(),
                kind=form.kind.data,
                file_name=form.file.data.filename,
                content=_content(form.file.data),
            )
        except Invalid as refused:
            form.file.errors = list(refused.errors.values())
        else:
            db().flush()
            return redirect(url_for(".preview", upload_id=kept.id), 303)
    return _page(form), 422


@bp.get(_ID)
def preview(upload_id: int) -> ResponseReturnValue:
    """What the file would do; ``m`` in the address names the field of each column."""
    try:
        found = importing.preview_upload(
            db(), upload_id=upload_id, today=today(), mapping=_mapping(request.args),
            from_map=request.args.get("map") == "1",
        )  # fmt: skip
    except Invalid as refused:
        form = UploadForm(data={"kind": importing.find_upload(db(), upload_id).kind})
        form.file.errors = list(refused.errors.values())
        return _page(form), 422
    return render_template("imports/preview.html", section="import", page=PreviewPage(found, upload_id))


@bp.post(_ID)
def confirm(upload_id: int) -> ResponseReturnValue:
    """Write the file as it was previewed, or nothing."""
    mapping, from_map = _mapping(request.form), request.form.get("map") == "1"
    try:
        importing.confirm(
            db(),
            actor(),
            upload_id=upload_id,
            today=today(),
            mapping=mapping,
            seen=request.form.get("seen", ""),
            from_map=from_map,
        )
    except (Conflict, Invalid) as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for(".preview", upload_id=upload_id, m=mapping, map="1" if from_map else None), 303)
    return redirect(url_for(".done", upload_id=upload_id), 303)


@bp.get(f"{_ID}/done")
def done(upload_id: int) -> ResponseReturnValue:
    """What was written."""
    kept = importing.find_upload(db(), upload_id)
    outcome = importing.last_outcome(db(), upload_id=upload_id)
    if outcome is None:
        return redirect(url_for(".preview", upload_id=upload_id), 303)
    return render_template(
        "imports/done.html",
        section="import",
        upload=kept,
        outcome=outcome,
        kind=importing.find_kind(kept.kind),
        list_url=_list_url(kept.kind),
    )


@bp.get(f"{_ID}/refused.csv")
def refused_rows(upload_id: int) -> Response:
    """All refused rows as a file."""
    found = importing.preview_upload(db(), upload_id=upload_id, today=today(), mapping=_mapping(request.args))
    body = stream_with_context(importing.refused_rows_csv(found))
    return Response(body, content_type=CSV_TYPE, headers=_download("refused-rows.csv"))


@bp.get("/templates/<any(populations,sites,lots,targets,plantings):kind>.<any(csv,xlsx):form>")
def template(kind: str, form: str) -> Response:
    """An empty file to fill in."""
    content_type = XLSX_TYPE if form == "xlsx" else CSV_TYPE
    return Response(
        importing.make_template(kind, form),
        content_type=content_type,
        headers=_download(f"{kind}-template.{form}"),
    )


def _content(sent: FileStorage) -> bytes:
    """The file's bytes; large ones wait on disk until they are closed."""
    with closing(sent):
        return bytes(sent.read())


def _mapping(values: Any) -> Sequence[str] | None:
    chosen: list[str] = values.getlist("m")
    return chosen or None


def _download(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}


def _list_url(kind: str) -> str:
    endpoint = f"{kind}.list_page"
    return url_for(endpoint) if endpoint in current_app.view_functions else url_for("season.home")
