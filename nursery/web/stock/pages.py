"""The pages of the ready stock forecast: by species, by planting site, and one site's own."""

from __future__ import annotations

from functools import partial
from typing import Any, cast

from flask import Blueprint, Response, render_template, request, url_for

from nursery.i18n import gettext as _
from nursery.services.listing import whole
from nursery.services.planning.plans import current_plan
from nursery.services.planning.words import STATUS
from nursery.services.site_stock import get_site, lines_for, read_sites, site_listing
from nursery.services.stock import SORTS, By, StockQuery, read_choices, read_stock, together
from nursery.web.listing import export_list, send_table, view_list
from nursery.web.session import db
from nursery.web.stock import explaining, tables

bp = Blueprint("stock", __name__)
FORMAT = "<any(csv,xlsx):file_format>"
SITE = "<int(max=2147483647):site_id>"


@bp.get("/stock")
def page() -> str:
    """The forecast by season and species."""
    plan = current_plan(db())
    if plan is None:
        return render_template("stock/none.html", section="plant")
    query = read_stock_query()
    seasons = read_stock(db(), plan.id, query)
    years, nurseries = read_choices(db(), plan.id)
    return render_template(
        "stock/page.html",
        section="plant",
        plan=plan,
        query=query,
        seasons=seasons,
        total=together([season.total for season in seasons]),
        years=years,
        nursery_options=[(name, name) for name in nurseries],
        columns=tables.columns(query, lambda sort: _url("stock.page", sort=sort)),
        exports=partial(_exports, "stock.export"),
        asked=bool(query.q or query.season is not None or query.nursery),
        explain=explaining,
    )


@bp.get(f"/stock.{FORMAT}")
def export(file_format: str) -> Response:
    """The forecast as filtered, as a file."""
    plan = current_plan(db())
    seasons = read_stock(db(), plan.id, read_stock_query()) if plan else []
    return send_table(_("What the plan will give"), tables.headings(), tables.cells(seasons), file_format)


@bp.get("/stock/sites")
def sites() -> str:
    """What each site will receive."""
    plan = current_plan(db())
    if plan is None:
        return render_template("stock/none.html", section="plant")
    query = read_stock_query()
    years, _nurseries = read_choices(db(), plan.id)
    return render_template(
        "stock/sites.html",
        section="plant",
        plan=plan,
        query=query,
        rows=read_sites(db(), plan.id, season=query.season, q=query.q),
        years=years,
        exports=partial(_exports, "stock.sites_export"),
        asked=bool(query.q or query.season is not None),
        explain=explaining,
    )


@bp.get(f"/stock/sites.{FORMAT}")
def sites_export(file_format: str) -> Response:
    """The sites as filtered, as a file."""
    plan = current_plan(db())
    query = read_stock_query()
    rows = read_sites(db(), plan.id, season=query.season, q=query.q) if plan else []
    return send_table(
        _("What the plan will give each site"), tables.site_headings(), tables.site_cells(rows), file_format
    )


@bp.get(f"/stock/sites/{SITE}")
def site(site_id: int) -> str:
    """What one site will receive, line by line."""
    row, plan = get_site(db(), site_id), current_plan(db())
    if plan is None:
        return render_template("stock/none.html", section="plant")
    listing, where = site_listing(plan.id, site_id), lines_for(plan.id, site_id)
    return render_template(
        "stock/site.html",
        section="plant",
        plan=plan,
        site=row,
        seasons=read_sites(db(), plan.id, site_id=site_id),
        listed=view_list(listing, export="stock.site_export", where=where, whole=True),
        tones={status: words[1] for status, words in STATUS.items()},
        explain=explaining,
    )


@bp.get(f"/stock/sites/{SITE}.{FORMAT}")
def site_export(site_id: int, file_format: str) -> Response:
    """What one site will receive as a file."""
    row, plan = get_site(db(), site_id), current_plan(db())
    plan_id = plan.id if plan else 0
    title = _("Plants for %(site)s", site=row.name)
    return export_list(site_listing(plan_id, site_id), title, file_format, where=lines_for(plan_id, site_id))


def read_stock_query() -> StockQuery:
    """What the address asks for; nonsense counts as not asked."""
    args = request.args
    by, sort = args.get("by", ""), args.get("sort", "")
    return StockQuery(
        by=cast("By", by) if by in {"nursery", "container"} else "species",
        season=_season(args.get("season", "")),
        nursery=args.get("nursery", "").replace("\0", "")[:120],
        q=args.get("q", "").strip()[:200],
        sort=sort if sort.removeprefix("-") in SORTS else "species",
    )


def _season(text: str) -> int | None:
    try:
        return whole(text)
    except ValueError:
        return None


def _exports(endpoint: str, season: int) -> list[tuple[str, str]]:
    """Files of one season's table."""
    return [(name.upper(), _url(endpoint, file_format=name, season=str(season))) for name in ("csv", "xlsx")]


def _url(endpoint: str, **changes: str) -> str:
    """The present choices at another address."""
    kept = {key: request.args[key] for key in ("q", "season", "nursery", "by", "sort") if request.args.get(key)}
    values: dict[str, Any] = {**kept, **changes}
    return url_for(endpoint, **values)
