"""Walks round the benches: what was seen, on what, with pictures, and how it ended."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import case
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Base, Scouting
from nursery.models.attachments import AttachmentKind
from nursery.models.health import Finding
from nursery.services import auditing, checking, limits, records
from nursery.services.attachments import add_attachment
from nursery.services.health.places import COLUMNS, refuse_nowhere, with_places
from nursery.services.health.texts import words
from nursery.services.health.words import FINDINGS
from nursery.services.listing import Column, Filter, Listing, choice_options

AFFECTED = limits.Bounds(0, 100_000_000)
#: A photograph and its name.
Photo = tuple[str, bytes]
_STATES = {"open": _l("Open"), "closed": _l("Closed")}
_STATE = case((Scouting.closed_on.is_(None), "open"), else_="closed")

LISTING = Listing(
    model=Scouting,
    order="-seen_on",
    joins=with_places(Scouting),
    columns=(
        Column("seen_on", _l("Seen on"), Scouting.seen_on, "date", link=("scoutings.detail", Scouting.id)),
        Column("finding", _l("Finding"), Scouting.finding, "choice", choices=FINDINGS),
        Column("description", _l("What was seen"), Scouting.description),
        *COLUMNS,
        Column("affected", _l("Plants affected"), Scouting.plants_affected, "number"),
        Column("person", _l("Person"), Scouting.person),
        Column("state", _l("State"), _STATE, "choice", choices=_STATES, nullable=False),
        Column("reported_on", _l("Authority told on"), Scouting.reported_on, "date", on_screen=False),
        Column("closed_on", _l("Closed on"), Scouting.closed_on, "date", on_screen=False),
        Column("outcome", _l("How it ended"), Scouting.outcome, on_screen=False),
        Column("notes", _l("Notes"), Scouting.notes, on_screen=False),
    ),
    search=(Scouting.description, Scouting.person, *(column.value for column in COLUMNS)),
    filters=(
        Filter("finding", _l("Finding"), Scouting.finding, choice_options(FINDINGS), parse=Finding),
        Filter("state", _l("State"), _STATE, choice_options(_STATES)),
    ),
)


def create_scouting(
    session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date, photos: Sequence[Photo] = ()
) -> Scouting:
    """Write down what was seen; a walk that found nothing is over at once.

    Photographs that are refused do not cost the note: ask ``attach_photos`` for its reasons by giving them there.
    """
    given = _checked(session, {**values, "person": values.get("person") or actor}, today)
    if given["finding"] is not Finding.NOTHING and not given["description"] and not photos:
        raise Invalid({"description": _("Say what you saw, in a few words, or take a photograph.")})
    return records.create(session, actor, Scouting, _ended(given))


def change_scouting(
    session: Session,
    actor: str,
    *,
    row: Scouting,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Scouting:
    """Correct a note."""
    given = _checked(session, {**checking.columns_of(row), **values}, today)
    if row.closed_on is not None and given["seen_on"] > row.closed_on and row.outcome:
        raise Invalid({"seen_on": _("It was closed on %(day)s, before this day.", day=format_date(row.closed_on))})
    changed = {name: given[name] for name in values}
    if not row.outcome:  # nobody closed it: it is over only where nothing was found
        changed = _ended({**changed, "closed_on": None, "finding": given["finding"], "seen_on": given["seen_on"]})
    return records.update(session, actor, row, changed, version=version)


def more_than_alive(row: Scouting) -> str:
    """What is odd where more plants are said to be affected than the batch is known to hold; else nothing."""
    batch = row.batch
    if batch is None or not batch.alive or (row.plants_affected or 0) <= batch.alive:
        return ""
    return _(
        "%(affected)s plants are said to be affected, but %(batch)s has %(alive)s alive. Correct the number, or"
        " count the batch if there are more.",
        affected=format_number(row.plants_affected),
        batch=batch.code,
        alive=format_number(batch.alive),
    )


def attach_photos(session: Session, actor: str, *, row: Base, photos: Sequence[Photo]) -> list[str]:
    """Hang photographs on a note; what is refused is told, by the name of its file, and the others are kept."""
    refused = []
    for name, content in photos:
        try:
            add_attachment(session, actor, row=row, file_name=name, content=content, kind=AttachmentKind.PHOTO)
        except Invalid as error:
            refused.append(
                _("“%(name)s” was not kept. %(reason)s", name=name, reason=" ".join(error.errors.values()))
            )
    return refused


def report_scouting(
    session: Session, actor: str, *, row: Scouting, reported_on: dt.date | None, today: dt.date
) -> Scouting:
    """Note the day on which the plant health authority was told."""
    if reported_on is None:
        raise Invalid({"reported_on": _("Give the day on which the authority was told.")})
    if not row.seen_on <= reported_on <= today:
        raise Invalid(
            {
                "reported_on": _(
                    "%(day)s does not lie between the day it was seen, %(seen)s, and today. Correct the date.",
                    day=format_date(reported_on),
                    seen=format_date(row.seen_on),
                )
            }
        )
    row.reported_on = reported_on
    if details := auditing.changed_fields(row):
        auditing.record(session, actor, action="reported", row=row, details=details)
    return row


def close_scouting(session: Session, actor: str, *, row: Scouting, outcome: str, today: dt.date) -> Scouting:
    """The matter is over: how it ended stays on record."""
    if row.closed_on is not None:
        raise Conflict(_("This note was closed on %(day)s already.", day=format_date(row.closed_on)))
    row.outcome = words("outcome", outcome, missing=_("Say how it ended: what was done, and what you see now."))
    row.closed_on = max(today, row.seen_on)
    auditing.record(session, actor, action="closed", row=row)
    return row


def reopen_scouting(session: Session, actor: str, *, row: Scouting) -> Scouting:
    """It came back, or was closed by mistake; what was said then stays in the history."""
    if row.closed_on is None:
        raise Conflict(_("This note is open."))
    row.closed_on, row.outcome = None, ""
    auditing.record(session, actor, action="reopened", row=row)
    return row


def _checked(session: Session, values: Mapping[str, Any], today: dt.date) -> dict[str, Any]:
    refused = checking.beyond(values, {"plants_affected": AFFECTED}) | refuse_nowhere(session, values)
    day: dt.date = values["seen_on"]
    if day > today:
        refused["seen_on"] = _("%(day)s is still to come. Correct the date.", day=format_date(day))
    elif day.year < limits.SEASON.low:
        refused["seen_on"] = _("%(day)s is too long ago. Correct the date.", day=format_date(day))
    if refused:
        raise Invalid(refused)
    return {**values, "description": words("description", values.get("description") or "")}


def _ended(values: dict[str, Any]) -> dict[str, Any]:
    if values["finding"] is Finding.NOTHING:
        return {**values, "closed_on": values["seen_on"]}
    return values
