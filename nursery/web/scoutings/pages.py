"""The pages of notes from walks round the benches."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from flask import flash, request
from markupsafe import Markup
from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Bench, Nursery, Scouting
from nursery.models.attachments import AttachmentKind
from nursery.models.health import Finding
from nursery.services.attachments import list_attachments
from nursery.services.health.cautions import NOTIFIABLE
from nursery.services.health.places import place_name
from nursery.services.health.quarantine import bench_quarantine, standing_quarantine
from nursery.services.health.scouting import (
    LISTING,
    attach_photos,
    change_scouting,
    create_scouting,
    more_than_alive,
)
from nursery.services.health.words import FINDINGS, TONES
from nursery.services.listing import whole
from nursery.services.preferences import read_preferences
from nursery.web.forms import RecordForm
from nursery.web.links import address
from nursery.web.records import RecordPages, Words, build
from nursery.web.scoutings.forms import ScoutingForm
from nursery.web.session import actor, db, today


def _create(session: Session, person: str, *, values: Mapping[str, Any], today: dt.date) -> Scouting:
    """The note with its photographs; a photograph that is refused does not cost the note."""
    photos, given = values["photos"], {name: value for name, value in values.items() if name != "photos"}
    row = create_scouting(session, person, values=given, today=today, photos=photos)
    for refused in attach_photos(session, person, row=row, photos=photos):
        flash(refused, "caution")
    return row


def _change(
    session: Session, person: str, *, row: Scouting, values: Mapping[str, Any], version: int, today: dt.date
) -> Scouting:
    photos, given = values["photos"], {name: value for name, value in values.items() if name != "photos"}
    changed = change_scouting(session, person, row=row, values=given, version=version, today=today)
    for refused in attach_photos(session, person, row=row, photos=photos):
        flash(refused, "caution")
    return changed


def places(row: Any) -> Markup:
    """The places of a note or a treatment, each leading to its page where there is one."""
    found = []
    for name, endpoint, other in (
        (_("Batch %(code)s", code=row.batch.code) if row.batch else "", "batches.detail", row.batch_id),
        (_("Bench %(name)s", name=row.bench.name) if row.bench else "", "benches.detail", row.bench_id),
        (row.nursery.name if row.nursery else "", "nurseries.detail", row.nursery_id),
    ):
        url = address(endpoint, record_id=other) if other else ""
        if name:
            found.append(Markup('<a href="{}">{}</a>').format(url, name) if url else Markup("{}").format(name))
    return Markup(" · ").join(found)


def asked_places() -> dict[str, Any]:
    """The batch, bench or nursery that the address names."""
    batch = request.args.get("batch", "")
    bench, nursery = request.args.get("bench", type=whole), request.args.get("nursery", type=whole)
    return {
        "batch_id": db().scalar(select(Batch.id).where(Batch.code == batch)) if batch else None,
        "bench_id": db().scalar(select(Bench.id).where(Bench.id == bench)) if bench else None,
        "nursery_id": db().scalar(select(Nursery.id).where(Nursery.id == nursery)) if nursery else None,
    }


def _initial() -> Mapping[str, Any]:
    asked = request.args.get("finding", "")
    finding = Finding(asked) if asked in list(Finding) else Finding.DISEASE
    return {"seen_on": today(), "person": actor(), "finding": finding, **asked_places()}


def _facts(row: Scouting, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    del form
    return [
        (_("Finding"), str(FINDINGS[row.finding])),
        (_("What was seen"), row.description),
        (_("Where"), places(row)),
        (_("Plants affected"), format_number(row.plants_affected)),
        (_("Seen on"), format_date(row.seen_on)),
        (_("Person"), row.person),
        (_("Authority told on"), format_date(row.reported_on)),
        (_("Closed on"), format_date(row.closed_on)),
        (_("How it ended"), row.outcome),
        (_("Notes"), row.notes),
    ]


def _context(row: Scouting) -> Mapping[str, Any]:
    files = list_attachments(db(), row)
    own = standing_quarantine(db(), row.batch) if row.batch else None
    return {
        "files": files,
        "photos": [file for file in files if file.kind is AttachmentKind.PHOTO],
        "tone": TONES[row.finding],
        "is_suspicion": row.finding is Finding.SUSPECTED_NOTIFIABLE,
        "notifiable": NOTIFIABLE,
        "contact": read_preferences(db()).health_contact,
        "batch_quarantine": own,
        "bench_quarantine": bench_quarantine(db(), row.bench_id) if row.bench_id else None,
        "reason": _reason(row),
    }


def _reason(row: Scouting) -> str:
    """What a quarantine with one touch says."""
    label = str(FINDINGS[row.finding])
    return f"{label}: {row.description}"[:1000] if row.description else label


def _title(row: Scouting) -> str:
    return _(
        "%(finding)s, %(place)s, %(day)s",
        finding=str(FINDINGS[row.finding]),
        place=place_name(row),
        day=format_date(row.seen_on),
    )


def _remarks(row: Scouting) -> list[tuple[str, str]]:
    found = []
    if row.finding is Finding.SUSPECTED_NOTIFIABLE and row.reported_on is None:
        found.append((_("Tell the plant health authority without delay: see below."), "stop"))
    if odd := more_than_alive(row):
        found.append((odd, "caution"))
    return found


PAGES = RecordPages(
    name="scoutings",
    section="grow",
    model=Scouting,
    listing=LISTING,
    form=ScoutingForm,
    create=_create,
    change=_change,
    title=_title,
    options=(joinedload(Scouting.batch), joinedload(Scouting.bench), joinedload(Scouting.nursery)),
    facts=_facts,
    context=_context,
    initial=_initial,
    remarks=_remarks,
    uploads=True,
    detail_template="scoutings/detail.html",
    list_template="health/records_list.html",
    words=Words(
        list_title=_l("Notes from walks"),
        list_lead=_l("What was seen between the benches: pests, disease, mice, or nothing at all."),
        new_title=_l("New note from a walk"),
        new_button=_l("New note"),
        noun=_l("Note from a walk"),
        empty_title=_l("No notes yet"),
        empty_text=_l(
            "Walk past every bench once a week, look under leaves and at roots, and write down what you see, also"
            " when it is nothing: then you know later since when it was there."
        ),
        archive_text=_l("The note leaves the lists. Its history stays."),
    ),
)
bp = build(PAGES)
