"""The pages of deviations, and what the records suggest to write down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from flask import render_template, request, url_for
from sqlalchemy.orm import joinedload

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Deviation
from nursery.services.deviations import LISTING, Suggestion, change_deviation, create_deviation, suggest
from nursery.services.season_report import last_season
from nursery.services.seasons import season_name
from nursery.web.deviations.forms import DeviationForm
from nursery.web.forms import RecordForm
from nursery.web.listing import ListView
from nursery.web.records import RecordPages, Words, build
from nursery.web.session import db, today

KIND_LABELS = {
    "target": _l("Target missed by more than a tenth"),
    "batch": _l("Half a batch or more lost"),
    "load": _l("Plants missing from a load"),
    "override": _l("A rule overridden"),
}


def _facts(row: Deviation, _form: RecordForm) -> Sequence[tuple[Any, ...]]:
    return [
        (_("What happened"), row.what),
        (_("Season"), season_name(row.season)),
        (_("Day"), format_date(row.happened_on)),
        (_("Site"), row.site.name if row.site else _("the whole season")),
        (_("Why"), row.why),
        (_("What was done"), row.action),
        (_("Notes"), row.notes),
    ]


def _initial() -> Mapping[str, Any]:
    """The last season that is over, or what a suggestion brings along; saving is what writes it down."""
    asked = request.args
    values: dict[str, Any] = {"season": _whole("season") or last_season(today()), "happened_on": _day() or today()}
    if site_id := _whole("site_id"):
        values["site_id"] = site_id
    return values | {name: asked[name][:1000] for name in ("what", "why", "action") if asked.get(name)}


def _whole(name: str) -> int | None:
    text = request.args.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def _day() -> dt.date | None:
    try:
        return dt.date.fromisoformat(request.args.get("happened_on", ""))
    except ValueError:
        return None


def _list_context(_listed: ListView) -> Mapping[str, Any]:
    return {"season": last_season(today())}


PAGES = RecordPages(
    name="deviations",
    section="report",
    model=Deviation,
    listing=LISTING,
    form=DeviationForm,
    create=create_deviation,
    change=change_deviation,
    title=lambda row: row.what if len(row.what) <= 80 else f"{row.what[:79]}…",
    options=(joinedload(Deviation.site),),
    facts=_facts,
    initial=_initial,
    list_template="deviations/list.html",
    list_context=_list_context,
    words=Words(
        list_title=_l("Deviations"),
        list_lead=_l(
            "What went otherwise than planned, why, and what was done. It stands on the season's report."
        ),
        new_title=_l("New deviation"),
        new_button=_l("New deviation"),
        noun=_l("Deviation"),
        empty_title=_l("No deviation is written down"),
        empty_text=_l(
            "Funders ask what went otherwise and what was done about it. Write it down when it happens, or look at"
            " what the records suggest."
        ),
        archive_text=_l("The deviation leaves the lists and later reports. Its history stays."),
    ),
)
bp = build(PAGES)


@bp.get("/deviations/suggested")
def suggested() -> str:
    """What the records show of a season and no log tells yet."""
    season = _whole("season") or last_season(today())
    found = suggest(db(), season=season, today=today())
    return render_template(
        "deviations/suggested.html",
        section="report",
        season=season,
        suggestions=[(one, KIND_LABELS[one.kind], _address(one, season)) for one in found],
    )


def _address(one: Suggestion, season: int) -> str:
    """The form with the suggestion in it."""
    return url_for(
        ".new", season=season, happened_on=one.day.isoformat(), site_id=one.site_id, what=one.what,
        why=one.why or None, action=one.action or None,
    )  # fmt: skip
