"""Files of a report: PDF, workbook, charts, and the organisation's colour."""

from __future__ import annotations

import re

from flask import Response, abort, redirect, request, url_for
from flask.typing import ResponseReturnValue

from nursery.documents.season_report_charts import chart_svg
from nursery.i18n import gettext as _
from nursery.services.season_report import read_report, report_xlsx
from nursery.services.seasons import season_name
from nursery.tabular.writer import XLSX_TYPE
from nursery.web.pictures import send_picture
from nursery.web.season_reports.blueprint import bp
from nursery.web.season_reports.pages import AT
from nursery.web.season_reports.showing import application, asked, pdf_of
from nursery.web.session import db

#: Keys of `nursery.services.season_report.pictures`; a report draws those it has rows for.
CHARTS = "costs, hours, losses, origins, planted, survival"


@bp.get(f"{AT}.pdf")
def pdf(record_id: int) -> Response:
    """The report for paper."""
    row, document = asked(record_id)
    return _send(pdf_of(application(), document), "application/pdf", row.season, "pdf")


@bp.get(f"{AT}.xlsx")
def workbook(record_id: int) -> Response:
    """Its numbers as a workbook."""
    row, document = asked(record_id)
    return _send(report_xlsx(document), XLSX_TYPE, row.season, "xlsx")


@bp.get(f"{AT}/charts/<any({CHARTS}):key>.svg")
def chart(record_id: int, key: str) -> Response:
    """One of its charts."""
    row, document = asked(record_id)
    found = document.charts.get(key)
    if found is None:
        abort(404)
    narrow = request.args.get("narrow") == "yes"
    return send_picture(lambda: chart_svg(found, narrow=narrow), row.digest, key, narrow, document.language)


@bp.get(f"{AT}/colour.css")
def colour(record_id: int) -> Response:
    """The organisation's own colour for the headings of the page."""
    own = str(read_report(db(), record_id).figures.get("colour") or "")
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", own):
        abort(404)
    return Response(f".report {{ --own: {own}; }}\n", content_type="text/css; charset=utf-8")


@bp.get(f"{AT}/logo.png")
def logo(record_id: int) -> ResponseReturnValue:
    """The logo as it was when the report was made; where there was none, the report."""
    _row, document = asked(record_id)
    if not document.logo:
        return redirect(url_for(".detail", record_id=record_id), 303)
    return Response(document.logo, content_type="image/png")


def _send(content: bytes, kind: str, season: int, ending: str) -> Response:
    name = _("season report %(season)s", season=season_name(season).replace("/", "-")).replace(" ", "-")
    answer = Response(content, content_type=kind)
    answer.headers.set("Content-Disposition", "attachment", filename=f"{name}.{ending}")
    return answer
