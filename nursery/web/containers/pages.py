"""The pages of container types."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import request
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Container, Nursery
from nursery.services.containers import LISTING, change_container, create_container
from nursery.web.containers.forms import ContainerForm
from nursery.web.forms import RecordForm
from nursery.web.records import RecordPages, Words, build, form_facts
from nursery.web.session import db


def _facts(row: Container, form: RecordForm) -> Sequence[tuple[Any, ...]]:
    facts = form_facts(row, form)
    if row.tray_length_mm and row.tray_width_mm:
        tray_m2 = row.tray_length_mm * row.tray_width_mm / 1e6
        facts.append((_("Bench for a tray"), f"{format_number(tray_m2, 3)} m²"))
        facts.append((_("Cells on a square metre"), format_number(row.cells_per_tray / tray_m2)))
    if row.trays_owned is not None:
        facts.append((_("Cells in all"), format_number(row.trays_owned * row.cells_per_tray)))
    return facts


def _initial() -> Mapping[str, Any]:
    """The nursery that the person came from, or the only one."""
    ids = list(db().scalars(select(Nursery.id).where(Nursery.archived_at.is_(None)).limit(2)))
    asked = request.args.get("nursery", type=int)
    return {"nursery_id": asked or (ids[0] if len(ids) == 1 else None)}


PAGES = RecordPages(
    name="containers",
    section="grow",
    model=Container,
    listing=LISTING,
    form=ContainerForm,
    create=create_container,
    change=change_container,
    title=lambda row: row.name,
    options=(joinedload(Container.nursery),),
    facts=_facts,
    initial=_initial,
    words=Words(
        list_title=_l("Containers"),
        list_lead=_l("Trays that plants are grown in, by nursery."),
        new_title=_l("New container"),
        new_button=_l("New container"),
        noun=_l("Container type"),
        empty_title=_l("No containers yet"),
        empty_text=_l(
            "A container type is a tray of cells in one of your nurseries. Write the nursery down first, then its"
            " trays: the plan turns plants into trays with them."
        ),
        archive_text=_l("The container leaves the lists, and new plans no longer choose it."),
    ),
)
bp = build(PAGES)
