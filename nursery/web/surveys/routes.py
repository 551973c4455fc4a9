"""Lists of surveys, one survey, and withdrawing it."""

from __future__ import annotations

from flask import Response, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.orm import joinedload, selectinload
from wtforms import TextAreaField

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Site, Survey, SurveyCount, SurveyPlot
from nursery.models.attachments import AttachmentKind
from nursery.planning.field.survival import survival_rates
from nursery.services.attachments import list_attachments
from nursery.services.listing import whole
from nursery.services.surveys.listing import COUNTS, LISTING
from nursery.services.surveys.remarks import remarks
from nursery.services.surveys.words import cause_name, year_name
from nursery.services.surveys.writing import MOST_REASON, withdraw_survey
from nursery.web.batches.writing import attempt
from nursery.web.forms import RecordForm
from nursery.web.history import describe_history
from nursery.web.listing import export_list, view_list
from nursery.web.records import ID
from nursery.web.session import actor, db, today
from nursery.web.surveys.blueprint import bp

_FILES = "<any(csv,xlsx):file_format>"


class WithdrawForm(RecordForm):
    """Why a survey should not stand."""

    reason = TextAreaField(_l("Why it should not stand"), render_kw={"rows": 3, "maxlength": MOST_REASON})


@bp.get("/surveys")
def list_page() -> str:
    """All surveys, the newest first."""
    listed = view_list(LISTING, export="surveys.export")
    return render_template("surveys/list.html", section="plant", listed=listed)


@bp.get(f"/surveys.{_FILES}")
def export(file_format: str) -> Response:
    """The surveys as a file."""
    return export_list(LISTING, _("Survival surveys"), file_format)


@bp.get("/surveys/counts")
def counts() -> str:
    """What was counted, species by species."""
    listed = view_list(COUNTS, export="surveys.export_counts")
    return render_template("surveys/counts.html", section="plant", listed=listed)


@bp.get(f"/surveys/counts.{_FILES}")
def export_counts(file_format: str) -> Response:
    """The counts as a file."""
    return export_list(COUNTS, _("Counts in survey plots"), file_format)


@bp.get("/surveys/new")
def new() -> str:
    """Which plot is counted; of one site where the address names it."""
    site_id = request.args.get("site", type=whole)
    query = (
        select(SurveyPlot)
        .join(Site, SurveyPlot.site_id == Site.id)
        .options(joinedload(SurveyPlot.site))
        .where(SurveyPlot.archived_at.is_(None), Site.archived_at.is_(None))
        .order_by(Site.name, SurveyPlot.name)
        .limit(300)
    )
    site = db().get(Site, site_id) if site_id is not None else None
    if site is not None:
        query = query.where(SurveyPlot.site_id == site.id)
    asked = {name: value for name in ("season", "year") if (value := request.args.get(name, type=whole))}
    return render_template(
        "surveys/new.html", section="plant", plots=db().scalars(query).all(), site=site, asked=asked
    )


@bp.get(f"/surveys/{ID}")
def detail(record_id: int) -> str:
    """One survey: what was counted, with its interval, and what looks odd."""
    survey = _survey(record_id)
    rates = survival_rates([one.planted for one in survey.counts], [one.alive for one in survey.counts])
    files = list_attachments(db(), survey)
    return render_template(
        "surveys/detail.html",
        section="plant",
        survey=survey,
        title=_title(survey),
        rows=list(zip(survey.counts, rates.rate.tolist(), rates.low.tolist(), rates.high.tolist(), strict=True)),
        remarks=remarks(db(), survey),
        files=files,
        photos=[file for file in files if file.kind is AttachmentKind.PHOTO],
        cause_name=cause_name,
        year=year_name(survey.year),
        history=describe_history(db(), survey, RecordForm()),
    )


@bp.route(f"/surveys/{ID}/withdraw", methods=["GET", "POST"])
def withdraw(record_id: int) -> ResponseReturnValue:
    """Ask why a survey should not stand, and withdraw it."""
    survey = _survey(record_id)
    back = url_for("surveys.detail", record_id=record_id)
    if survey.withdrawn_at is not None:
        flash(_("This survey has been withdrawn already."), "caution")
        return redirect(back, 303)
    sent = request.method == "POST"
    form = WithdrawForm(request.form if sent else None)
    if sent and attempt(
        form,
        lambda: withdraw_survey(db(), actor(), survey=survey, reason=form.reason.data or "", today=today()),
    ):
        flash(_("The survey was withdrawn. It stays readable, and counts for nothing. Now write it anew."), "ok")
        return redirect(back, 303)
    survey = _survey(record_id)
    page = render_template(
        "surveys/withdraw.html", section="plant", survey=survey, form=form, title=_title(survey), cancel_url=back
    )
    return (page, 422) if sent else page


def _survey(record_id: int) -> Survey:
    options = (
        joinedload(Survey.plot).joinedload(SurveyPlot.site),
        selectinload(Survey.counts).joinedload(SurveyCount.species),
        selectinload(Survey.counts).joinedload(SurveyCount.lot),
        selectinload(Survey.counts).joinedload(SurveyCount.target),
    )
    row = db().get(Survey, record_id, options=options)
    return row if row is not None else abort(404)


def _title(survey: Survey) -> str:
    return _(
        "Plot %(plot)s, %(site)s, %(year)s",
        plot=survey.plot.name,
        site=survey.plot.site.name,
        year=year_name(survey.year).lower(),
    )
