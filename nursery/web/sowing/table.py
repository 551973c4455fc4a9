"""The sowing list as a table for spreadsheets: one row for each task and lot."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from nursery.i18n import gettext as _
from nursery.models import Draw
from nursery.services.seasons import season_name
from nursery.services.sowing import WorkRow
from nursery.tabular.writer import Cell, Heading


def headings() -> list[Heading]:
    """Heads of the columns, in the reader's language."""
    return [
        Heading(_("Day"), "date"),
        Heading(_("Task"), width=32),
        Heading(_("Until"), "date"),
        Heading(_("Temperature (°C)"), "number"),
        Heading(_("Species"), width=28),
        Heading(_("Lot")),
        Heading(_("Kept in"), width=24),
        Heading(_("Seeds or cuttings"), "number"),
        Heading(_("Seed (g)"), "number", digits=3),
        Heading(_("Still to collect"), "number"),
        Heading(_("Seeds per cell"), "number"),
        Heading(_("Trays"), "number"),
        Heading(_("Cells per tray"), "number"),
        Heading(_("Nursery"), width=28),
        Heading(_("Container"), width=28),
        Heading(_("Planting site"), width=28),
        Heading(_("Season")),
        Heading(_("Protocol"), width=40),
        Heading(_("Caution"), width=40),
        Heading(_("Decision on origin"), width=40),
    ]


def export_rows(rows: Iterable[WorkRow]) -> Iterator[Sequence[Cell]]:
    """Rows of the table; what belongs to a task as a whole stands only beside its first lot, so that sums hold."""
    for row in rows:
        draws: Sequence[Draw | None] = row.draws if row.shows_seed and row.draws else [None]
        for position, draw in enumerate(draws):
            yield _cells(row, draw, is_first=position == 0)


def _cells(row: WorkRow, draw: Draw | None, *, is_first: bool) -> Sequence[Cell]:
    line, task = row.line, row.task
    return [
        task.starts_on,
        task.label,
        task.ends_on,
        row.temperature_c,
        line.species_name,
        draw.lot_code if draw else "",
        row.places.get(draw.lot_id, "") if draw else "",
        draw.seeds if draw else None,
        draw.milligrams / 1000 if draw and draw.milligrams is not None else None,
        (row.missing or None) if is_first and row.shows_seed else None,
        line.seeds_per_cell,
        task.line.trays if is_first else None,
        line.basis["cells_per_tray"] or None,
        line.nursery_name,
        line.container_name,
        line.site_name,
        season_name(line.season),
        row.note,
        " ".join(row.cautions),
        row.decided.get(draw.id, "") if draw else "",
    ]
