"""Figures that no list of records holds: species, ready stock, forecast."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, Response, jsonify

from nursery.api.acting import today
from nursery.api.body import asked
from nursery.api.operations import Operation, Schema, described
from nursery.api.session import db
from nursery.services.interface import PREFIX
from nursery.services.interface.schemas import fields_schema, results_schema
from nursery.services.interface.tables import TABLES, Table

bp = Blueprint("tables_api", __name__, url_prefix=PREFIX)


def _rows(table: Table) -> Callable[..., Any]:
    def view() -> Response:
        return jsonify(table.read(db(), asked(), today=today()))

    return described(view, Operation(
        table.title, table.name, lambda: _answer(table), table.about,
        parameters=lambda: fields_schema(table.fields)["properties"], refusals=(422,),
    ))  # fmt: skip


def _answer(table: Table) -> Schema:
    items = {"type": "array", "items": results_schema(table.columns)}
    return {"type": "object", "properties": {"items": items}, "required": ["items"]}


for _table in TABLES.values():
    bp.add_url_rule(f"/{_table.name}", f"{_table.name}_list", _rows(_table))
