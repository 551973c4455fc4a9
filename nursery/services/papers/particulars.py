"""The particulars of a paper in the order of the law's list, each from the record that holds it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from nursery.catalog.law import PaperField
from nursery.catalog.law_words import FIELD_LABELS, SECTIONS
from nursery.i18n import gettext as _
from nursery.planning.origin.words import Verdict as Level
from nursery.services.papers import identity, seed_quality, supply
from nursery.services.papers.cases import Case, Found, Particular, wanting
from nursery.services.papers.floor import floor_checks
from nursery.services.papers.words import FOREST

_GATHER: dict[str, Callable[[Case], Found]] = {
    "certificate": identity.certificate,
    "lot-number": identity.lot_number,
    "species": identity.species,
    "category": identity.category,
    "purpose": identity.purpose,
    "basic-material": identity.basic_material,
    "register-reference": identity.register_reference,
    "region": identity.region,
    "indigenous-status": identity.indigenous_status,
    "ripening-year": identity.ripening_year,
    "age-and-stock": identity.age_and_stock,
    "genetically-modified": identity.genetically_modified,
    "document-number": supply.document_number,
    "supplier": supply.supplier,
    "recipient": supply.recipient,
    "quantity": supply.quantity,
    "packages": supply.packages,
    "label-numbers": supply.label_numbers,
    "provisional": supply.provisional,
    "vegetative": supply.vegetative,
    "populus-class": supply.populus_class,
    "quantity-per-package": supply.quantity_per_package,
    "container": supply.container,
    "trays": supply.trays,
    "purity": seed_quality.purity,
    "germination": seed_quality.germination,
    "thousand-seed-weight": seed_quality.thousand_seed_weight,
    "germinable-per-kg": seed_quality.germinable_per_kg,
    "analysis-date": seed_quality.analysis_date,
    "cold-store": seed_quality.cold_store,
    "passport-a": supply.passport_a,
    "passport-b": supply.passport_b,
    "passport-c": supply.passport_c,
    "passport-d": supply.passport_d,
    "passport-pz": supply.passport_pz,
    "passport-replaces": supply.passport_replaces,
    "destination": supply.destination,
    "delivered-on": supply.delivered_on,
    "vehicle": supply.vehicle,
    "content": supply.content,
}


@dataclass(frozen=True)
class Section:
    """Particulars that stand together."""

    key: str
    title: str
    rows: tuple[Particular, ...]


def gather(case: Case) -> list[Section]:
    """Every particular that the paper prints, those missing among them."""
    fields = case.consignment.law.fields(case.kind.value, case.consignment.country, case.consignment.day)
    found: dict[str, list[Particular]] = {}
    for field in fields:
        if _is_asked(case, field):
            value, missing, link = _found(case, field.field)
            label = str(FIELD_LABELS[field.field])
            found.setdefault(field.section, []).append(Particular(field.field, label, value, missing, link))
    return [Section(key, str(SECTIONS[key]), tuple(rows)) for key, rows in found.items()]


def _found(case: Case, field: str) -> Found:
    if case.part is None or case.part.lots:
        return _GATHER[field](case)
    batch_id = case.part.lines[0].batch_id
    return wanting(_("No lot is on record for these plants."), "batches.detail", record_id=batch_id)


def missing(case: Case, sections: Sequence[Section]) -> list[Particular]:
    """What stops the paper: particulars that are not there, and plants below the floor of quality."""
    found = [row for section in sections for row in section.rows if row.is_missing]
    return found + list(_below_the_floor(case))


def _below_the_floor(case: Case) -> Iterator[Particular]:
    if case.kind not in FOREST or case.part is None:
        return
    for check in floor_checks(case.consignment, case.part, case.checks):
        if check.level is Level.STOP:
            yield Particular(
                "quality-floor",
                _("Quality of %(batch)s: %(what)s", batch=check.code, what=check.what),
                missing=check.reason,
                link=("quality.looks", {"batch_id": check.link[1]})
                if check.is_looked_at
                else (check.link[0], {"record_id": check.link[1]}),
            )


def _is_asked(case: Case, field: PaperField) -> bool:
    if not field.only or case.part is None:
        return True
    if field.only == "seed":
        return not case.part.is_cuttings
    return case.part.is_cuttings and any(name.startswith("Populus") for name in case.part.names)
