"""What a batch is, as label and value."""

from __future__ import annotations

from typing import Any

from flask import url_for
from markupsafe import Markup

from nursery.catalog.vocabulary import METHODS
from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.services.seasons import season_name
from nursery.web.batches.forms import BatchForm


def batch_facts(row: Batch, form: BatchForm) -> list[tuple[Any, ...]]:
    """The rows of the card."""
    seeds = format_number(row.seeds) if row.seeds else ""
    if row.seeds_per_cell and row.cells_per_tray and row.seeds:
        seeds = _("%(seeds)s, %(each)s in each cell", seeds=seeds, each=row.seeds_per_cell)
    return [
        (_("Species"), Markup('<i class="taxon">{}</i>').format(row.species.scientific_name)),
        (_("Lot"), _link("lots.detail", row.lot_id, row.lot.code if row.lot else "")),
        (_("Sown on"), format_date(row.sown_on)),
        (_("How"), str(METHODS[row.method.value])),
        (_("Protocol"), form.protocol.show(row.protocol) if row.protocol else ""),
        (_("Seeds sown"), seeds),
        (_("Viability at sowing"), format_percent(row.viability, 1) if row.viability is not None else ""),
        (
            _("Container"),
            _link("containers.detail", row.container_id, row.container.name if row.container else ""),
        ),
        (_("Nursery"), _link("nurseries.detail", row.nursery_id, row.nursery.name if row.nursery else "")),
        (_("Grown for"), _target(row)),
        (_("Due"), format_date(row.ready_on) if row.ready_on else ""),
        (_("Notes"), row.notes),
    ]


def _target(row: Batch) -> Markup | str:
    if row.target is None:
        return _("nobody in particular")
    text = f"{row.target.site.name}, {season_name(row.target.season)}"
    return Markup('<a href="{}">{}</a>').format(url_for("targets.detail", record_id=row.target_id), text)


def _link(endpoint: str, record_id: int | None, text: str) -> Markup | str:
    if record_id is None:
        return text
    return Markup('<a href="{}">{}</a>').format(url_for(endpoint, record_id=record_id), text)
