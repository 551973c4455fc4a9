"""Where the pages of surveys hang."""

from __future__ import annotations

from flask import Blueprint

bp = Blueprint("surveys", __name__)
