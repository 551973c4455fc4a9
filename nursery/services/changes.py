"""The record of changes as a list: who did what, when, to what and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import String, cast, func, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.i18n import month_name
from nursery.models import Change
from nursery.services.listing import Column, Filter, Listing, choice_options

#: What each action is called; one that is not here is shown as it is kept.
ACTIONS = {
    "created": _l("Written down"),
    "changed": _l("Changed"),
    "archived": _l("Archived"),
    "restored": _l("Brought back"),
    "imported": _l("Imported"),
    "moved": _l("Amount changed"),
    "checked": _l("Checked against the permits"),
    "held": _l("Put on hold"),
    "released": _l("Released"),
    "reported": _l("Reported to the authority"),
    "notice given": _l("Authority told beforehand"),
    "line": _l("Species changed"),
    "tested": _l("Seed tested"),
    "test withdrawn": _l("Test withdrawn"),
    "attached": _l("File attached"),
    "detached": _l("File put aside"),
    "bags": _l("Bags written down"),
    "new version": _l("New version"),
    "counted": _l("Counted"),
    "count withdrawn": _l("Count withdrawn"),
    "placed": _l("Trays moved"),
    "quarantined": _l("Put in quarantine"),
    "quarantine lifted": _l("Quarantine lifted"),
    "closed": _l("Closed"),
    "reopened": _l("Opened again"),
    "new feed address": _l("New calendar address"),
    "tasks updated": _l("Tasks brought up to date"),
    "load line": _l("Lines changed"),
    "load order": _l("Order of loading changed"),
    "load sent": _l("Sent"),
    "load received": _l("Taken over"),
    "load cancelled": _l("Cancelled"),
    "load taken back": _l("Taken back"),
    "receipt taken back": _l("Receipt taken back"),
    "plants returned": _l("Plants came back"),
    "return decided": _l("Decided about plants that came back"),
    "decision taken back": _l("Decision taken back"),
    "return struck out": _l("Return struck out"),
    "ruling recorded": _l("Ruling written down"),
    "looked over": _l("Quality looked at"),
    "look withdrawn": _l("Look at quality withdrawn"),
    "surveyed": _l("Surveyed"),
    "survey withdrawn": _l("Survey withdrawn"),
    "replacements asked for": _l("Replacements asked for"),
    "adopted": _l("Adopted"),
    "made": _l("Made"),
    "confirmed": _l("Confirmed"),
    "catalogue": _l("Catalogue brought in step"),
    "demo loaded": _l("Demo season loaded"),
    "invited": _l("Invited"),
    "link made": _l("One-time link made"),
    "new password": _l("New password"),
    "signed in": _l("Signed in"),
    "signed out": _l("Signed out"),
    "second factor on": _l("Second factor switched on"),
    "second factor off": _l("Second factor switched off"),
    "token made": _l("Token made"),
    "token ended": _l("Token ended"),
}

#: What the records of each table are called.
SUBJECTS = {
    "accounts": _l("Account"),
    "attachments": _l("File"),
    "batches": _l("Batch"),
    "benches": _l("Bench"),
    "climates": _l("Climate normals"),
    "containers": _l("Container"),
    "counts": _l("Count"),
    "decisions": _l("Decision on an origin"),
    "deviations": _l("Deviation"),
    "dispatches": _l("Load"),
    "dispatch_lines": _l("Line of a load"),
    "evidence": _l("Observed rate"),
    "expenses": _l("Expense"),
    "hygiene_checks": _l("Hygiene round"),
    "lots": _l("Lot"),
    "movements": _l("Movement of seed"),
    "nurseries": _l("Nursery"),
    "overrides": _l("Own figure"),
    "papers": _l("Paper"),
    "people": _l("Person"),
    "permits": _l("Permit"),
    "permit_lines": _l("Species of a permit"),
    "placements": _l("Trays on a bench"),
    "plans": _l("Plan"),
    "plant_movements": _l("Movement of plants"),
    "plantings": _l("Planting"),
    "populations": _l("Population"),
    "preferences": _l("Settings"),
    "quality_checks": _l("Look at quality"),
    "quarantines": _l("Quarantine"),
    "recipients": _l("Recipient"),
    "returned_plants": _l("Plants that came back"),
    "rule_sets": _l("Rules of origin"),
    "rule_versions": _l("Version of rules"),
    "rulings": _l("Ruling on a purpose"),
    "scoutings": _l("Walk"),
    "season_reports": _l("Season report"),
    "seed_tests": _l("Seed test"),
    "sites": _l("Site"),
    "species": _l("Species"),
    "stage_rooms": _l("Room a stage needs"),
    "standard_times": _l("Standard time"),
    "storage_places": _l("Storage place"),
    "strategies": _l("Strategy"),
    "supplies": _l("Supply"),
    "supply_movements": _l("Movement of supplies"),
    "survey_plots": _l("Survey plot"),
    "surveys": _l("Survey"),
    "targets": _l("Target"),
    "tasks": _l("Task"),
    "treatments": _l("Treatment"),
    "trips": _l("Trip"),
    "uploads": _l("Imported file"),
    "work_times": _l("Hours worked"),
    "zones": _l("Region or basin"),
}
#: Months that can be chosen above the list.
MONTHS = 24
_MONTH = func.substr(cast(Change.at, String), 1, 7)


def _people(session: Session) -> Sequence[tuple[str, str]]:
    return [(name, name) for name in session.scalars(select(Change.person).distinct().order_by(Change.person))]


def _months(session: Session) -> Sequence[tuple[str, str]]:
    newest = session.scalar(select(Change.at).order_by(Change.id.desc()).limit(1))
    return [(f"{day:%Y-%m}", f"{month_name(day.month)} {day.year}") for day in _back_from(newest)]


def _back_from(newest: dt.datetime | None) -> list[dt.date]:
    if newest is None:
        return []
    last = newest.year * 12 + newest.month - 1
    return [dt.date(month // 12, month % 12 + 1, 1) for month in range(last, last - MONTHS, -1)]


LISTING = Listing(
    model=Change,
    order="-number",
    columns=(
        Column("number", _l("No."), Change.id, "number", link=("changes.detail", Change.id)),
        Column("at", _l("When"), Change.at, "moment", sortable=False),
        Column("person", _l("Who"), Change.person, sortable=False),
        Column("action", _l("What"), Change.action, "choice", choices=ACTIONS, sortable=False),
        Column("subject", _l("Of what"), Change.subject, "choice", choices=SUBJECTS, sortable=False),
        Column("reason", _l("Why"), Change.reason, sortable=False),
    ),
    search=(Change.person, Change.reason, cast(Change.details, String)),
    filters=(
        Filter("person", _l("Who"), Change.person, _people),
        Filter("subject", _l("Of what"), Change.subject, choice_options(SUBJECTS)),
        Filter("month", _l("Month"), _MONTH, _months),
    ),
)
