"""Bench by week as a table for spreadsheets: one row for each place and week."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nursery.i18n import gettext as _
from nursery.services.space.occupancy import NurseryUse, Occupancy
from nursery.tabular.writer import Cell, Heading


def headings() -> list[Heading]:
    """Heads of the columns, in the reader's language."""
    return [
        Heading(_("Nursery"), width=28),
        Heading(_("Bench"), width=24),
        Heading(_("Week")),
        Heading(_("From"), "date"),
        Heading(_("Growing (m²)"), "number", digits=2),
        Heading(_("To sow (m²)"), "number", digits=2),
        Heading(_("Taken (m²)"), "number", digits=2),
        Heading(_("Area (m²)"), "number", digits=2),
        Heading(_("Too little (m²)"), "number", digits=2),
        Heading(_("Water (l a day)"), "number"),
    ]


def rows(found: Occupancy) -> Iterator[Sequence[Cell]]:
    """Nurseries as a whole have no bench."""
    for nursery in found.nurseries:
        for use in (nursery.whole, *nursery.benches):
            for number, week in enumerate(found.weeks):
                yield [
                    nursery.whole.place.name,
                    use.place.name if use.place.bench_id else "",
                    week.name,
                    week.monday,
                    round(float(use.growing[number]), 3),
                    round(float(use.planned[number]), 3),
                    round(float(use.taken[number]), 3),
                    use.place.area_m2,
                    round(float(use.over[number]), 3),
                    _water(nursery, number) if use.place.bench_id is None else None,
                ]


def _water(nursery: NurseryUse, week: int) -> float | None:
    return None if nursery.water is None else round(float(nursery.water[week]), 1)
