"""What the address asks of the map, and addresses of other windows on it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from flask import request, url_for
from werkzeug.datastructures import MultiDict

from nursery.services.listing import whole
from nursery.services.map import Drawing, MapQuery
from nursery.services.map.query import MOST_ZOOM

#: Share of the sheet by which one press moves it.
_STEP = 0.35


def read_map_query(args: MultiDict[str, str]) -> MapQuery:
    """The question; nonsense in any part counts as not asked."""
    latitude, longitude = _number(args, "lat", 90), _number(args, "lon", 180)
    zoom = _number(args, "zoom", MOST_ZOOM)
    try:
        season = whole(args["season"]) if args.get("season") else None
    except ValueError:
        season = None
    return MapQuery(
        latitude=latitude if longitude is not None else None,
        longitude=longitude if latitude is not None else None,
        zoom=max(zoom or 0.0, 0.0),
        species=_text(args, "species"),
        season=season,
        site=_text(args, "site"),
        lot=_text(args, "lot"),
    )


def filters_of(query: MapQuery) -> dict[str, str]:
    """The part of the address that narrows the lines."""
    found = {"species": query.species, "season": query.season, "site": query.site, "lot": query.lot}
    return {name: str(value) for name, value in found.items() if value not in (None, "")}


def window(query: MapQuery) -> dict[str, Any]:
    """The part of the address that says what is seen."""
    if query.latitude is None or query.longitude is None:
        return {"zoom": f"{query.zoom:g}"} if query.zoom else {}
    return {"lat": f"{query.latitude:.6f}", "lon": f"{query.longitude:.6f}", "zoom": f"{query.zoom:g}"}


def address(query: MapQuery, anchor: str = "map") -> str:
    """The address of a window on the map."""
    asked: dict[str, Any] = {**window(query), **filters_of(query)}
    return url_for("map.page", _anchor=anchor, **asked)


def moves(drawing: Drawing, query: MapQuery) -> dict[str, str]:
    """Addresses of the windows around this one, by what the buttons are called."""
    sheet, zoom = drawing.sheet, drawing.zoom
    here = replace(query, latitude=sheet.latitude, longitude=sheet.longitude, zoom=zoom)

    def moved(right: float, down: float) -> str:
        to = sheet.moved(right * _STEP, down * _STEP)
        return address(replace(here, latitude=to.latitude, longitude=to.longitude))

    return {
        "in": address(replace(here, zoom=min(zoom + 1, MOST_ZOOM))),
        "out": address(replace(here, zoom=zoom - 1)) if zoom >= 1 else address(_whole(query)),
        "whole": address(_whole(query)),
        "west": moved(-1, 0),
        "east": moved(1, 0),
        "north": moved(0, -1),
        "south": moved(0, 1),
    }


def closer(drawing: Drawing, query: MapQuery, latitude: float, longitude: float) -> str:
    """The window around a mark that stands for several places, or their list where no zoom parts them."""
    if drawing.zoom >= MOST_ZOOM:
        return address(query, "map-facts")
    zoom = min(math.floor(drawing.zoom) + 2.0, MOST_ZOOM)
    return address(replace(query, latitude=latitude, longitude=longitude, zoom=zoom))


def _whole(query: MapQuery) -> MapQuery:
    return replace(query, latitude=None, longitude=None, zoom=0.0)


def _number(args: MultiDict[str, str], name: str, most: float) -> float | None:
    try:
        value = float(args.get(name, ""))
    except ValueError:
        return None
    return value if math.isfinite(value) and abs(value) <= most else None


def _text(args: MultiDict[str, str], name: str) -> str:
    return args.get(name, "").replace("\0", "").strip()[:120]


def page_number(name: str) -> int:
    """Which page of a table is asked for, from 1."""
    text = request.args.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and 0 < len(text) < 7 and int(text) else 1
