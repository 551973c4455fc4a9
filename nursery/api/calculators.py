"""Calculators over HTTP. They read and write nothing, so they need neither a person nor a CSRF token."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, jsonify, request
from werkzeug.exceptions import BadRequest

from nursery.errors import Invalid, NotFound
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


@bp.errorhandler(Invalid)
def refuse(error: Invalid) -> tuple[Response, int]:
    """422 with a message for each field."""
    return jsonify({"errors": error.errors}), 422


@bp.errorhandler(NotFound)
def miss(error: NotFound) -> tuple[Response, int]:
    """404 that names the known calculators."""
    return jsonify({"errors": {"calculator": str(error)}}), 404


@bp.errorhandler(BadRequest)
def reject(error: BadRequest) -> tuple[Response, int]:
    """400 for a body that is not JSON."""
    return jsonify({"errors": {"input": error.description}}), 400


def _payload() -> Any:
    try:
        return request.get_json(force=True)
    except (BadRequest, RecursionError):
        raise BadRequest(_("The body is not JSON. Send one JSON object with the fields.")) from None
