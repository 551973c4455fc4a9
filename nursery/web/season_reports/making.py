"""A report in the making: chosen, begun beside the request, shown as it goes, only kept when all three agree."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.database import writing
from nursery.errors import Invalid
from nursery.i18n import LOCALES, current_locale, language_name
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.deviations.suggesting import suggest
from nursery.services.season_report import (
    check_agreement,
    check_choice,
    choices,
    gather_figures,
    keep_report,
    last_season,
    report_xlsx,
    show,
)
from nursery.web.season_reports.blueprint import bp
from nursery.web.season_reports.showing import application, body_of, pdf_of
from nursery.web.session import actor, db, today
from nursery.web.works import Work, begin_work, progress_page, works

KIND = "season reports"
#: A small season is done before the progress would be drawn.
WAIT_SECONDS = 1.5
STEP_LABELS = {
    "batches": _l("Reading the batches of the season"),
    "costs": _l("Reckoning the costs"),
    "plants": _l("Adding up targets, loads and plantings"),
    "origins": _l("Following the plants back to their stands"),
    "survival": _l("Reading the survival surveys"),
    "seed": _l("Adding up the seed collected"),
    "losses": _l("Adding up losses and yields"),
    "hours": _l("Adding up the hours"),
    "deviations": _l("Reading deviations and overrides"),
    "pdf": _l("Setting the PDF and drawing its charts"),
    "workbook": _l("Writing the workbook"),
    "check": _l("Reading page, PDF and workbook back"),
}


@bp.route("/new", methods=["GET", "POST"])
def new() -> ResponseReturnValue:
    """One question, which season, answered already; and one big button."""
    if request.method != "POST":
        return _ask(_whole(request.args.get("season", "")) or last_season(today()), {})
    season, language = _whole(request.form.get("season", "")), request.form.get("language", "")
    try:
        check_choice(season=season, language=language, today=today())
    except Invalid as refused:
        return _ask(season or last_season(today()), refused.errors), 422
    return _begin(season, language)


def _ask(season: int, errors: Any) -> str:
    found = choices(db(), today=today())
    is_offered = any(one.season == season for one in found)
    return render_template(
        "season_reports/new.html",
        section="report",
        choices=found,
        season=season,
        errors=errors,
        language=request.form.get("language") or current_locale(),
        languages=[(code, language_name(code)) for code in LOCALES],
        suggested=suggest(db(), season=season, today=today()) if is_offered else [],
    )


def _whole(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else 0


def _begin(season: int, language: str) -> ResponseReturnValue:
    app = application()
    sessions, person, day = app.extensions["nursery_sessions"], actor(), today()

    def make(work: Work) -> None:
        work.parts = len(STEP_LABELS)

        def tell(step: str) -> None:
            work.done, work.told = list(STEP_LABELS).index(step), str(STEP_LABELS[step])

        with sessions() as reading:
            figures = gather_figures(reading, season=season, today=day, report=tell)
        document = show(figures, language=language)
        tell("pdf")
        pdf = pdf_of(app, document)
        tell("workbook")
        workbook = report_xlsx(document)
        tell("check")
        with app.app_context():
            page = body_of(app, document, lambda _key, **_more: "")
        found = check_agreement(document, page=page, pdf=pdf, workbook=workbook)
        if not found.is_whole:
            work.trouble = _(
                "The report was not kept, since page, PDF and workbook did not say the same: %(faults)s. Tell"
                " those who look after the program.",
                faults="; ".join(found.faults[:3]),
            )
            return
        # Written in a transaction of its own, so that others can write while it is made.
        with writing(sessions) as session, session.begin():
            row = keep_report(session, person, figures=figures, language=language)
            session.flush()
            made_id = row.id
        work.made_id = made_id

    work, is_own = begin_work(
        KIND, make, failed=_("Something went wrong while the report was made; nothing was kept. Make it again.")
    )
    if not is_own:
        flash(_("A report is being made already, so no other was begun. This page shows how far it is."), "info")
    else:
        work.over.wait(WAIT_SECONDS)
    return redirect(url_for(".making", token=work.token), 303)


@bp.get("/making/<token>")
def making(token: str) -> ResponseReturnValue:
    """How far a report is; once it is made, the report."""
    work = works(KIND).find(token)
    if work is None:
        # The server may have been started anew; what was made by then is in the list.
        flash(
            _("No report is being made under that address any more. Those that were made are in this list."),
            "info",
        )
        return redirect(url_for(".list_page"), 303)
    if work.made_id is not None:
        flash(_("The report is made. Page, PDF and workbook were read back: all three agree."), "ok")
        return redirect(url_for(".detail", record_id=work.made_id), 303)
    return progress_page("season_reports/making.html", work, section="report")
