"""Survival at a site: the picture, the sheet for the field, and survival by species everywhere."""

from __future__ import annotations

from collections.abc import Iterator

from flask import Response, abort, render_template, request

from nursery.i18n import gettext as _
from nursery.models import Site
from nursery.planning.field.words import Cause
from nursery.services.listing import choice_labels, whole
from nursery.services.seasons import season_name
from nursery.services.surveys.listing import COUNTS
from nursery.services.surveys.planted import seasons_planted
from nursery.services.surveys.sheet import read_sheet
from nursery.services.surveys.site import read_site
from nursery.services.surveys.survival import SurvivalRow, survival
from nursery.services.surveys.words import CAUSE_LABELS, year_name
from nursery.tabular.writer import Cell, Heading
from nursery.web.links import address
from nursery.web.listing import send_table
from nursery.web.pictures import send_picture
from nursery.web.records import ID
from nursery.web.session import db, today
from nursery.web.surveys.blueprint import bp

#: Rows on screen; the file has all.
_MOST = 300
_FILTERS = ("site", "season", "year", "species")


def get_site(record_id: int) -> Site:
    """The site, or the page that says there is none."""
    row = db().get(Site, record_id)
    return row if row is not None else abort(404)


@bp.get(f"/surveys/sites/{ID}/chart.svg")
def chart(record_id: int) -> Response:
    """Survival over the years as a picture."""
    found = read_site(db(), get_site(record_id), request.args.get("season", type=whole))
    if found is None:
        return Response(status=404)
    narrow = request.args.get("narrow") == "1"
    seen = [(row.species, row.year, row.planted, row.alive) for row in found.rows]
    return send_picture(lambda: found.chart(narrow=narrow), found.site.name, found.season, seen, narrow)


@bp.get(f"/surveys/sites/{ID}/sheet")
def sheet(record_id: int) -> str:
    """Paper for the field: a table a plot, with room to write."""
    site = get_site(record_id)
    season = request.args.get("season", type=whole)
    return render_template(
        "surveys/sheet.html",
        section="plant",
        sheet=read_sheet(db(), site, season, today=today()),
        causes=[str(CAUSE_LABELS[cause]) for cause in Cause],
        seasons=list(seasons_planted(db(), site)),
    )


@bp.get("/surveys/survival")
def rates() -> str:
    """Survival by species, site, season and year."""
    rows = _rows()
    session = db()
    return render_template(
        "surveys/rates.html",
        section="plant",
        rows=rows[:_MOST],
        count=len(rows),
        most=_MOST,
        choices=[
            (choice.key, str(choice.label), choice_labels(session, choice), request.args.get(choice.key, ""))
            for choice in COUNTS.filters
            if choice.key in _FILTERS
        ],
        asked=any(request.args.get(key) for key in _FILTERS),
        exports=[
            (name.upper(), address("surveys.export_rates", file_format=name, **_kept()))
            for name in ("csv", "xlsx")
        ],
        year_name=year_name,
    )


@bp.get("/surveys/survival.<any(csv,xlsx):file_format>")
def export_rates(file_format: str) -> Response:
    """The same as a file."""
    headings = [
        Heading(_("Species"), width=28), Heading(_("Planting site"), width=28), Heading(_("Site code")),
        Heading(_("Season planted")), Heading(_("Year"), "number"), Heading(_("Plots"), "number"),
        Heading(_("Planted first in the plots"), "number"), Heading(_("Alive"), "number"),
        Heading(_("Survival"), "percent"), Heading(_("Survival, low"), "percent"),
        Heading(_("Survival, high"), "percent"), Heading(_("Replacements alive"), "number"),
        Heading(_("Planted at the whole site"), "number"), Heading(_("Last surveyed"), "date"),
    ]  # fmt: skip
    return send_table(_("Survival"), headings, _cells(_rows()), file_format)


def _cells(rows: list[SurvivalRow]) -> Iterator[list[Cell]]:
    for row in rows:
        yield [
            row.species, row.site, row.site_code, season_name(row.season), row.year, row.plots, row.planted,
            row.alive, row.rate, row.low, row.high, row.replacements, row.planted_at_site or None, row.surveyed_on,
        ]  # fmt: skip


def _rows() -> list[SurvivalRow]:
    numbers = {name: request.args.get(name, type=whole) for name in ("season", "site", "year")}
    rows = survival(db(), numbers["season"], numbers["site"], numbers["year"])
    species = request.args.get("species", "")
    return [row for row in rows if not species or row.species_key == species]


def _kept() -> dict[str, str]:
    return {key: value for key in _FILTERS if (value := request.args.get(key, ""))}
