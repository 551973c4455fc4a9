"""Plan lines on the page: badges, ranges and links in place of bare values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from flask import get_template_attribute, url_for
from markupsafe import Markup
from sqlalchemy import Row

from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.services.listing import Column
from nursery.services.planning.lines import Given, Number, chance_text
from nursery.services.planning.words import status_words
from nursery.services.seasons import season_name
from nursery.web.listing import ListView
from nursery.web.plans.blueprint import bp


@bp.app_template_global("plan_status")
def plan_status(status: LineStatus, seeds: int | None = None) -> str:
    """The badge of a line's status; of one that asks for no seed any more, that it grows."""
    label, tone = status_words(status, seeds)
    badge: str = get_template_attribute("components/status.html", "status")(tone, label)
    return badge


bp.add_app_template_filter(chance_text, "chance")


@bp.app_template_filter("iso_day")
def iso_day(text: str) -> str:
    """A day that was kept as text."""
    return format_date(dt.date.fromisoformat(text))


def dress(listed: ListView) -> ListView:
    """The list of lines with heads and cells as a reader wants them."""
    shown = [column for column, _text in listed.rows[0][1]] if listed.rows else []
    heads = [
        {**head, "label": str(_SHORT_HEADS.get(column.key, column.label))}
        for head, column in zip(listed.columns, shown, strict=False)
    ]
    rows = [(row, [(column, _cell(column, row, text)) for column, text in cells]) for row, cells in listed.rows]
    return replace(listed, columns=heads, rows=rows, key=(listed.key, "dressed"))


#: Heads on the page, where the file has room for more.
_SHORT_HEADS = {"site": _l("Site"), "seeds": _l("Seeds"), "expected": _l("Expected")}


def _cell(column: Column, row: Row[Any], text: str) -> str:
    write = _WRITERS.get(column.key)
    return write(row) if write else text


def _seeds(row: Row[Any]) -> str:
    seeds = format_number(row.seeds)
    if row.method != Method.CUTTINGS:
        return seeds
    return Markup('{}<br><span class="muted">{}</span>').format(seeds, _("cuttings"))


def _sowing(row: Row[Any]) -> Markup:
    """The sowing day, and the day on which work begins where that is earlier."""
    sow = Markup('<span class="nowrap">{}</span>').format(format_date(row.sow_on))
    if row.pretreat_on >= row.sow_on:
        return sow
    begin = _("begin %(day)s", day=format_date(row.pretreat_on))
    return sow + Markup('<br><span class="muted nowrap">{}</span>').format(begin)


def _planting(row: Row[Any]) -> Markup:
    """The planting day and its season."""
    return Markup('<span class="nowrap">{}</span><br><span class="muted nowrap">{}</span>').format(
        format_date(row.plant_on), season_name(row.season)
    )


def _expected(row: Row[Any]) -> Markup:
    return Markup('{}<br><span class="muted nowrap">{}–{}</span>').format(
        format_number(row.expected), format_number(row.p10), format_number(row.p90)
    )


_WRITERS: dict[str, Callable[[Row[Any]], str]] = {
    "status": lambda row: plan_status(row.status, row.seeds),
    "trays": lambda row: format_number(row.trays) if row.trays else "",
    "seeds": _seeds,
    "sow_on": _sowing,
    "plant_on": _planting,
    "expected": _expected,
    "probability": lambda row: chance_text(row.probability),
    "shortfall": lambda row: format_number(row.shortfall) if row.shortfall else "",
}


def joined(texts: Sequence[str]) -> str:
    """“3 lots, 1 target and the settings”."""
    *first, last = texts or [""]
    return _("%(first)s and %(last)s", first=", ".join(first), last=last) if first else last


@bp.app_template_filter("explain_arguments")
def explain_arguments(number: Number, species_key: str) -> dict[str, Any]:
    """Keyword arguments of the ``explained`` macro; an input that is a figure of the species leads to it."""
    return {
        "value": number.value,
        "title": number.title,
        "formula": number.formula,
        "source": number.source,
        "unit": number.unit,
        "inputs": [(_linked(given, species_key), given.value, given.source) for given in number.inputs],
    }


def _linked(given: Given, species_key: str) -> str:
    if not given.figure or not species_key:
        return given.label
    anchor = "figure-" + given.figure.replace(".", "-")
    url = url_for("species.detail", record_id=species_key, _anchor=anchor)
    return Markup('<a href="{}">{}</a>').format(url, given.label)
