"""The pages. Each capability is a small package or module with its blueprint; this file lists them."""

from __future__ import annotations

from importlib import import_module

from flask import Flask

CAPABILITIES = (
    "language",
    "sign_in",
    "account",
    "accounts",
    "changes",
    "season",
    "sowing",
    "calendar",
    "work",
    "people",
    "feeds",
    "species",
    "populations",
    "trips",
    "permits",
    "attachments",
    "storage",
    "lots",
    "watch",
    "sites",
    "nurseries",
    "containers",
    "batches",
    "benches",
    "space",
    "supplies",
    "forecast",
    "targets",
    "plans",
    "hours",
    "standard_times",
    "costs",
    "expenses",
    "what_if",
    "settings",
    "search",
    "imports",
    "needs",
    "programme",
    "ready",
    "next_year",
    "stock",
    "trace",
    "dossiers",
    "plantings",
    "surveys",
    "plots",
    "dispatches",
    "recipients",
    "quality",
    "origin",
    "calculators",
    "zones",
    "climates",
    "map",
    "health",
    "scoutings",
    "treatments",
    "season_reports",
    "deviations",
    "papers",
    "movement_book",
    "declaration",
    "api_guide",
)


def register(app: Flask) -> None:
    """Hang everything on the application."""
    from nursery.web import (  # noqa: PLC0415 -- flask_wtf only when serving
        access,
        errors,
        filters,
        frame,
        language,
        offers,
        once,
        outage,
        security,
        session,
    )

    once.register(app)
    session.register(app)
    security.register(app)
    errors.register(app)
    outage.register(app)
    filters.register(app)
    frame.register(app)
    app.before_request(language.choose)
    access.register(app)
    offers.register(app)
    for name in CAPABILITIES:
        app.register_blueprint(import_module(f"nursery.web.{name}").bp)
