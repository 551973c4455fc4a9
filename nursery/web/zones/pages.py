"""The list of zones, and the page of each with its outline."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.zones import Zone
from nursery.services.map import outline_of, places_in_zone
from nursery.services.records import archive
from nursery.services.zones import KIND_LABELS, LISTING, change_zone, restore_zone
from nursery.web import records
from nursery.web.records import ID, RecordPages, Words
from nursery.web.session import db
from nursery.web.zones.forms import ZoneForm

bp = Blueprint("zones", __name__)


def _facts(row: Zone, form: ZoneForm) -> list[tuple[Any, ...]]:
    species = Markup('<i class="taxon">{}</i>').format(row.species.scientific_name) if row.species else _("All")
    return [
        (_("What it is"), str(KIND_LABELS[row.kind])),
        (_("Species"), species),
        *records.form_facts(row, form),
    ]


def _context(row: Zone) -> Mapping[str, Any]:
    return {"outline": outline_of(row), "inside": places_in_zone(db(), row)}


def _from_a_file(*_arguments: Any, **_values: Any) -> Zone:
    """Nobody types an outline."""
    raise Invalid({"code": _("Zones come from the files of their authority. Bring one in.")})


PAGES = RecordPages(
    name="zones",
    section="map",
    model=Zone,
    listing=LISTING,
    form=ZoneForm,
    create=_from_a_file,
    change=change_zone,
    title=lambda row: f"{row.code} · {row.name}" if row.name else row.code,
    facts=_facts,
    context=_context,
    restore=restore_zone,
    detail_template="zones/detail.html",
    list_template="zones/list.html",
    words=Words(
        list_title=_l("Regions and basins"),
        list_lead=_l("Official regions of provenance and river basins, as their authorities published them."),
        new_title=_l("Bring zones in"),
        new_button=_l("Bring zones in"),
        noun=_l("Zone"),
        empty_title=_l("No zones on the map yet"),
        empty_text=_l(
            "Bring in the regions of provenance and river basins that your authority publishes, as GeoJSON. The"
            " codes of populations and sites are then verified on the map. Until then they stand as typed."
        ),
        archive_text=_l("The zone leaves the map. Codes on record stay as they are."),
    ),
)


@bp.get("/zones")
def list_page() -> str:
    """The list."""
    return records.list_page(PAGES)


@bp.get("/zones.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The list as a file."""
    return records.export(PAGES, file_format)


@bp.get(f"/zones/{ID}")
def detail(record_id: int) -> str:
    """One zone: its outline and what lies in it."""
    return records.detail(PAGES, record_id)


@bp.route(f"/zones/{ID}/edit", methods=["GET", "POST"])
def edit(record_id: int) -> ResponseReturnValue:
    """Change what is said about a zone."""
    return records.edit(PAGES, record_id)


@bp.post(f"/zones/{ID}/archive", endpoint="archive")
def put_aside(record_id: int) -> ResponseReturnValue:
    """Take a zone off the map."""
    return records.put(PAGES, record_id, archive)


@bp.post(f"/zones/{ID}/restore", endpoint="restore")
def bring_back(record_id: int) -> ResponseReturnValue:
    """Put a zone on the map again."""
    return records.put(PAGES, record_id, restore_zone)
