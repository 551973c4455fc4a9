"""The published description: OpenAPI 3.1, made from the routes and from what is said beside each view."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from flask import Blueprint, Flask, Response, current_app, jsonify
from werkzeug.routing import Rule

import nursery
from nursery.api.operations import Operation, Schema, described
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.interface import PREFIX

bp = Blueprint("document_api", __name__, url_prefix=PREFIX)
JSON = "application/json"
#: A part of an address: its kind, the highest number, and its name.
_PART = re.compile(r"<(?:(int)\(max=(\d+)\):)?(\w+)>")
_REFUSALS = {
    400: _l("The body is not JSON."),
    401: _l("Nobody is signed in, and no token came along."),
    403: _l("Not allowed: the account or the token does not reach so far."),
    404: _l("There is no such record."),
    409: _l("The record changed meanwhile; read it again."),
    413: _l("The body is too large."),
    415: _l("The body does not say that it is JSON."),
    422: _l("A value was refused; the errors name each with its remedy."),
}


def show() -> Response:
    """The description."""
    return jsonify(describe(current_app))


bp.add_url_rule("/openapi.json", "show", described(show, Operation(
    _l("This description"), "description",
    lambda: {"type": "object", "required": ["openapi", "info", "paths"]}, is_open=True,
)))  # fmt: skip


def describe(app: Flask) -> Schema:
    """The whole document, in the language now in force."""
    paths: dict[str, Any] = {}
    for rule, method, operation in operations(app):
        path, parameters = _path(rule)
        paths.setdefault(path, {})[method.lower()] = _operation(rule, operation, parameters)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": _("Native nursery planner"),
            "version": nursery.__version__,
            "description": _(
                "The lists of the pages, without names of people, remarks and exact places of sensitive stands,"
                " and a few acts. Masses are in grams, days are ISO 8601, shares of the whole are 0 to 1."
            ),
        },
        "paths": dict(sorted(paths.items())),
        "components": {
            "schemas": {"Errors": _errors_schema()},
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
    }


def operations(app: Flask) -> Iterator[tuple[Rule, str, Operation]]:
    """Every address and method of the API; one that does not say what it is for is an error."""
    for rule in app.url_map.iter_rules():
        if rule.rule.startswith(f"{PREFIX}/"):
            for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
                view: Any = app.view_functions[rule.endpoint]
                yield rule, method, view.operation


def _path(rule: Rule) -> tuple[str, list[Schema]]:
    """The address with its parts in braces, and what each part holds."""
    parameters: list[Schema] = []
    for kind, most, name in _PART.findall(rule.rule):
        schema: Schema = {"type": "string", "minLength": 1}
        if kind == "int":
            schema = {"type": "integer", "minimum": 0, "maximum": int(most)}
        parameters.append({"name": name, "in": "path", "required": True, "schema": schema})
    return _PART.sub(r"{\3}", rule.rule), parameters


def _operation(rule: Rule, operation: Operation, parameters: list[Schema]) -> Schema:
    asked = [
        {"name": name, "in": "query", "schema": schema, "description": str(schema.get("title", ""))}
        for name, schema in operation.parameters().items()
    ]
    closed = () if operation.is_open else (401, 403)
    typed = () if operation.body is None else (415,)
    told: Schema = {
        "operationId": rule.endpoint.replace("_api.", "_"),
        "summary": str(operation.title),
        "description": str(operation.about),
        "tags": [operation.tag],
        "parameters": [*parameters, *asked],
        "responses": {
            str(operation.status): _answer(_("Done as asked."), operation.answer()),
            **{str(status): _refusal(status) for status in sorted({*operation.refusals, *closed, *typed})},
        },
    }
    if operation.body is not None:
        content: Schema = {"schema": operation.body()}
        if operation.example:
            content["example"] = dict(operation.example)
        told["requestBody"] = {"required": True, "content": {JSON: content}}
    if not operation.is_open:
        told["security"] = [{"token": []}]
    return told


def _answer(words: str, schema: Schema) -> Schema:
    return {"description": words, "content": {JSON: {"schema": schema}}}


def _refusal(status: int) -> Schema:
    return _answer(str(_REFUSALS[status]), {"$ref": "#/components/schemas/Errors"})


def _errors_schema() -> Schema:
    return {
        "type": "object",
        "title": _("What was refused, by field, with its remedy"),
        "properties": {
            "errors": {"type": "object", "additionalProperties": {"type": "string"}, "minProperties": 1}
        },
        "required": ["errors"],
    }
