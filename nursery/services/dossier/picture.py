"""The map of a dossier: its site or sites, the stands behind them, and which plants came from where."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy.orm import Session

from nursery.documents.dossier_map import MapArea, MapLine, MapMark, MapPicture
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models.zones import ZoneKind
from nursery.services.dossier.asking import Basis
from nursery.services.dossier.gathering import Dossier
from nursery.services.map import Drawing, Flow, MapQuery, Mark, MarkKind, draw_map, shown_zones
from nursery.services.zones.atlas import zones_on_map

#: A unit is so large on paper that a line of text is as high as the map reckons with.
_SIZE = (900.0, 580.0)


def draw_picture(session: Session, dossier: Dossier) -> tuple[MapPicture, Sequence[str]] | None:
    """The picture, and what stands at marks of several places; None where there is nothing to show."""
    marks = _marks(dossier)
    zones = shown_zones(zones_on_map(session))
    drawing = draw_map(marks, marks, _flows(dossier), zones, MapQuery(), _SIZE)
    if not marks or drawing is None:
        return None
    together = [
        f"{mark.count}: " + ", ".join(one.label for one in mark.members)
        for mark in drawing.marks
        if mark.count > 1
    ]
    return _picture(drawing), together


def _marks(dossier: Dossier) -> list[Mark]:
    asked = dossier.asked
    found = [
        Mark(MarkKind.SITE, one.id, one.code, one.name, "", one.latitude, one.longitude, one.elevation_m)
        for one in dossier.records.sites
    ]
    for one in dossier.records.stands:
        told = asked.place(one.latitude, one.longitude, sensitive=one.is_sensitive)
        found.append(
            Mark(MarkKind.POPULATION, one.id, one.code, one.name, "", told.latitude, told.longitude, None)
        )
    return found


def _flows(dossier: Dossier) -> list[Flow]:
    """Plants from stand to site: those that stand, else those sent, else those planned."""
    scope = dossier.scope
    plants: defaultdict[tuple[int, int], float] = defaultdict(float)
    if scope.site is not None:
        origins = next((scope.origins[one] for one in Basis if one in scope.origins), None)
        for one in origins.lots if origins else ():
            if one.collected and origins:
                plants[one.lot.population_id, scope.site.id] += one.share * origins.plants
    else:
        shares = {one.lot.population_id: one.share for one in scope.origins[Basis.LOT].lots if one.collected}
        for row in scope.planted or scope.sent or scope.planned:
            for stand, share in shares.items():
                plants[stand, row.site_id] += row.plants * share
    return [Flow(0, stand, site, 0, "", "", "", "", 0, count, 0.0) for (stand, site), count in plants.items()]


def _picture(drawing: Drawing) -> MapPicture:
    names = {
        "population": _("population"), "site": _("planting site"), "nursery": _("nursery"),
        "line": _("plants, by their number"), "region": _("region of provenance"), "basin": _("river basin"),
    }  # fmt: skip
    metres = drawing.bar_metres
    return MapPicture(
        *_SIZE,
        [
            MapArea("basin" if one.kind is ZoneKind.BASIN else "region", one.path, one.code, one.label, one.tint)
            for one in drawing.zones
        ],
        [MapLine(one.x1, one.y1, one.x2, one.y2, one.width) for one in drawing.lines],
        [
            MapMark(
                one.kind.value, one.x, one.y, one.count, one.text,
                (one.label.x, one.label.y, one.label.anchor) if one.label else None,
            )
            for one in drawing.marks
        ],
        [(_degrees(value, drawing.digits, _("E"), _("W")), x) for value, x in drawing.meridians],
        [(_degrees(value, drawing.digits, _("N"), _("S")), y) for value, y in drawing.parallels],
        _("%(length)s km", length=format_number(metres / 1000))
        if metres >= 1000
        else _("%(length)s m", length=format_number(metres)),
        drawing.bar_units,
        _("N"),
        names,
    )  # fmt: skip


def _degrees(value: float, digits: int, ahead: str, behind: str) -> str:
    return f"{abs(value):.{digits}f}° {ahead if value >= 0 else behind}"
