"""The drawn chains as tables for files."""

from __future__ import annotations

from collections.abc import Iterator

from nursery.i18n import gettext as _
from nursery.services.flows import BatchOnward, Onward
from nursery.services.flows.back import Origins, SiteTrace
from nursery.services.flows.reading import LotFacts, Planned, Planted
from nursery.services.flows.sent import Sent
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
    parts = ((_("planted"), trace.planted), (_("dispatched"), trace.sent), (_("planned"), trace.planned))
    for words, origins in parts:
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
    """Lots and batches, then plantings, what was dispatched, and plan lines."""
    facts = {one.lot.id: one for one in onward.lots}
    for one in onward.lots:
        yield [_("lot"), one.share, None, "", None, None, *_lot_cells(one.lot)]
    for batch, share in onward.batches:
        alive = batch.alive * share
        yield [_("batch"), share, batch.sown_on, "", batch.alive, alive, batch.code, batch.species,
               None, "", "", "", ""]  # fmt: skip
    rows: list[Planted | Planned | Sent] = [*onward.plantings, *onward.sent, *onward.lines]
    for row in rows:
        held = facts[row.lot_id]
        kind = (
            _("planned")
            if isinstance(row, Planned)
            else _("dispatched from %(batch)s", batch=row.batch_code)
            if isinstance(row, Sent)
            else _("planted")
        )
        yield [
            kind, held.share, row.day, row.site_name, row.plants, row.plants * held.share, *_lot_cells(held.lot),
        ]  # fmt: skip


def batch_headings() -> list[Heading]:
    """Of what became of a batch."""
    return [
        Heading(_("What it is")), Heading(_("Batch")), Heading(_("Share of it"), "percent", digits=3),
        Heading(_("Day"), "date"), Heading(_("Planting site"), width=28), Heading(_("Plants"), "number"),
        Heading(_("Plants of it"), "number", digits=2), Heading(_("Lot")),
    ]  # fmt: skip


def batch_cells(onward: BatchOnward) -> Iterator[list[Cell]]:
    """Its lots, the batches that hold plants of it, and the sites they went to."""
    for lot, share in onward.lots:
        yield [_("comes from"), onward.batch.code, share, None, "", None, None, lot.code]
    for facts, share in onward.batches:
        yield [_("alive in"), facts.code, share, facts.sown_on, "", facts.alive, facts.alive * share, ""]
    for words, rows in ((_("dispatched"), onward.sent), (_("planted"), onward.plantings)):
        for row in rows:
            share = onward.shares[row.batch_id]
            yield [words, row.batch_code, share, row.day, row.site_name, row.plants, row.plants * share, ""]


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
