"""The blueprint that the views share."""

from flask import Blueprint

bp = Blueprint("season_reports", __name__, url_prefix="/season-reports")
