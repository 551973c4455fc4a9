"""The page of the map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from flask import Blueprint, render_template, request

from nursery.models import Plan, Population, Site
from nursery.services.map import (
    Drawing,
    Flow,
    MapQuery,
    Mark,
    MarkKind,
    draw_map,
    read_flow_choices,
    read_flows,
    read_marks,
    shown_zones,
)
from nursery.services.map.drawing import NARROW, WIDE
from nursery.services.planning.plans import current_plan
from nursery.services.seasons import season_name
from nursery.services.zones import MapZone, place_records, said, tone, zones_on_map
from nursery.web.map import asking
from nursery.web.map.tables import Portion, portion, row_address
from nursery.web.session import db

bp = Blueprint("map", __name__)


@dataclass(frozen=True, slots=True)
class _Asked:
    """Everything read for one page."""

    query: MapQuery
    plan: Plan | None
    extent: Sequence[Mark]
    marks: Sequence[Mark]
    zones: Sequence[MapZone]
    flows: Sequence[Flow]


@bp.get("/map")
def page() -> str:
    """The map as the address asks, drawn for a desk and for a phone, and its facts as tables."""
    asked = _read(asking.read_map_query(request.args))
    wide, narrow = (
        draw_map(asked.extent, asked.marks, asked.flows, asked.zones, asked.query, size) for size in (WIDE, NARROW)
    )
    if wide is None or narrow is None:
        return render_template("map/none.html", section="map")
    tables = _tables(asked, wide)
    return render_template(
        "map/page.html",
        section="map",
        plan=asked.plan,
        query=asked.query,
        choices=_choices(asked.plan),
        drawings=[("wide", wide), ("narrow", narrow)],
        moves=asking.moves(wide, asked.query),
        closer=partial(asking.closer, query=asked.query),
        filters=asking.filters_of(asked.query),
        window=asking.window(asked.query),
        tables=tables,
        line_row=lambda line: row_address("lines", line.flow, tables["lines"], asked.query),
        standing=_standing(tables),
        said=said,
        tone=tone,
        plants=sum(flow.plants for flow in asked.flows),
    )


def _read(query: MapQuery) -> _Asked:
    plan = current_plan(db())
    extent = read_marks(db())
    zones = zones_on_map(db())
    name = _species_name(query)
    marks = [one for one in extent if not name or one.kind is not MarkKind.POPULATION or one.species == name]
    flows = read_flows(db(), plan.id, query) if plan else []
    return _Asked(query, plan, extent, marks, shown_zones(zones, name), flows)


def _species_name(query: MapQuery) -> str:
    from nursery.catalog.reading import load_catalog  # noqa: PLC0415 -- only where a species is asked for

    entry = load_catalog().species.get(query.species) if query.species else None
    return entry.scientific_name if entry else ""


def _choices(plan: Plan | None) -> dict[str, Sequence[tuple[str, str]]]:
    if plan is None:
        return {}
    found = read_flow_choices(db(), plan.id)
    return found | {"season": [(year, season_name(int(year))) for year, _same in found["season"]]}


def _tables(asked: _Asked, drawing: Drawing) -> dict[str, Portion]:
    """What is seen on the wide sheet, kind by kind; the lines are all of those asked for."""
    by_kind = {kind: [one for one in drawing.inside if one.kind is kind] for kind in MarkKind}
    drawn = {zone.id for zone in drawing.zones}
    return {
        "lines": portion("lines", asked.flows, asked.query),
        "sites": portion("sites", by_kind[MarkKind.SITE], asked.query),
        "populations": portion("populations", by_kind[MarkKind.POPULATION], asked.query),
        "nurseries": portion("nurseries", by_kind[MarkKind.NURSERY], asked.query),
        "zones": portion("zones", [zone for zone in asked.zones if zone.id in drawn], asked.query),
    }


def _standing(tables: dict[str, Portion]) -> dict[str, object]:
    """How the codes of the places in the tables stand to the map."""
    return {
        "populations": place_records(db(), Population, [one.id for one in tables["populations"].rows]),
        "sites": place_records(db(), Site, [one.id for one in tables["sites"].rows]),
    }
