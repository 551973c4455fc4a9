"""The list of reports, and a report as a page."""

from __future__ import annotations

import datetime as dt
from typing import Any

from flask import Response as FlaskResponse
from flask import flash, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from nursery.i18n import LOCALES, language_name, locale_of
from nursery.i18n import gettext as _
from nursery.services.season_report import (
    check_agreement,
    last_season,
    put_aside,
    read_report,
    report_pdf,
    report_xlsx,
)
from nursery.services.season_report.listing import LISTING
from nursery.services.seasons import season_name
from nursery.web.listing import export_list, view_list
from nursery.web.season_reports.blueprint import bp
from nursery.web.season_reports.showing import application, asked, body_of
from nursery.web.session import actor, db, today

AT = "/<int(max=2147483647):record_id>"


@bp.get("")
def list_page() -> str:
    """Reports that were made, the newest on top."""
    return render_template(
        "season_reports/list.html",
        section="report",
        listed=view_list(LISTING, export="season_reports.export"),
        season=last_season(today()),
    )


@bp.get("/list.<any(csv,xlsx):file_format>")
def export(file_format: str) -> FlaskResponse:
    """The list as a file."""
    return export_list(LISTING, _("Season reports"), file_format)


@bp.get(AT)
def detail(record_id: int) -> str:
    """The report to read."""
    row, document = asked(record_id)

    def chart_url(key: str, *, narrow: bool = False) -> str:
        asked_for: dict[str, Any] = {"language": document.language, "narrow": "yes" if narrow else None}
        if key == "logo":
            return url_for(".logo", record_id=row.id)
        return url_for(".chart", record_id=row.id, key=key, **asked_for)

    return render_template(
        "season_reports/detail.html",
        section="report",
        row=row,
        report=document,
        body=body_of(application(), document, chart_url),
        season=season_name(row.season),
        languages=[(code, language_name(code)) for code in LOCALES],
    )


@bp.get(f"{AT}/check")
def check(record_id: int) -> str:
    """The three renderings made and read back now."""
    row, document = asked(record_id)
    with locale_of(document.language):
        pdf, workbook = report_pdf(document), report_xlsx(document)
    page = body_of(application(), document, lambda _key, **_more: "")
    return render_template(
        "season_reports/check.html",
        section="report",
        row=row,
        report=document,
        season=season_name(row.season),
        found=check_agreement(document, page=page, pdf=pdf, workbook=workbook),
        is_kept_digest=document.digest == row.digest,
    )


@bp.post(f"{AT}/aside")
def aside(record_id: int) -> ResponseReturnValue:
    """Out of the list, or back into it."""
    row = read_report(db(), record_id)
    put_aside(db(), actor(), row=row, now=lambda: dt.datetime.now(dt.UTC))
    told = _("The report was put aside. Its figures stay.")
    flash(told if row.archived_at else _("The report is back in the list."), "ok")
    return redirect(url_for(".detail", record_id=row.id), 303)
