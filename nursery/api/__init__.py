"""The JSON API: the same services as the pages, under ``/api/v1``."""

from __future__ import annotations

from importlib import import_module

from flask import Flask

CAPABILITIES: tuple[str, ...] = ("calculators", "plans", "resources", "tables", "writes", "document")


def register(app: Flask) -> None:
    """Hang the API on the application."""
    for name in CAPABILITIES:
        app.register_blueprint(import_module(f"nursery.api.{name}").bp)
