"""The home page."""

from __future__ import annotations

from flask import Blueprint, render_template

bp = Blueprint("season", __name__)


@bp.get("/")
def home() -> str:
    """The season at a glance."""
    return render_template("season/home.html", section="season")
