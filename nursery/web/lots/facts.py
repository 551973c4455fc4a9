"""What the page of a lot says: where it comes from and what it is worth."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import request, url_for
from markupsafe import Markup
from sqlalchemy import select

from nursery.catalog.vocabulary import STORAGE_LABELS
from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models import Lot, Population, Trip
from nursery.models.lots import Material
from nursery.services.ledger.words import held_text
from nursery.services.lots import MATERIAL_LABELS
from nursery.services.seed_tests import KIND_LABELS, rulings
from nursery.web.lots.reading import entry as entry_of
from nursery.web.lots.reading import tests
from nursery.web.session import db, today


def link(endpoint: str, record_id: int, text: str) -> Markup:
    """A link to another record's page."""
    return Markup('<a href="{}">{}</a>').format(url_for(endpoint, record_id=record_id), text)


def identity(row: Lot, form: Any) -> list[tuple[Any, ...]]:
    """The lot itself."""
    place = row.storage_place
    return [
        (_("Code"), Markup('<span class="code">{}</span>').format(row.code)),
        (_("Species"), _species(row)),
        (_("Material"), str(MATERIAL_LABELS[row.material])),
        (_("Amount"), held_text(row)),
        (_("Ripening year"), str(row.ripening_year)),
        (
            _("Kept in"),
            link("storage.detail", place.id, place.name) if place else "",
            _("since %(day)s", day=format_date(row.stored_on)) if place and row.stored_on else "",
        ),
        (_("Purity"), form.show("purity", row.purity)),
        (_("Thousand-seed weight"), _("%(grams)s g", grams=format_number(row.tsw_g, 4)) if row.tsw_g else ""),
        (
            _("Germination"),
            form.show("germination", row.germination),
            _("tested on %(day)s", day=format_date(row.tested_on)) if row.tested_on else "",
        ),
        (_("Moisture content"), format_percent(row.moisture_pct / 100, 1) if row.moisture_pct else ""),
        (_("Notes"), row.notes),
    ]


def _species(row: Lot) -> Markup:
    taxon = Markup('<i class="taxon">{}</i>').format(row.species.scientific_name)
    return Markup('<a href="{}">{}</a>').format(url_for("species.detail", record_id=row.species.key), taxon)


def origin(row: Lot) -> list[tuple[Any, ...]]:
    """The way back to the stand."""
    population, trip = row.population, row.trip
    return [
        (_("Population"), link("populations.detail", population.id, f"{population.code} · {population.name}")),
        (_("Region of provenance"), population.region_code),
        (_("Basin"), population.basin),
        (_("Trip"), link("trips.detail", trip.id, trip.code) if trip else ""),
        (_("Collected on"), format_date(row.collected_on)),
        (_("Mother plants"), format_number(row.mother_plants)),
        (
            _("Permit number"),
            link("permits.detail", row.permit.id, row.permit_number) if row.permit else row.permit_number,
        ),
        *_papers(row),
    ]


def _papers(row: Lot) -> list[tuple[Any, ...]]:
    """What only some lots have: those received, mixed, or of a registered stand."""
    papers = [
        (_("Received"), _("from somebody else") if row.is_received else ""),
        (_("Supplier’s document"), row.supplier_document),
        (_("Master certificate"), row.certificate_number),
    ]
    return [paper for paper in papers if paper[1]]


def context(row: Lot) -> Mapping[str, Any]:
    """Origin, quality and storage of a lot for its page."""
    from nursery.services.lot_quality import quality_of  # noqa: PLC0415 -- slow import

    entry = entry_of(row)
    quality = quality_of(row, entry, today()) if entry else None
    return {
        "origin": origin(row),
        "quality": quality,
        "storage": entry.storage if entry else None,
        "storage_label": STORAGE_LABELS[entry.storage.behaviour] if entry else "",
        "inputs": _inputs(row, quality) if quality else [],
    }


def _inputs(row: Lot, quality: Any) -> list[tuple[str, str, str]]:
    ruling = rulings(tests(row))

    def source(known: Any, column: str) -> str:
        test = ruling[column]
        if test is not None and test.result == known.value:
            return _("%(test)s of %(day)s", test=KIND_LABELS[test.kind], day=format_date(test.tested_on))
        return _("own test of this lot") if known.own else _("from the catalogue; this lot has no test")

    return [
        (_("Purity"), format_percent(quality.purity.value, 1), source(quality.purity, "purity")),
        (
            _("Germination"),
            format_percent(quality.germination.value, 1),
            source(quality.germination, "germination"),
        ),
        (
            _("Thousand-seed weight"),
            _("%(grams)s g", grams=format_number(quality.tsw_g.value, 4)),
            source(quality.tsw_g, "tsw_g"),
        ),
    ]


def initial() -> Mapping[str, Any]:
    """A new lot of the trip or the population that the address names, as it was planned."""
    population, trip = _named(Population, "population"), _named(Trip, "trip")
    filled: dict[str, Any] = {"permit_number": request.args.get("permit", "").replace("\0", "")[:60]}
    if request.args.get("material") in list(Material):
        filled["material"] = Material(request.args["material"])
    if population is not None:
        filled["population_id"] = population.id
    if trip is not None:
        filled |= {"trip_id": trip.id, "collected_on": trip.collected_on, "ripening_year": trip.collected_on.year}
    return filled


def _named(model: type[Any], argument: str) -> Any:
    code = request.args.get(argument, "").replace("\0", "")
    return db().scalar(select(model).where(model.code == code)) if code else None
