"""The JSON API: the same services as the pages, under ``/api/v1``."""

from __future__ import annotations

from importlib import import_module

from flask import Flask, Response, request

from nursery.services.interface import PREFIX

CAPABILITIES: tuple[str, ...] = ("calculators", "plans", "resources", "tables", "writes", "document")


def register(app: Flask) -> None:
    """Hang the API on the application."""
    for name in CAPABILITIES:
        app.register_blueprint(import_module(f"nursery.api.{name}").bp)

    @app.after_request
    def name_file(response: Response) -> Response:
        """A browser saves what programs read, so that it is never shown as a page of ours."""
        if request.path.startswith(PREFIX):
            response.headers.setdefault("Content-Disposition", 'attachment; filename="api.json"')
        return response
