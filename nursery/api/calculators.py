"""Calculators over HTTP: 422 with a message for each wrong field, 404 for an unknown name, 400 for no JSON.

Each calculator has an address of its own, so that the published description tells the fields of each.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, Response, jsonify
from flask.blueprints import BlueprintSetupState

from nursery.api.body import sent
from nursery.api.operations import Operation, described
from nursery.i18n import lazy as _l
from nursery.services.calculators import CALCULATORS, calculate, find_calculator
from nursery.services.calculators.calculator import Calculator
from nursery.services.interface import PREFIX
from nursery.services.interface.schemas import fields_schema, results_schema

bp = Blueprint("calculators_api", __name__, url_prefix=f"{PREFIX}/calculators")
_TAG = "calculators"


def index() -> Response:
    """All calculators with their fields and results."""
    return jsonify({"calculators": [one.describe() for one in CALCULATORS.values()]})


def show(name: str) -> Response:
    """One calculator with its fields and results."""
    return jsonify(find_calculator(name).describe())


def run_unknown(name: str) -> Response:
    """Not found, with the near names: those that exist have addresses of their own."""
    return jsonify(calculate(name, sent()))


def _run(calculator: Calculator) -> Callable[..., Any]:
    def view() -> Response:
        return jsonify(calculate(calculator.name, sent()))

    return described(view, Operation(
        calculator.title, _TAG, lambda: results_schema(calculator.results), calculator.question,
        body=lambda: fields_schema(calculator.fields), refusals=(400, 413, 422), example=calculator.example,
    ))  # fmt: skip


_DESCRIPTION = {"type": "object", "required": ["name", "title", "fields", "results"]}
bp.add_url_rule("", "index", described(index, Operation(
    _l("All calculators"), _TAG,
    lambda: {
        "type": "object", "required": ["calculators"],
        "properties": {"calculators": {"type": "array", "items": _DESCRIPTION}},
    },
)))  # fmt: skip
bp.add_url_rule("/<name>", "show", described(show, Operation(
    _l("One calculator"), _TAG, lambda: _DESCRIPTION, refusals=(404,),
)))  # fmt: skip
bp.add_url_rule("/<name>", "run", described(run_unknown, Operation(
    _l("Run a calculator"), _TAG, lambda: {"type": "object"}, body=lambda: {"type": "object"},
    refusals=(400, 404, 413, 422),
)), methods=["POST"])  # fmt: skip
for _calculator in CALCULATORS.values():
    bp.add_url_rule(
        f"/{_calculator.name}", f"run_{_calculator.name.replace('-', '_')}", _run(_calculator), methods=["POST"]
    )


@bp.record_once
def open_without_token(state: BlueprintSetupState) -> None:
    """Calculators write nothing, so a post needs no CSRF token."""
    csrf = state.app.extensions.get("csrf")
    if csrf is not None:
        csrf.exempt(bp)
