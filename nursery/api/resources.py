"""The lists: a page of rows, and one row by its number."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Blueprint, Response, jsonify

from nursery.api.acting import today
from nursery.api.body import asked
from nursery.api.operations import Operation, Schema, described
from nursery.api.session import db
from nursery.i18n import gettext as _
from nursery.services.interface import PREFIX
from nursery.services.interface.resources import MOST, RESOURCES, SIZE, Resource
from nursery.services.interface.rows import ARCHIVED, LONGEST, list_rows, one_row, sorts
from nursery.services.interface.schemas import choices_of, row_schema
from nursery.services.listing import whole

bp = Blueprint("resources_api", __name__, url_prefix=PREFIX)
ID = "<int(max=2147483647):record_id>"


def _list(resource: Resource) -> Callable[..., Any]:
    def view() -> Response:
        return jsonify(list_rows(db(), resource, asked(), today=today()))

    return described(view, Operation(
        resource.title, resource.name, lambda: _page_schema(resource), resource.about,
        parameters=lambda: _parameters(resource), refusals=(422,),
    ))  # fmt: skip


def _one(resource: Resource) -> Callable[..., Any]:
    def view(record_id: int) -> Response:
        return jsonify(one_row(db(), resource, record_id, today=today()))

    return described(view, Operation(
        resource.title, resource.name, lambda: row_schema(resource, resource.listing(today())), resource.about,
        refusals=(404,),
    ))  # fmt: skip


def _page_schema(resource: Resource) -> Schema:
    return {
        "type": "object",
        "properties": {
            "items": {"type": "array", "items": row_schema(resource, resource.listing(today()))},
            "total": {
                "type": ["integer", "null"],
                "title": _("Rows in all; null where too many to count"),
            },
            "after": {"type": ["string", "null"], "title": _("Ask for the next page with it; null on the last")},
        },
        "required": ["items", "total", "after"],
    }


def _parameters(resource: Resource) -> dict[str, Schema]:
    listing = resource.listing(today())
    asked_for: dict[str, Schema] = {
        "q": {"type": "string", "maxLength": LONGEST, "title": _("Search")},
        "sort": {"type": "string", "enum": sorts(listing), "title": _("Sorted by; a minus turns it round")},
        "after": {"type": "string", "title": _("Where the next page begins, as the page before gave it")},
        "size": {"type": "integer", "minimum": 1, "maximum": MOST, "default": SIZE, "title": _("Rows of a page")},
    }
    if listing.archives:
        asked_for["archived"] = {"type": "string", "enum": list(ARCHIVED), "title": _("Records put aside")}
    for each in listing.filters:
        kind: Schema = {"type": "integer"} if each.parse is whole else {"type": "string"}
        words = choices_of(each.parse)
        asked_for[each.key] = {**kind, **({"enum": words} if words else {}), "title": str(each.label)}
    return asked_for


for _resource in RESOURCES.values():
    bp.add_url_rule(f"/{_resource.name}", f"{_resource.name}_list", _list(_resource))
    bp.add_url_rule(f"/{_resource.name}/{ID}", f"{_resource.name}_one", _one(_resource))
