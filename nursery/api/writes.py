"""Acts that are written from a telephone or a sheet: a count, a loss, a germination test, a task done.

``guard`` runs before each of them in place of the check of all forms: it asks for a form's token unless the call
carries a token of its own. A page elsewhere can make a browser post, but not with that.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, Response, current_app, g, jsonify
from flask.blueprints import BlueprintSetupState

from nursery.api.acting import actor, today
from nursery.api.body import sent
from nursery.api.operations import Operation, described
from nursery.api.session import db
from nursery.services.interface import PREFIX
from nursery.services.interface.schemas import fields_schema, results_schema
from nursery.services.interface.writes import WRITES, Write

bp = Blueprint("writes_api", __name__, url_prefix=PREFIX)
ID = "<int(max=2147483647):record_id>"


@bp.before_request
def guard() -> None:
    """A call with a token needs no form's token; any other is a browser's, and does."""
    csrf = current_app.extensions.get("csrf")
    if csrf is not None and not bears_token() and current_app.config.get("WTF_CSRF_ENABLED", True):
        csrf.protect()


def bears_token() -> bool:
    """Whether this call was let in by a token of its own, which whoever reads tokens says in ``g.api_token``."""
    return g.get("api_token") is not None


@bp.record_once
def guard_alone(state: BlueprintSetupState) -> None:
    """The check of all forms leaves these calls to ``guard``."""
    csrf = state.app.extensions.get("csrf")
    if csrf is not None:
        csrf.exempt(bp)


def _act(write: Write) -> Callable[..., Any]:
    def view(record_id: int) -> tuple[Response, int]:
        return jsonify(write.write(db(), actor(), record_id, sent(), today=today())), 201

    return described(view, Operation(
        write.title, write.of, lambda: results_schema(write.results), write.about,
        body=lambda: fields_schema(write.fields), status=201, refusals=(400, 404, 409, 413, 422),
    ))  # fmt: skip


for _write in WRITES.values():
    bp.add_url_rule(
        f"/{_write.of}/{ID}/{_write.name}", f"{_write.of}_{_write.name.replace('-', '_')}", _act(_write),
        methods=["POST"],
    )  # fmt: skip
