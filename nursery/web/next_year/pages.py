"""Rates as planned and as seen, what the errors cost, and what changes; as a page and as files."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, render_template, request, stream_with_context, url_for

from nursery.i18n import gettext as _
from nursery.services.next_year import tables, words
from nursery.services.next_year.query import NextYearQuery
from nursery.services.next_year.reading import NextYear, read_next_year
from nursery.services.seasons import season_name
from nursery.tabular.writer import XLSX_TYPE, write_workbook
from nursery.web.listing import send_table
from nursery.web.session import db, today

bp = Blueprint("next_year", __name__)


@bp.get("/next-year")
def page() -> str:
    """The look back."""
    found = _asked()
    if found.season is None or not found.every:
        return render_template("next_year/none.html", section="report", found=found)
    return render_template(
        "next_year/page.html",
        section="report",
        found=found,
        words=words,
        exports=[
            (name, _url(kind)) for name, kind in (("CSV", "next_year.table"), ("XLSX", "next_year.workbook"))
        ],
    )


@bp.get("/next-year.csv")
def table() -> Response:
    """The rates, as a file."""
    found = _asked()
    return send_table(_title(found), tables.error_headings(), tables.error_cells(found.errors), "csv")


@bp.get("/next-year.xlsx")
def workbook() -> Response:
    """The rates and the next sowing, a sheet each."""
    found = _asked()
    response = Response(stream_with_context(write_workbook(tables.sheets(found))), content_type=XLSX_TYPE)
    name = f"{_title(found)} {today().isoformat()}.xlsx"
    response.headers.set("Content-Disposition", "attachment", filename=name)
    return response


def _asked() -> NextYear:
    return read_next_year(db(), NextYearQuery.of(request.args), today=today())


def _title(found: NextYear) -> str:
    season = season_name(found.season).replace("/", "-") if found.season is not None else ""
    return _("What %(season)s teaches the next plan", season=season)


def _url(endpoint: str) -> str:
    kept: dict[str, Any] = {
        key: request.args[key] for key in ("season", "species", "rate") if request.args.get(key)
    }
    return url_for(endpoint, **kept)
