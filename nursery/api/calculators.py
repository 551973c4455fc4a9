"""Calculators over HTTP: 422 with a message for each wrong field, 404 for an unknown name, 400 for no JSON."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, jsonify, request
from flask.blueprints import BlueprintSetupState
from werkzeug.exceptions import BadRequest

from nursery.i18n import gettext as _
from nursery.services.calculators import CALCULATORS, calculate, find_calculator

bp = Blueprint("calculators_api", __name__, url_prefix="/api/v1/calculators")


@bp.get("")
def index() -> Response:
    """All calculators with their fields and results."""
    return jsonify({"calculators": [one.describe() for one in CALCULATORS.values()]})


@bp.get("/<name>")
def show(name: str) -> Response:
    """One calculator with its fields and results."""
    return jsonify(find_calculator(name).describe())


@bp.post("/<name>")
def run(name: str) -> Response:
    """The result for a JSON object of fields."""
    find_calculator(name)
    return jsonify(calculate(name, _payload()))


@bp.record_once
def open_without_token(state: BlueprintSetupState) -> None:
    """Calculators write nothing, so a post needs no CSRF token."""
    csrf = state.app.extensions.get("csrf")
    if csrf is not None:
        csrf.exempt(bp)


def _payload() -> Any:
    try:
        return request.get_json(force=True)
    except (BadRequest, RecursionError):
        raise BadRequest(_("The body is not JSON. Send one JSON object with the fields.")) from None
