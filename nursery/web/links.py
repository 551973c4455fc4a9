"""Addresses of pages of other capabilities; a page that is not built has none."""

from __future__ import annotations

from flask import current_app, url_for


def address(endpoint: str, **values: object) -> str:
    """The page's address; empty while the application has no such page."""
    if endpoint not in current_app.view_functions:
        return ""
    return url_for(endpoint, **values)  # type: ignore[arg-type]


def line_address(line_id: int) -> str:
    """The page that explains one line of a plan."""
    return address("plans.line", record_id=line_id)
