"""Plans as JSON: the contract of ``nursery plan --json``, over HTTP."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from nursery.api.session import db
from nursery.services.planning import current_plan_as_data, get_plan, plan_as_data

bp = Blueprint("plans_api", __name__, url_prefix="/api/v1")


@bp.get("/plan")
def current() -> Response:
    """The plan that is worked by: the adopted one, else the newest; 404 while there is none."""
    return jsonify(current_plan_as_data(db()))


@bp.get("/plans/<int(max=2147483647):plan_id>")
def show(plan_id: int) -> Response:
    """One plan."""
    return jsonify(plan_as_data(db(), get_plan(db(), plan_id)))
