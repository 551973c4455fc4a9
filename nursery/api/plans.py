"""Plans as JSON: the contract of ``nursery plan --json`` over HTTP, without names of people."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from nursery.api.operations import Operation, Schema, described
from nursery.api.session import db
from nursery.i18n import lazy as _l
from nursery.services.interface import PREFIX
from nursery.services.interface.discretion import without_people
from nursery.services.planning import current_plan_as_data, get_plan, plan_as_data

bp = Blueprint("plans_api", __name__, url_prefix=PREFIX)


def current() -> Response:
    """The plan that is worked by: the adopted one, else the newest; 404 while there is none."""
    return jsonify(without_people(current_plan_as_data(db())))


def show(plan_id: int) -> Response:
    """One plan."""
    return jsonify(without_people(plan_as_data(db(), get_plan(db(), plan_id))))


def _schema() -> Schema:
    lists = {name: {"type": "array", "items": {"type": "object"}} for name in ("lines", "lots", "collect")}
    return {
        "type": "object", "properties": {"plan": {"type": "object"}, **lists}, "required": ["plan", *lists],
    }  # fmt: skip


bp.add_url_rule("/plan", "current", described(current, Operation(
    _l("The plan that is worked by"), "plans", _schema,
    _l("Its lines, what it takes of each lot, and what is still to be collected."), refusals=(404,),
)))  # fmt: skip
bp.add_url_rule("/plans/<int(max=2147483647):plan_id>", "show", described(show, Operation(
    _l("One plan"), "plans", _schema, _l("As the plan that is worked by, by its number."), refusals=(404,),
)))  # fmt: skip
