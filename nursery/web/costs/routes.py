"""The page of costs and its export."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, cast

from flask import Blueprint, Response, render_template, request, url_for
from sqlalchemy import select

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Species
from nursery.planning.work.costs import PARTS
from nursery.services.costing.costs import By, Costs, read_costs
from nursery.services.costing.explaining import (
    PART_LABELS,
    each,
    missing_in_words,
    money,
    parts_in_words,
    source_of,
)
from nursery.services.seasons import season_name
from nursery.tabular.writer import Cell, Heading
from nursery.web.links import address
from nursery.web.listing import send_table
from nursery.web.session import db

bp = Blueprint("costs", __name__)

BYS = {
    "species": (_l("By species"), _l("Species")),
    "batch": (_l("By batch"), _l("Batch")),
    "site": (_l("By site"), _l("Planting site")),
    "funder": (_l("By funder"), _l("Funder")),
}


@bp.get("/costs")
def page() -> str:
    """Costs as the address asks for them."""
    costs = _read()
    return render_template(
        "costs/page.html",
        section="grow",
        costs=costs,
        by=_by(),
        head=BYS[_by()][1],
        bys=[(key, label, _url(by=key)) for key, (label, _head) in BYS.items()],
        season=_season(),
        seasons=[(str(season), season_name(season)) for season in costs.seasons],
        exports=[(name.upper(), _url("costs.export", file_format=name)) for name in ("csv", "xlsx")],
        parts=PARTS,
        part_labels=PART_LABELS,
        missing=missing_in_words(costs.unpriced, costs.has_substrate_price, costs.unlogged),
        money=lambda cents: money(cents, costs.prices),
        each=lambda value: each(value, costs.prices),
        told=lambda side: parts_in_words(side, costs.prices),
        source_of=lambda part, side: source_of(part, side, costs.prices),
        row_url=_row_urls(costs),
    )


@bp.get("/costs.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """All rows with every part, planned and so far."""
    costs = _read()
    sides = (_("planned"), _("so far"))
    headings = [
        Heading(str(BYS[_by()][1]), width=28),
        *(
            Heading(f"{label}, {side}", "number", digits=2)
            for side in sides
            for label in (*(PART_LABELS[part] for part in PARTS), _("All costs"))
        ),
        *(
            Heading(f"{label}, {side}", "number", digits=1)
            for side in sides
            for label in (_("Plants grown"), _("Plants planted"), _("Plants surviving"))
        ),
        Heading(_("Hours given"), "number", digits=1),
        Heading(_("Value of hours given"), "number", digits=2),
        Heading(_("Currency")),
    ]
    return send_table(_("Costs"), headings, _rows(costs), file_format)


def _rows(costs: Costs) -> Iterator[list[Cell]]:
    for row in (*costs.rows, costs.total):
        sides = (row.planned, row.actual)
        yield [
            row.label,
            *(value / 100 for side in sides for value in (*side.cents, side.total)),
            *(
                float(value)
                for side in sides
                for value in (side.plants.grown, side.plants.planted, side.plants.surviving)
            ),
            row.hours_given,
            row.in_kind / 100,
            costs.prices.currency,
        ]


def _read() -> Costs:
    return read_costs(db(), by=_by(), season=_season())


def _by() -> By:
    asked = request.args.get("by", "")
    return cast("By", asked) if asked in BYS else "species"


def _season() -> int | None:
    asked = request.args.get("season", type=int)
    return asked if asked is not None and 2000 <= asked <= 2200 else None


def _url(endpoint: str = "costs.page", **changes: Any) -> str:
    asked = {"by": _by(), "season": _season()} | changes
    return url_for(endpoint, **{name: value for name, value in asked.items() if value})


def _row_urls(costs: Costs) -> dict[int, str]:
    """Pages of the rows' own records."""
    by, ids = _by(), [row.id for row in costs.rows if row.id is not None]
    if by == "species":
        keys = db().execute(select(Species.id, Species.key).where(Species.id.in_(ids)))
        return {row_id: address("species.detail", record_id=key) for row_id, key in keys}
    endpoint = {"batch": "batches.detail", "site": "sites.detail"}.get(by, "")
    return {row_id: address(endpoint, record_id=row_id) for row_id in ids}
