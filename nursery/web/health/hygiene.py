"""The hygiene list: going through it, what it said, and the checks of the past."""

from __future__ import annotations

from typing import Any

from flask import Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.models import HygieneCheck, Nursery
from nursery.services.health.glance import HYGIENE_EVERY
from nursery.services.health.hygiene import KEYS, LISTING, check_hygiene, get_check, open_points, standings
from nursery.services.health.hygiene_points import ANSWERS, POINTS
from nursery.services.records import get
from nursery.services.understanding import parse_date
from nursery.web.health.routes import bp
from nursery.web.listing import export_list, view_list
from nursery.web.session import actor, db, today

_NURSERY = "<int(max=2147483647):nursery_id>"
_CHECK = "<int(max=2147483647):record_id>"


@bp.get("/health/hygiene")
def hygiene() -> str:
    """How each nursery stands, and all checks."""
    return render_template(
        "health/hygiene.html",
        section="grow",
        standings=standings(db()),
        listed=view_list(LISTING, export=".export_hygiene"),
        hygiene_every=HYGIENE_EVERY,
    )


@bp.get("/health/hygiene.<any(csv,xlsx):file_format>")
def export_hygiene(file_format: str) -> Response:
    """The checks as a file."""
    return export_list(LISTING, _("Hygiene checks"), file_format)


@bp.get(f"/health/hygiene/{_CHECK}")
def hygiene_detail(record_id: int) -> str:
    """One check, point by point."""
    check = get_check(db(), record_id)
    return render_template(
        "health/hygiene_detail.html",
        section="grow",
        check=check,
        points=POINTS,
        answers=ANSWERS,
        bad=open_points(check),
    )


@bp.get("/health/hygiene/new")
def choose_nursery() -> ResponseReturnValue:
    """The nursery to look at; the only one is not asked for."""
    nurseries = db().scalars(select(Nursery).where(Nursery.archived_at.is_(None)).order_by(Nursery.name)).all()
    if len(nurseries) == 1:
        return redirect(url_for(".new_hygiene", nursery_id=nurseries[0].id), 303)
    return render_template("health/hygiene_choose.html", section="grow", nurseries=nurseries)


@bp.route(f"/health/hygiene/new/{_NURSERY}", methods=["GET", "POST"])
def new_hygiene(nursery_id: int) -> ResponseReturnValue:
    """The list for one nursery, or its answers."""
    nursery = get(db(), Nursery, nursery_id)
    if request.method != "POST":
        return _page(nursery, {}, {})
    answers = {key: request.form[key] for key in KEYS if key in request.form}
    try:
        row = check_hygiene(
            db(),
            actor(),
            nursery_id=nursery.id,
            answers=answers,
            checked_on=parse_date(request.form.get("checked_on", "").strip(), "checked_on"),
            notes=request.form.get("notes", ""),
            today=today(),
        )
    except Invalid as refused:
        db().rollback()
        return _page(get(db(), Nursery, nursery_id), answers, refused.errors), 422
    bad = len(open_points(row))
    told = ngettext("%(num)s point is not as it should be.", "%(num)s points are not as they should be.", bad)
    flash(
        told if bad else _("The list is gone through: everything is as it should be."), "caution" if bad else "ok"
    )
    return redirect(url_for(".hygiene_detail", record_id=row.id), 303)


def _page(nursery: Nursery, answers: dict[str, str], errors: Any) -> str:
    last = next((each.last for each in standings(db()) if each.nursery.id == nursery.id), None)
    return render_template(
        "health/hygiene_new.html",
        section="grow",
        nursery=nursery,
        points=POINTS,
        words=ANSWERS,
        answers=answers,
        errors=errors,
        # The points share one message: the summary tells by their numbers which of them lack an answer.
        summary={
            **{
                point.key: f"{at}. {errors[point.key]}"
                for at, point in enumerate(POINTS, 1)
                if point.key in errors
            },
            **{key: told for key, told in errors.items() if key not in KEYS},
        },
        bad_before={point.key for point in open_points(last)} if isinstance(last, HygieneCheck) else set(),
        notes=request.form.get("notes", ""),
        checked_on=request.form.get("checked_on", "") or today().isoformat(),
    )
