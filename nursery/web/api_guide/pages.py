"""The page that explains the API in plain words, made from what the API itself is made from."""

from __future__ import annotations

import json
from typing import Any

from flask import Blueprint, render_template

from nursery.services.interface import PREFIX
from nursery.services.interface.asking import PLANTS
from nursery.services.interface.explaining import explain_field, explain_listing, explain_results
from nursery.services.interface.resources import MOST, RESOURCES, SIZE
from nursery.services.interface.tables import TABLES
from nursery.services.interface.writes import WRITES
from nursery.web.session import today

bp = Blueprint("api_guide", __name__)


@bp.get("/api")
def page() -> str:
    """What can be read, what can be written, how to ask, and what is left out."""
    return render_template(
        "api_guide/page.html",
        section="settings",
        at=_addresses(),
        reads=_reads(),
        writes=_writes(),
        refusal=json.dumps({"errors": {"plants": PLANTS.refusal(0)}}, ensure_ascii=False),
        size=SIZE,
        most=MOST,
    )


def _addresses() -> dict[str, str]:
    ends = {"example": "lots?size=3", "one": "lots/12", "document": "openapi.json"}
    return {name: f"{PREFIX}/{ends.get(name, name)}" for name in (*ends, "plan", "calculators")}


def _reads() -> list[dict[str, Any]]:
    lists = [
        {"name": one.name, "path": f"{PREFIX}/{one.name}", "title": one.title, "about": one.about, "is_list": True,
         **explain_listing(one.listing(today()), one.more)}
        for one in RESOURCES.values()
    ]  # fmt: skip
    tables = [
        {"name": one.name, "path": f"{PREFIX}/{one.name}", "title": one.title, "about": one.about,
         "is_list": False,
         "columns": explain_results(one.columns), "asked": [explain_field(field) for field in one.fields]}
        for one in TABLES.values()
    ]  # fmt: skip
    return sorted([*lists, *tables], key=lambda one: str(one["title"]).casefold())


def _writes() -> list[dict[str, Any]]:
    return [
        {"call": f"POST {PREFIX}/{one.of}/{{id}}/{one.name}", "id": f"{one.of}-{one.name}", "title": one.title,
         "about": one.about, "fields": [explain_field(field) for field in one.fields],
         "results": explain_results(one.results)}
        for one in WRITES.values()
    ]  # fmt: skip
