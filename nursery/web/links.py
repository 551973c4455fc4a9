"""Addresses of pages of other capabilities; a page that is not built has none."""

from __future__ import annotations

from flask import current_app, request, url_for


def address(endpoint: str, **values: object) -> str:
    """The page's address; empty while the application has no such page."""
    if endpoint not in current_app.view_functions:
        return ""
    return url_for(endpoint, **values)  # type: ignore[arg-type]


def own_address() -> str:
    """Where others find us: as set; else this machine, by whichever of its names it was asked for."""
    return current_app.config["NURSERY"].address or request.url_root.rstrip("/")


def whole_address(endpoint: str, **values: object) -> str:
    """A page's address for whoever is not on our pages: in a message, a calendar, a code on a label."""
    path = url_for(endpoint, **values)  # type: ignore[arg-type]
    return own_address() + path.removeprefix(request.script_root)


def line_address(line_id: int) -> str:
    """The page that explains one line of a plan."""
    return address("plans.line", record_id=line_id)
