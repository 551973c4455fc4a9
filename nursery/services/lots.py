"""Lots of seed or cuttings: the unit of identity."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Population, Species, StoragePlace, Trip
from nursery.models.lots import Material
from nursery.models.movements import MovementKind
from nursery.services import checking, records
from nursery.services.codes import check_lot_code, next_lot_code
from nursery.services.ledger import open_balances
from nursery.services.listing import (
    Column,
    Filter,
    Listing,
    choice_options,
    options_of,
    species_options,
    whole,
)
from nursery.services.lot_checks import refuse_lot
from nursery.services.lot_storage import storage_changes
from nursery.services.permits.holding import RESTS_ON, check_lots
from nursery.services.permits.overruns import accounts_now
from nursery.services.seed_tests import list_tests, refuse_ruled

MATERIAL_LABELS = {Material.SEED: _l("Seed"), Material.CUTTINGS: _l("Cuttings")}
#: Whether a lot may be sown; SQLite and PostgreSQL both give the column as a truth value.
HOLD_LABELS = {"True": _l("On hold"), "False": _l("May be sown")}


def _places(session: Session) -> Sequence[tuple[str, str]]:
    places = session.execute(select(StoragePlace.id, StoragePlace.name).order_by(StoragePlace.name))
    return [(str(place_id), name) for place_id, name in places]


def _truth(text: str) -> bool:
    if text not in HOLD_LABELS:
        raise ValueError(text)
    return text == "True"


LISTING = Listing(
    model=Lot,
    order="code",
    joins=lambda query: (
        query.join(Species, Lot.species_id == Species.id)
        .join(Population, Lot.population_id == Population.id)
        .outerjoin(Trip, Lot.trip_id == Trip.id)
        .outerjoin(StoragePlace, Lot.storage_place_id == StoragePlace.id)
    ),
    columns=(
        Column("code", _l("Code"), Lot.code, "code", link=("lots.detail", Lot.id)),
        Column(
            "species",
            _l("Species"),
            Species.scientific_name,
            "taxon",
            link=("species.detail", Species.key),
        ),
        Column("population", _l("Population"), Population.name, link=("populations.detail", Population.id)),
        Column("ripening_year", _l("Ripening year"), Lot.ripening_year, "year"),
        Column("amount", _l("Amount"), Lot.amount_mg, "amount", unit="g"),
        Column("pieces", _l("Pieces"), Lot.pieces, "number"),
        Column("germination", _l("Germination"), Lot.germination, "percent", digits=1),
        Column(
            "storage",
            _l("Kept in"),
            StoragePlace.name,
            link=("storage.detail", StoragePlace.id),
            nullable=True,
        ),
        Column("material", _l("Material"), Lot.material, "choice", choices=MATERIAL_LABELS, on_screen=False),
        Column("population_code", _l("Population code"), Population.code, "code", on_screen=False),
        Column("region", _l("Region of provenance"), Population.region_code, on_screen=False),
        Column("trip", _l("Trip"), Trip.code, "code", nullable=True, on_screen=False),
        Column("collected_on", _l("Collected on"), Lot.collected_on, "date", on_screen=False),
        Column("mothers", _l("Mother plants"), Lot.mother_plants, "number", on_screen=False),
        Column("purity", _l("Purity"), Lot.purity, "percent", digits=1, on_screen=False),
        Column("tsw", _l("Thousand-seed weight"), Lot.tsw_g, "number", digits=4, unit="g", on_screen=False),
        Column("tested_on", _l("Tested on"), Lot.tested_on, "date", on_screen=False),
        Column("moisture", _l("Moisture"), Lot.moisture_pct, "number", digits=1, unit="%", on_screen=False),
        Column("permit", _l("Permit number"), Lot.permit_number, on_screen=False),
        Column("certificate", _l("Master certificate"), Lot.certificate_number, on_screen=False),
        Column("supplier_document", _l("Supplier’s document"), Lot.supplier_document, on_screen=False),
        Column("hold", _l("Hold"), Lot.is_held, "choice", choices=HOLD_LABELS, on_screen=False),
        Column("notes", _l("Notes"), Lot.notes, on_screen=False),
    ),
    search=(Lot.code, Population.code, Population.name, Lot.permit_number),
    search_species=True,
    filters=(
        Filter("species", _l("Species"), Species.key, species_options(Lot)),
        Filter(
            "ripening_year", _l("Ripening year"), Lot.ripening_year, options_of(Lot.ripening_year), parse=whole
        ),
        Filter("region", _l("Region of provenance"), Population.region_code, options_of(Population.region_code)),
        Filter("basin", _l("Basin"), Population.basin, options_of(Population.basin)),
        Filter("storage", _l("Kept in"), StoragePlace.id, _places, parse=whole),
        Filter("material", _l("Material"), Lot.material, choice_options(MATERIAL_LABELS), parse=Material),
        Filter("hold", _l("Hold"), Lot.is_held, choice_options(HOLD_LABELS), parse=_truth),
    ),
)


#: Columns that only the ledger changes.
BALANCES = ("amount_mg", "pieces", "fruit_mg")


def create_lot(
    session: Session,
    actor: str,
    *,
    values: Mapping[str, Any],
    today: dt.date,
    opened_on: dt.date | None = None,
) -> Lot:
    """Write a lot down; an empty code gets the next one of its species and year.

    Its amounts become the first movements of its ledger: collected on the day of collecting, or held on the day
    ``opened_on``, because the seed was in store before or came from somebody else. For seed that was received no
    permit is asked.
    """
    checked = _complete(session, values)
    _check(session, checked, today)
    species = session.get_one(Species, checked["species_id"])
    code = checked.get("code") or next_lot_code(
        session, Lot.code, species.scientific_name, checked["ripening_year"]
    )
    lot = records.create(session, actor, Lot, {**checked, "code": check_lot_code(code)})
    session.flush()
    if opened_on is None:
        open_balances(session, actor, [lot])
    else:
        reason = _("Received from somebody else") if lot.is_received else ""
        opening = MovementKind.OPENING
        open_balances(session, actor, [lot], kind=opening, happened_on=opened_on, reason=reason)
    if not lot.is_received:
        check_lots(session, actor, [lot.id])
    return lot


def change_lot(
    session: Session,
    actor: str,
    *,
    row: Lot,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Lot:
    """Change a lot; its code stays whatever else changes, because it is on the bags.

    Amounts among the values are left alone: they are the sums of the ledger, and a recount changes them.
    """
    given = {name: value for name, value in values.items() if name not in BALANCES}
    wanted = _complete(session, {**given, "code": values.get("code") or row.code})
    checked = {**checking.columns_of(row), **wanted}
    _check(session, checked, today)
    if refused := refuse_ruled(row, list_tests(session, row), given):
        raise Invalid(refused)
    if wanted["code"] != row.code:
        wanted["code"] = check_lot_code(wanted["code"])
    wanted |= storage_changes(session, {row: wanted}, today)[row]
    if wanted.get("is_received"):
        wanted["permit_id"] = None  # it takes nothing of what a permit allows
    rests = RESTS_ON | {"is_received"}
    before = {name: getattr(row, name) for name in rests}
    taken = None
    if any(name in wanted and wanted[name] != value for name, value in before.items()):
        taken = accounts_now(session, {row.species_id, wanted.get("species_id", row.species_id)})
    changed = records.update(session, actor, row, wanted, version=version)
    if not changed.is_received and any(getattr(changed, name) != value for name, value in before.items()):
        check_lots(session, actor, [changed.id], before=taken)
    return changed


def _complete(session: Session, values: Mapping[str, Any]) -> dict[str, Any]:
    """Fill what follows from the rest: species from the population, day from the trip, year from the day."""
    full = dict(values)
    population = session.get(Population, full["population_id"]) if full.get("population_id") else None
    if population is None:
        raise Invalid({"population_id": _("Name the population that the lot comes from.")})
    if full.get("species_id") is None:
        full["species_id"] = population.species_id
    trip = session.get(Trip, full["trip_id"]) if full.get("trip_id") else None
    if full.get("collected_on") is None:
        if trip is None:
            raise Invalid({"collected_on": _("Give the day of collection, or the trip.")})
        full["collected_on"] = trip.collected_on
    if full.get("ripening_year") is None:
        full["ripening_year"] = full["collected_on"].year
    return full


def _check(session: Session, values: Mapping[str, Any], today: dt.date) -> None:
    refused = refuse_lot(session, values, today)
    if refused:
        raise Invalid(refused)
