"""The programme and the list for the authority as files."""

from __future__ import annotations

from collections.abc import Iterator

from nursery.i18n import gettext as _
from nursery.services.need_words import PURPOSE_LABELS, SOURCE_LABELS, origin_of
from nursery.services.needs import Sheet
from nursery.services.populations import STATUS_LABELS
from nursery.services.programme.picks import Pick
from nursery.services.programme.reading import Programme
from nursery.tabular.writer import Cell, Heading


def programme_headings() -> list[Heading]:
    """One row for each need and population."""
    return [
        Heading(_("Week")), Heading(_("Trip")), Heading(_("Species"), width=28), Heading(_("Region or basin")),
        Heading(_("Source")), Heading(_("What for")),
        Heading(_("From"), "date"), Heading(_("Until"), "date"), Heading(_("Clean seed (g)"), "number", digits=1),
        Heading(_("Fruit (kg)"), "number", digits=3), Heading(_("Cuttings"), "number"),
        Heading(_("Mother plants"), "number"), Heading(_("Populations needed"), "number"),
        Heading(_("Population")), Heading(_("Name"), width=28), Heading(_("Latitude"), "number", digits=6),
        Heading(_("Longitude"), "number", digits=6), Heading(_("Permit")),
        Heading(_("Not covered (kg or cuttings)"), "number", digits=3), Heading(_("Why not"), width=40),
        Heading(_("Lawful from"), "date"),
    ]  # fmt: skip


def programme_rows(programme: Programme) -> Iterator[list[Cell]]:
    """What is collected where; a need without a known population has a row of its own."""
    for need in programme.needs:
        sheet = need.sheet
        for pick in need.picks:
            part = pick.amount / sheet.wanted if sheet.wanted else 0.0
            trip = programme.trip_of(pick)
            yield [
                trip.week.name, trip.key, sheet.need.species_name, *_origin(sheet), sheet.need.opens_on,
                sheet.need.closes_on, None if sheet.is_cuttings else (sheet.need.grams or 0.0) * part,
                None if sheet.is_cuttings else pick.amount, round(pick.amount) if sheet.is_cuttings else None,
                pick.mothers, need.populations, pick.stand.code, pick.stand.name, pick.stand.latitude,
                pick.stand.longitude, pick.permit.number if pick.permit else "", pick.uncovered or None,
                pick.reason, pick.first_day if pick.permit else None,
            ]  # fmt: skip
        if need.to_find:
            yield [
                "", "", sheet.need.species_name, *_origin(sheet), sheet.need.opens_on, sheet.need.closes_on, None,
                None if sheet.is_cuttings else need.lacking, round(need.lacking) if sheet.is_cuttings else None,
                None, need.populations, "", _("to be found"), None, None, "", None, "", None,
            ]  # fmt: skip


def _origin(sheet: Sheet) -> list[Cell]:
    need = sheet.need
    return [origin_of(need), str(SOURCE_LABELS[need.source]), str(PURPOSE_LABELS[need.purpose])]


def asking_headings() -> list[Heading]:
    """What an authority asks."""
    return [
        Heading(_("Species"), width=28), Heading(_("Material")),
        Heading(_("Amount (kg of fruit)"), "number", digits=3), Heading(_("Amount (cuttings)"), "number"),
        Heading(_("Mother plants"), "number"), Heading(_("From"), "date"), Heading(_("Until"), "date"),
        Heading(_("Population")), Heading(_("Name"), width=28), Heading(_("Latitude"), "number", digits=6),
        Heading(_("Longitude"), "number", digits=6), Heading(_("Region of provenance")), Heading(_("Basin")),
        Heading(_("Origin")), Heading(_("Why it is asked"), width=40),
    ]  # fmt: skip


def asking_rows(picks: list[Pick]) -> Iterator[list[Cell]]:
    """One row for each species and population that no permit covers."""
    for pick in picks:
        cuttings, stand = pick.sheet.is_cuttings, pick.stand
        yield [
            pick.sheet.need.species_name, _("Cuttings") if cuttings else _("Seed"),
            None if cuttings else pick.uncovered, round(pick.uncovered) if cuttings else None, pick.mothers,
            pick.sheet.need.opens_on, pick.sheet.need.closes_on, stand.code, stand.name, stand.latitude,
            stand.longitude, pick.region_code, pick.basin, str(STATUS_LABELS[stand.status]), pick.reason,
        ]  # fmt: skip
