"""Trace as tables for files."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.services.drawn_shares import DrawnShare
from nursery.services.lots import MATERIAL_LABELS
from nursery.services.populations import STATUS_LABELS
from nursery.services.seasons import season_name
from nursery.services.tracing import LotTrace, TargetTrace
from nursery.tabular.writer import Cell, Heading
from nursery.web.discretion import shown_elevation, shown_people, shown_place


def chain_headings() -> list[Heading]:
    """Of a target's chain."""
    return [
        Heading(_("Site code")), Heading(_("Planting site"), width=28), Heading(_("Season")),
        Heading(_("Species"), width=28), Heading(_("Plants to plant"), "number"), *_draw_headings(),
        *_root_headings(), _decision_heading(),
    ]  # fmt: skip


def chain_cells(trace: TargetTrace, decided: Mapping[int, str]) -> Iterator[list[Cell]]:
    """One row for each collected lot in a lot drawn; seeds and grams are its share of what is drawn."""
    target, line = trace.target, trace.line
    for part in trace.parts:
        yield [
            target.site.code, target.site.name, season_name(target.season), target.species.scientific_name,
            line.plants_to_plant if line else None, *_part_cells(part), decided.get(part.draw.id, ""),
        ]  # fmt: skip


def draw_headings() -> list[Heading]:
    """Of the plan lines that draw a lot."""
    return [
        Heading(_("Planting site"), width=28), Heading(_("Season")), Heading(_("Species"), width=28),
        Heading(_("Plants to plant"), "number"), *_draw_headings(), *_root_headings(), _decision_heading(),
    ]  # fmt: skip


def draw_cells(trace: LotTrace, decided: Mapping[int, str]) -> Iterator[list[Cell]]:
    """One row for each plan line and collected lot in the lot; seeds and grams are its share."""
    lines = {draw.id: line for draw, line in trace.draws}
    for part in trace.parts:
        line = lines[part.draw.id]
        yield [
            line.site_name, season_name(line.season), line.species_name, line.plants_to_plant, *_part_cells(part),
            decided.get(part.draw.id, ""),
        ]  # fmt: skip


def reach_headings() -> list[Heading]:
    """Of the sites and what the rule of origin says of a lot."""
    return [
        Heading(_("Lot")), Heading(_("Site code")), Heading(_("Planting site"), width=28),
        Heading(_("May go there")), Heading(_("Verdict")), Heading(_("Rules behind it"), width=28),
        Heading(_("Decision")),
        Heading(_("Distance (km)"), "number", digits=1),
        Heading(_("Elevation of the site (m)"), "number"), Heading(_("Region of provenance")), Heading(_("Basin")),
        Heading(_("Seasons in the plan"), width=28),
    ]  # fmt: skip


def reach_cells(trace: LotTrace) -> Iterator[list[Cell]]:
    """One row a site, those that the lot may reach first."""
    for reach in sorted(trace.sites, key=lambda reach: not reach.allowed):
        site = reach.site
        yield [
            trace.lot.code, site.code, site.name, _("yes") if reach.allowed else _("no"),
            reach.cell.label, reach.cell.because,
            reach.cell.decided, reach.distance_m / 1000, site.elevation_m, site.region_code,
            site.basin,
            ", ".join(season_name(season) for season in reach.seasons),
        ]  # fmt: skip


def origin_headings() -> list[Heading]:
    """Of the collected lots whose seed is in a lot."""
    return _root_headings()


def origin_cells(trace: LotTrace) -> Iterator[list[Cell]]:
    """One row a collected lot, the largest share first."""
    for origin in trace.origins:
        yield _root_cells(trace.lot, origin.lot, origin.share)


def _part_cells(part: DrawnShare) -> list[Cell]:
    draw = part.draw
    return [
        part.seeds, None if part.milligrams is None else part.milligrams / 1000, draw.viability,
        draw.distance_m / 1000, *_root_cells(part.lot, part.origin, part.share),
    ]  # fmt: skip


def _decision_heading() -> Heading:
    return Heading(_("Decision on origin"), width=40)


def _draw_headings() -> list[Heading]:
    return [
        Heading(_("Seeds or cuttings"), "number"), Heading(_("Seed (g)"), "number", digits=3),
        Heading(_("Viability at sowing"), "percent"), Heading(_("Distance (km)"), "number", digits=1),
    ]  # fmt: skip


def _root_headings() -> list[Heading]:
    return [
        Heading(_("Lot")), Heading(_("Collected as lot")), Heading(_("Share of the lot"), "percent", digits=1),
        Heading(_("Material")), Heading(_("Ripening year")),
        Heading(_("Mother plants"), "number"), Heading(_("Trip")), Heading(_("Collected on"), "date"),
        Heading(_("People"), width=28), Heading(_("Population")), Heading(_("Name"), width=28),
        Heading(_("Latitude"), "number", digits=6), Heading(_("Longitude"), "number", digits=6),
        Heading(_("Elevation (m)"), "number"), Heading(_("Region of provenance")), Heading(_("Basin")),
        Heading(_("Origin")), Heading(_("Permit number")),
    ]  # fmt: skip


def _root_cells(drawn: Lot, lot: Lot, share: float) -> list[Cell]:
    stand, trip = lot.population, lot.trip
    place, people = shown_place(stand), shown_people(trip.people) if trip else ""
    return [
        drawn.code, lot.code, share, str(MATERIAL_LABELS[lot.material]), str(lot.ripening_year), lot.mother_plants,
        trip.code if trip else "", lot.collected_on, people, stand.code, stand.name,
        place.latitude, place.longitude, shown_elevation(stand), stand.region_code, stand.basin,
        str(STATUS_LABELS[stand.indigenous_status]), lot.permit_number,
    ]  # fmt: skip
