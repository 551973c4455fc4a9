"""The pages of what to collect: the list, a field sheet a need, all sheets in one print, and files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from flask import Blueprint, Response, render_template, request

from nursery.catalog import caution_text
from nursery.i18n import gettext as _
from nursery.services.listing import ListQuery, export_rows
from nursery.services.needs import Season, Sheet, need_and_plan, needs_listing, needs_of, read_sheets
from nursery.services.planning.plans import current_plan
from nursery.services.populations import STATUS_LABELS
from nursery.tabular.writer import Cell, Heading
from nursery.web.listing import export_list, read_query, send_table, view_list
from nursery.web.needs import explaining
from nursery.web.session import db, today

bp = Blueprint("needs", __name__)
ID = "<int(max=2147483647):record_id>"
FORMAT = "<any(csv,xlsx):file_format>"
#: Sheets in one print; a crew carries no more, and the page stays quick.
MOST_SHEETS = 60


@bp.get("/needs")
def list_page() -> str:
    """What to collect by the current plan."""
    plan = current_plan(db())
    if plan is None:
        return render_template("needs/none.html", section="collect")
    listed = view_list(needs_listing(today(), plan.id), export="needs.export", where=needs_of(plan.id))
    sheets = read_sheets(db(), plan, [row.id for row in listed.page.rows])
    return render_template(
        "needs/list.html",
        section="collect",
        plan=plan,
        listed=listed,
        sheets=sheets,
        cautions=_cautions(sheets.values()),
        explain=explaining,
        caution_text=caution_text,
        kept=_kept(listed.page.query),
    )


@bp.get(f"/needs.{FORMAT}")
def export(file_format: str) -> Response:
    """The list as a file."""
    plan = current_plan(db())
    plan_id = plan.id if plan else 0
    listing = needs_listing(today(), plan_id)
    return export_list(listing, _("What to collect"), file_format, where=needs_of(plan_id))


@bp.get("/needs/sheets")
def sheets() -> str:
    """The field sheets of the list as filtered, for one print; seasons that are over are left out."""
    plan = current_plan(db())
    if plan is None:
        return render_template("needs/none.html", section="collect")
    listing = needs_listing(today(), plan.id)
    query = read_query(listing, request.args)
    rows = export_rows(db(), listing, query, where=needs_of(plan.id))
    wanted = [row.id for row in rows if row.state != Season.OVER]
    found = read_sheets(db(), plan, wanted[:MOST_SHEETS])
    return render_template(
        "needs/sheets.html",
        section="collect",
        plan=plan,
        sheets=[found[need] for need in wanted[:MOST_SHEETS]],
        left_out=len(wanted) - len(found),
        explain=explaining,
        caution_text=caution_text,
        kept=_kept(query),
        status_labels=STATUS_LABELS,
    )


@bp.get(f"/needs/{ID}")
def detail(record_id: int) -> str:
    """One need as a field sheet."""
    need, plan = need_and_plan(db(), record_id)
    current = current_plan(db())
    return render_template(
        "needs/detail.html",
        section="collect",
        plan=plan,
        is_current=current is not None and current.id == plan.id,
        sheet=read_sheets(db(), plan, [need.id])[need.id],
        explain=explaining,
        caution_text=caution_text,
        status_labels=STATUS_LABELS,
    )


@bp.get(f"/needs/{ID}/populations.{FORMAT}")
def stands_export(record_id: int, file_format: str) -> Response:
    """The known populations of a need as a file."""
    need, plan = need_and_plan(db(), record_id)
    sheet = read_sheets(db(), plan, [need.id])[need.id]
    headings = [
        Heading(_("Population")), Heading(_("Name"), width=28), Heading(_("Latitude"), "number", digits=6),
        Heading(_("Longitude"), "number", digits=6), Heading(_("Elevation (m)"), "number"), Heading(_("Origin")),
        Heading(_("Fruiting plants"), "number"),
        Heading(_("Most to take (cuttings)") if sheet.is_cuttings else _("Most to take (kg of fruit)"), "number"),
        Heading(_("Nearest waiting site"), width=28), Heading(_("Distance (km)"), "number", digits=1),
        Heading(_("Last collected"), "date"), Heading(_("Lots"), "number"),
    ]  # fmt: skip
    title = _("Populations for %(species)s %(origin)s", species=need.species_name, origin=sheet.origin)
    return send_table(title, headings, _stand_cells(sheet), file_format)


def _stand_cells(sheet: Sheet) -> Iterator[list[Cell]]:
    for stand in sheet.stands.here:
        yield [
            stand.code, stand.name, stand.latitude, stand.longitude, stand.elevation_m,
            str(STATUS_LABELS[stand.status]), stand.fruiting_plants, stand.most, stand.nearest_site,
            stand.distance_m / 1000, stand.last_collected, stand.lots,
        ]  # fmt: skip


def _kept(query: ListQuery) -> dict[str, str]:
    """The choices of the list, for the address of its sheets."""
    return {key: text for key, text in {"q": query.q, "sort": query.sort, **query.filters}.items() if text}


def _cautions(sheets: Iterable[Sheet]) -> list[tuple[str, list[str]]]:
    """Each caution once, with the species it is about."""
    found: dict[str, dict[str, None]] = {}
    for sheet in sheets:
        for key in sheet.entry.cautions if sheet.entry else ():
            found.setdefault(key, {})[sheet.need.species_name] = None
    return [(caution_text(key), sorted(species)) for key, species in found.items()]
