"""The drawn chains as tables for files."""

from __future__ import annotations

from collections.abc import Iterator

from nursery.i18n import gettext as _
from nursery.services.flows import Onward
from nursery.services.flows.back import Origins, SiteTrace
from nursery.services.flows.reading import LotFacts, Planned, Planted
from nursery.tabular.writer import Cell, Heading


def site_headings() -> list[Heading]:
    """Of a site's origins."""
    return [
        Heading(_("Planting site"), width=28), Heading(_("Planted or planned")), Heading(_("What it is")),
        Heading(_("Share of the plants"), "percent", digits=3), Heading(_("Plants"), "number", digits=2),
        Heading(_("Mother")), *_lot_headings(),
    ]  # fmt: skip


def site_cells(trace: SiteTrace) -> Iterator[list[Cell]]:
    """Lots, then single mothers, of what stands and of what is planned."""
    for words, origins in ((_("planted"), trace.planted), (_("planned"), trace.planned)):
        yield from _origin_cells(trace.site.name, words, origins)


def _origin_cells(site: str, words: str, origins: Origins) -> Iterator[list[Cell]]:
    for one in origins.lots:
        kind = _("collected lot") if one.collected else _("lot made from others")
        yield [site, words, kind, one.share, one.share * origins.plants, "", *_lot_cells(one.lot)]
    for mother in origins.mothers:
        plants = mother.share * origins.plants
        yield [site, words, _("mother"), mother.share, plants, mother.tag, *_lot_cells(mother.lot)]


def onward_headings() -> list[Heading]:
    """Of what became of something."""
    return [
        Heading(_("What it is")), Heading(_("Share of the lot"), "percent", digits=3), Heading(_("Day"), "date"),
        Heading(_("Planting site"), width=28), Heading(_("Plants"), "number", digits=2),
        Heading(_("Plants of it"), "number", digits=2), *_lot_headings(),
    ]  # fmt: skip


def onward_cells(onward: Onward) -> Iterator[list[Cell]]:
    """Lots, then plantings, then plan lines."""
    facts = {one.lot.id: one for one in onward.lots}
    for one in onward.lots:
        yield [_("lot"), one.share, None, "", None, None, *_lot_cells(one.lot)]
    rows: list[Planted | Planned] = [*onward.plantings, *onward.lines]
    for row in rows:
        held = facts[row.lot_id]
        kind = _("planned") if isinstance(row, Planned) else _("planted")
        yield [
            kind, held.share, row.day, row.site_name, row.plants, row.plants * held.share, *_lot_cells(held.lot),
        ]  # fmt: skip


def _lot_headings() -> list[Heading]:
    return [
        Heading(_("Lot")), Heading(_("Species"), width=28), Heading(_("Collected on"), "date"),
        Heading(_("Population code")), Heading(_("Population"), width=28), Heading(_("Trip")),
        Heading(_("Permit number")),
    ]  # fmt: skip


def _lot_cells(lot: LotFacts) -> list[Cell]:
    return [
        lot.code, lot.species, lot.collected_on, lot.population_code, lot.population_name, lot.trip_code or "",
        lot.permit_number,
    ]  # fmt: skip
