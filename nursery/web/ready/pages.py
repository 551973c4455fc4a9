"""The season's stock as a page, a table, a workbook and a PDF, all from one reading."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, render_template, request, stream_with_context, url_for

from nursery.i18n import gettext as _
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.ready import tables, words
from nursery.services.ready.printing import print_ready
from nursery.services.ready.query import LABELS, TITLES, WITH_WANTS, By, ReadyQuery
from nursery.services.ready.season import ReadySeason, read_ready, unnamed
from nursery.services.ready.week_rows import When
from nursery.services.seasons import season_name
from nursery.tabular.writer import XLSX_TYPE, write_workbook
from nursery.web.forecast.drawing import draw
from nursery.web.listing import send_table
from nursery.web.ready.columns import columns, week_points
from nursery.web.session import db, today

bp = Blueprint("ready", __name__)
KEPT = ("season", "by", "species", "site", "nursery", "sort")


@bp.get("/ready")
def page() -> str:
    """The stock of one season."""
    season = _asked()
    if not season.every.seasons:
        return render_template("ready/none.html", section="plant")
    points, asked = week_points(season)
    return render_template(
        "ready/page.html",
        section="plant",
        season=season,
        groups=season.groups(),
        tabs=[
            {"label": str(LABELS[by]), "url": _url(by=by.value, sort=""), "current": by is season.query.by}
            for by in By
        ],
        titles=TITLES,
        labels=LABELS,
        columns=tables.columns_of(season.query.by),
        heads=columns(season.query, lambda sort: _url(sort=sort)),
        drawing=draw(points, asked) if points else None,
        exports=[(name, _url(kind)) for name, kind in (("CSV", "ready.table"), ("XLSX", "ready.workbook"))],
        url=_url,
        words=words,
        tables=tables,
        stage_labels=STAGE_LABELS,
        unnamed=unnamed,
        by_batch=season.query.by is By.BATCH,
        with_wants=season.query.by in WITH_WANTS,
        before=When.BEFORE,
    )


@bp.get("/ready.csv")
def table() -> Response:
    """The table shown, as a file."""
    season = _asked()
    by = season.query.by
    return send_table(_title(season), tables.group_headings(by), tables.group_cells(season.groups(), by), "csv")


@bp.get("/ready.xlsx")
def workbook() -> Response:
    """Every grouping, the weeks and what is not sown, a sheet each."""
    season = _asked()
    portions = write_workbook(tables.sheets(season))
    return _sent(Response(stream_with_context(portions), content_type=XLSX_TYPE), season, "attachment", "xlsx")


@bp.get("/ready.pdf")
def paper() -> Response:
    """The same on paper."""
    season = _asked()
    return _sent(Response(print_ready(season), content_type="application/pdf"), season, "inline", "pdf")


def _asked() -> ReadySeason:
    return read_ready(db(), ReadyQuery.of(request.args), today=today())


def _title(season: ReadySeason) -> str:
    return _("Ready for the season %(season)s", season=season_name(season.season)).replace("/", "-")


def _sent(response: Response, season: ReadySeason, how: str, ending: str) -> Response:
    name = f"{_title(season)} {today().isoformat()}.{ending}"
    response.headers.set("Content-Disposition", how, filename=name)
    return response


def _url(endpoint: str = "ready.page", **changes: Any) -> str:
    """The present choices at another address; an empty change leaves one out."""
    kept = {key: request.args[key] for key in KEPT if request.args.get(key)}
    values = {key: value for key, value in {**kept, **changes}.items() if value != ""}
    return url_for(endpoint, **values)
