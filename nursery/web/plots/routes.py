"""Counting what lives in a plot."""

from __future__ import annotations

from typing import Any

from flask import abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import joinedload
from werkzeug.datastructures import CombinedMultiDict

from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.models import Survey, SurveyPlot
from nursery.planning.field.words import LAST_YEAR
from nursery.services.health.scouting import attach_photos
from nursery.services.limits import SEASON
from nursery.services.surveys.planted import seasons_planted
from nursery.services.surveys.prefilling import (
    Expected,
    expected_species,
    last_year_come,
    usual_season,
    usual_year,
)
from nursery.services.surveys.remarks import remarks
from nursery.services.surveys.writing import record_survey
from nursery.web.batches.writing import attempt
from nursery.web.plots.counting_forms import SPARE, SurveyForm
from nursery.web.plots.pages import bp
from nursery.web.records import ID
from nursery.web.session import actor, db, today

__all__ = ["bp"]


@bp.route(f"/plots/{ID}/survey", methods=["GET", "POST"])
def survey(record_id: int) -> ResponseReturnValue:
    """The form of a survey with the species that should stand there, or its writing."""
    plot = _plot(record_id)
    season = _asked("season", int(SEASON.low), int(SEASON.high)) or usual_season(db(), plot, today())
    expected = expected_species(db(), plot, season)
    if request.method == "POST":
        form = SurveyForm(CombinedMultiDict([request.files, request.form]))
        written = attempt(form, lambda: _record(plot, form))
        if written is not None:
            return _saved(written, form)
        plot = _plot(record_id)
    else:
        form = SurveyForm(data=_initial(plot, season, expected))
    form.year.last = last_year_come(db(), plot, season, today())
    page = render_template(
        "plots/survey.html",
        section="plant",
        plot=plot,
        form=form,
        expected={one.species_id: one for one in expected},
        season=season,
        seasons=[one for one in seasons_planted(db(), plot.site) if one != season],
        cancel_url=url_for("plots.detail", record_id=record_id),
    )
    return page, 422 if request.method == "POST" else 200


def _plot(record_id: int) -> SurveyPlot:
    row = db().get(SurveyPlot, record_id, options=[joinedload(SurveyPlot.site)])
    return row if row is not None else abort(404)


def _initial(plot: SurveyPlot, season: int, expected: list[Expected]) -> dict[str, Any]:
    counts: list[dict[str, Any]] = [{"species_id": one.species_id, "planted": one.planted} for one in expected]
    return {
        "season": season,
        "year": _asked("year", 1, LAST_YEAR) or usual_year(db(), plot, season, today()),
        "surveyed_on": today(),
        "person": actor(),
        "counts": counts + [{} for _spare in range(SPARE)],
    }


def _asked(name: str, low: int, high: int) -> int | None:
    value = request.args.get(name, type=int)
    return value if value is not None and low <= value <= high else None


def _record(plot: SurveyPlot, form: SurveyForm) -> Survey:
    return record_survey(
        db(), actor(), plot=plot, values=form.survey_values(), counts=form.counted(), today=today()
    )


def _saved(survey: Survey, form: SurveyForm) -> ResponseReturnValue:
    flash(
        ngettext(
            "Saved: %(num)s species counted in plot %(plot)s.",
            "Saved: %(num)s species counted in plot %(plot)s.",
            len(survey.counts),
            plot=survey.plot.name,
        ),
        "ok",
    )
    for told in form.understood():
        flash(told, "info")
    for refused in attach_photos(db(), actor(), row=survey, photos=form.photos.data):
        flash(_("The survey is saved. %(refused)s", refused=refused), "caution")
    if any(tone == "caution" for _told, tone in remarks(db(), survey)):
        flash(_("Something in it looks odd: see below."), "caution")
    return redirect(url_for("surveys.detail", record_id=survey.id), 303)
