"""What stands on the labels of a batch's trays."""

from __future__ import annotations

from nursery.documents.labels import Label, Line
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.services.seasons import season_name

#: Labels made at once.
MOST_LABELS = 2000


def batch_labels(batch: Batch, address: str, *, count: int, first: int = 1) -> list[Label]:
    """One label a tray, numbered from ``first``; the most needed lines come first."""
    trays = max(batch.trays, first + count - 1)
    return [Label(address, _lines(batch, number, trays)) for number in range(first, first + count)]


def _lines(batch: Batch, number: int, trays: int) -> tuple[Line, ...]:
    lot = _("Lot %(lot)s", lot=batch.lot.code) if batch.lot else _("Several lots")
    further = [
        batch.container.name if batch.container else "",
        f"{batch.target.site.name} {season_name(batch.target.season)}" if batch.target else "",
        batch.nursery.name if batch.nursery else "",
    ]
    return (
        Line(batch.code, "bold", 1.7),
        Line(batch.species.scientific_name, "italic", 1.25),
        Line(lot),
        Line(_("Sown %(day)s", day=format_date(batch.sown_on))),
        Line(_("Tray %(number)s of %(trays)s", number=number, trays=trays), "bold"),
        *(Line(text) for text in further if text),
    )
