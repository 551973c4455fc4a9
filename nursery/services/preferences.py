"""The nursery's own defaults: assurance, spare trays, costs that settle seeds per cell, wages and overhead."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import is_currency
from nursery.models import Preferences
from nursery.services import auditing, checking, limits
from nursery.services.contrast import colour_refusal
from nursery.services.countries import refuse_country
from nursery.services.limits import Bounds

#: Common practice: a tray of seed costs money, never a fortune.
COST = Bounds(0, 1_000)
#: In whatever currency: no hour costs a million.
WAGE = Bounds(0, 1_000_000)
#: Letters of the opening and the closing words of a report: a page of them.
MOST_WORDS = 4_000
#: Passports ask for three years at least (Regulation (EU) 2016/2031 art. 69, the number from memory).
RECORDS_YEARS = Bounds(3, 100)
BOUNDS = {
    "assurance": limits.CHANCE,
    "spare_trays": Bounds(0, 1_000),
    "cost_seed": COST,
    "cost_thin": COST,
    "cost_cell": COST,
    "wage_per_hour": WAGE,
    "volunteer_per_hour": WAGE,
    "overhead": Bounds(0, 1),
    "records_years": RECORDS_YEARS,
}


def read_preferences(session: Session) -> Preferences:
    """The one row; a new database gets it with the defaults."""
    row = session.get(Preferences, 1)
    if row is None:
        row = Preferences()
        session.add(row)
        session.flush()
    return row


def change_preferences(session: Session, actor: str, *, values: Mapping[str, Any]) -> Preferences:
    """Change any of them; the next plan uses them, plans made before stay as they are."""
    lacking = {name: _("Fill this in.") for name in BOUNDS if name in values and values[name] is None}
    refused = lacking | checking.beyond(values, BOUNDS)
    if "currency" in values and not is_currency(values["currency"]):
        refused["currency"] = _(
            "“%(code)s” is no currency. Write its three letters, such as EUR, GBP or USD.", code=values["currency"]
        )
    refused |= _report_refused(values) | refuse_country(values)
    if refused:
        raise Invalid(refused)
    row = read_preferences(session)
    for name, value in values.items():
        if getattr(row, name) != value:
            setattr(row, name, value)
    if auditing.changed_fields(row):
        auditing.record(session, actor, action="changed", row=row)
    return row


def _report_refused(values: Mapping[str, Any]) -> dict[str, str]:
    """Words that would fill pages, and a colour that cannot be read."""
    refused = {
        name: _("This text has more than %(most)s letters. Shorten it.", most=MOST_WORDS)
        for name in ("report_opening", "report_closing")
        if len(values.get(name) or "") > MOST_WORDS
    }
    if told := colour_refusal(values.get("report_colour") or ""):
        refused["report_colour"] = told
    return refused
