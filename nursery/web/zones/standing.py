"""What the map says, for the pages, lists and forms of populations and sites."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import request, url_for

from nursery.i18n import gettext as _
from nursery.models import Population, Site
from nursery.services.climates import normals_of
from nursery.services.zones import own_regions, place_records, said, tone
from nursery.services.zones.placing import FIELDS
from nursery.services.zones.words import KIND_LABELS
from nursery.web.listing import ListView
from nursery.web.session import db

#: Doublings of the scale at which a single place is shown.
_CLOSE = 3


def place_context(row: Population | Site) -> Mapping[str, Any]:
    """Names for the cards "On the map" and "Climate" of a record's page."""
    return {
        "on_map": place_records(db(), type(row), [row.id])[row.id],
        "normals": normals_of(db(), row),
        "own_regions": own_regions(db(), [row.id])[row.id] if isinstance(row, Site) else {},
        "map_said": said,
        "map_tone": tone,
        "map_url": url_for("map.page", lat=row.latitude, lon=row.longitude, zoom=_CLOSE, _anchor="map"),
    }


def population_list(listed: ListView) -> Mapping[str, Any]:
    """Names for the list of populations."""
    return _list_context(Population, listed)


def site_list(listed: ListView) -> Mapping[str, Any]:
    """Names for the list of sites."""
    return _list_context(Site, listed)


def map_remarks(row: Population | Site) -> list[tuple[str, str]]:
    """After saving: what the map filled in, and where it says otherwise."""
    told = []
    for kind, placement in place_records(db(), type(row), [row.id])[row.id].items():
        field = FIELDS[kind]
        if getattr(row, field) and field in request.form and not request.form[field].strip():
            told.append(
                (
                    _(
                        "%(what)s: %(code)s was filled in from the map.",
                        what=str(KIND_LABELS[kind]),
                        code=getattr(row, field),
                    ),
                    "info",
                )
            )
        elif placement.is_mapped and placement.standing in {"differs", "offered", "unverified"}:
            told.append((f"{KIND_LABELS[kind]}: {said(placement)}", "caution"))
    return told


def _list_context(model: type[Population] | type[Site], listed: ListView) -> Mapping[str, Any]:
    ids = [row.id for row, _cells in listed.rows]
    return {"on_map": place_records(db(), model, ids), "map_said": said, "map_tone": tone}
