"""The logo of the reports: shown, exchanged, taken away."""

from __future__ import annotations

from contextlib import closing
from typing import Any

from flask import Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.logo import MOST_BYTES, keep_logo, read_logo, remove_logo
from nursery.web.session import actor, db
from nursery.web.settings.pages import bp


@bp.route("/settings/logo", methods=["GET", "POST"])
def logo_page() -> ResponseReturnValue:
    """The logo and the form that takes another."""
    refused = ""
    if request.method == "POST":
        try:
            keep_logo(db(), actor(), content=_content(request.files.get("logo")))
        except Invalid as trouble:
            db().rollback()
            refused = str(trouble)
        else:
            flash(_("The logo was kept. Reports made from now on carry it."), "ok")
            return redirect(url_for(".logo_page"), 303)
    page = render_template(
        "settings/logo.html", section="settings", has_logo=read_logo(db()) is not None, refused=refused
    )
    return page, 422 if refused else 200


@bp.get("/settings/logo.png")
def logo() -> ResponseReturnValue:
    """The logo itself; where there is none, the way to one."""
    content = read_logo(db())
    if content is None:
        return redirect(url_for(".logo_page"), 303)
    answer = Response(content, content_type="image/png")
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer


@bp.post("/settings/logo/remove")
def remove() -> ResponseReturnValue:
    """No logo from now on."""
    remove_logo(db(), actor())
    flash(_("Reports made from now on carry no logo. Those that were made keep theirs."), "ok")
    return redirect(url_for(".logo_page"), 303)


def _content(storage: Any) -> bytes:
    if not getattr(storage, "filename", ""):
        raise Invalid({"logo": _("Choose a picture: PNG, JPEG or WebP.")})
    with closing(storage):
        return bytes(storage.read(MOST_BYTES + 1))
