"""The pages of verdicts: the table of a species, one lot, one site."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, render_template, request, url_for
from sqlalchemy import select

from nursery.models import Lot, Site, Species
from nursery.services import records
from nursery.services.origin.matrix import (
    MOST_LOTS,
    MOST_SITES,
    Asked,
    lots_of_site,
    matrix_rows,
    reach_of_lot,
    read_matrix,
    species_with_lots,
    usual_species,
    wanted_species,
)
from nursery.web.listing import send_table
from nursery.web.origin import tables
from nursery.web.session import db, today

bp = Blueprint("origin", __name__)
FORMAT = "<any(csv,xlsx):file_format>"
LOT, SITE = "<int(max=2147483647):lot_id>", "<int(max=2147483647):site_id>"
#: Rows of the tables of one lot and of one site.
PAGE = 50


@bp.get("/origin")
def page() -> str:
    """The table of lots and sites of a species."""
    species, asked = _species(), _asked()
    matrix = read_matrix(db(), species=species, asked=asked, today=today()) if species else None
    return render_template(
        "origin/page.html",
        section="plan",
        matrix=matrix,
        asked=asked,
        species=species,
        offered=species_with_lots(db()),
        turns=_turns(asked, matrix),
        exports=[(name.upper(), _here("origin.export", asked, file_format=name)) for name in ("csv", "xlsx")],
    )


@bp.get(f"/origin.{FORMAT}")
def export(file_format: str) -> Response:
    """The whole table as a file, one pair a row."""
    species = _species()
    rows = matrix_rows(db(), species=species, asked=_asked(), today=today()) if species else iter(())
    title = tables.matrix_title(species)
    return send_table(title, tables.matrix_headings(), tables.matrix_cells(rows), file_format)


@bp.get(f"/origin/lots/{LOT}")
def lot(lot_id: int) -> str:
    """One lot at every site."""
    row = records.get(db(), Lot, lot_id)
    cells = reach_of_lot(db(), lot_id, today=today())
    shown, turns = _portion(cells)
    sites = db().scalars(select(Site).where(Site.id.in_([cell.site_id for cell in shown])))
    return render_template(
        "origin/lot.html",
        section="plan",
        lot=row,
        cells=cells,
        shown=shown,
        turns=turns,
        sites={site.id: site for site in sites},
    )


@bp.get(f"/origin/sites/{SITE}")
def site(site_id: int) -> str:
    """Every lot of what a site wants, or of one species, at it."""
    row = records.get(db(), Site, site_id)
    species = _named_species()
    lots, cells = lots_of_site(db(), site_id, today=today(), species_id=species.id if species else None)
    shown, turns = _portion(cells)
    return render_template(
        "origin/site.html",
        section="plan",
        site=row,
        species=species,
        offered=wanted_species(db(), site_id),
        lots=lots,
        cells=cells,
        shown=shown,
        turns=turns,
    )


def _species() -> Species | None:
    return _named_species() or usual_species(db())


def _named_species() -> Species | None:
    key = request.args.get("species", "")
    return db().scalar(select(Species).where(Species.key == key)) if key and "\0" not in key else None


def _asked() -> Asked:
    args = request.args
    return Asked(
        lot=_text(args.get("lot", "")),
        site=_text(args.get("site", "")),
        wanted=args.get("sites") != "all",
        lot_page=whole_number(args.get("lots", "")),
        site_page=whole_number(args.get("at", "")),
    )


def _text(text: str) -> str:
    return text.replace("\0", " ").strip()[:80]


def whole_number(text: str) -> int:
    """A page's number as the address has it; nonsense is the first."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 0


def _here(endpoint: str, asked: Asked, **changes: Any) -> str:
    kept = {
        "species": request.args.get("species"),
        "lot": asked.lot or None,
        "site": asked.site or None,
        "sites": None if asked.wanted else "all",
        "lots": asked.lot_page or None,
        "at": asked.site_page or None,
        **changes,
    }
    return url_for(endpoint, **{name: value for name, value in kept.items() if value is not None})


def _turns(asked: Asked, matrix: Any) -> dict[str, str]:
    """Addresses of the neighbouring pages, of lots and of sites."""
    if matrix is None:
        return {}
    pages = {
        "lots": (asked.lot_page, (asked.lot_page + 1) * MOST_LOTS < matrix.lots_in_all),
        "at": (asked.site_page, (asked.site_page + 1) * MOST_SITES < matrix.sites_in_all),
    }
    found = {}
    for name, (number, more) in pages.items():
        if number:
            found[f"{name}_before"] = _here("origin.page", asked, **{name: number - 1 or None})
        if more:
            found[f"{name}_after"] = _here("origin.page", asked, **{name: number + 1})
    return found


def _portion(cells: list[Any]) -> tuple[list[Any], dict[str, str]]:
    """The rows of the page asked for, and the addresses of its neighbours."""
    number = min(whole_number(request.args.get("page", "")), max(len(cells) - 1, 0) // PAGE)
    kept = {**(request.view_args or {}), **{k: v for k, v in request.args.items() if k == "species"}}
    turns = {}
    if number:
        turns["before"] = url_for(request.endpoint or "", **kept, page=number - 1)
    if (number + 1) * PAGE < len(cells):
        turns["after"] = url_for(request.endpoint or "", **kept, page=number + 1)
    return cells[number * PAGE : (number + 1) * PAGE], turns
