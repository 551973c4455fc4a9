"""The facts of the map as pages of tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from flask import url_for

from nursery.services.map import MapQuery
from nursery.web.map.asking import filters_of, page_number, window

ROWS = 50


@dataclass(frozen=True, slots=True)
class Portion:
    """One page of a table, with the addresses of its neighbours."""

    rows: Sequence[Any]
    total: int
    previous_url: str
    next_url: str
    #: Position of the first row among all.
    start: int = 0


def portion(name: str, rows: Sequence[Any], query: MapQuery) -> Portion:
    """The page of the table that the address asks for; its place in the address is the table's name."""
    last = max(1, -(-len(rows) // ROWS))
    at = min(page_number(name), last)

    def to(page: int) -> str:
        if not 1 <= page <= last:
            return ""
        asked = {**window(query), **filters_of(query), name: page}
        return url_for("map.page", _anchor=f"map-{name}", **asked)

    return Portion(rows[(at - 1) * ROWS : at * ROWS], len(rows), to(at - 1), to(at + 1), (at - 1) * ROWS)


def row_address(name: str, position: int, shown: Portion, query: MapQuery) -> str:
    """Where a row stands: on the page that is shown, or on another one of the table."""
    anchor = f"{name}-{position}"
    if shown.start <= position < shown.start + len(shown.rows):
        return f"#{anchor}"
    asked = {**window(query), **filters_of(query), name: position // ROWS + 1}
    return url_for("map.page", _anchor=anchor, **asked)
