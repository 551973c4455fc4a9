"""Lots of a dossier: their chain, mothers, tests and the ledger of their seed, as tables."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Lot, Movement, SeedTest
from nursery.models.movements import Measure
from nursery.services.dossier.places import Gathered
from nursery.services.dossier.scope import Scope
from nursery.services.dossier.words import BASIS_LABELS, coded
from nursery.services.ledger.words import KIND_LABELS as MOVEMENT_LABELS
from nursery.services.ledger.words import MEASURE_LABELS
from nursery.services.lots import MATERIAL_LABELS
from nursery.services.seed_tests.words import KIND_LABELS as TEST_LABELS
from nursery.tabular.packages import Column, Link, Table, Value

TO_LOT = Link(("lot",), "lots", ("lot",))


def lots_table(gathered: Gathered, scope: Scope) -> Table:
    """Every lot that any row names, as it stands."""
    columns = [
        Column("lot", _("Lot"), required=True), Column("species", _("Species"), required=True),
        Column("material", _("Material"), words=coded(MATERIAL_LABELS)),
        Column("population", _("Population"), required=True), Column("trip", _("Trip")),
        Column("collected_on", _("Collected on"), "date"), Column("ripening_year", _("Ripening year"), "integer"),
        Column("mother_plants", _("Mother plants"), "integer", _("Plants sampled; empty where not counted.")),
        Column("plants_present", _("Plants present"), "integer"),
        Column("is_received", _("Received from others"), "boolean"),
        Column("supplier_document", _("Supplier’s document")), Column("certificate", _("Master certificate")),
        Column("permit_id", _("Permit"), "integer"), Column("permit_number", _("Permit number")),
        Column("seed_g", _("Clean seed held (g)"), "number", digits=1),
        Column("pieces", _("Pieces held"), "integer"),
        Column("purity", _("Purity"), "fraction", digits=1),
        Column("tsw_g", _("Thousand-seed weight (g)"), "number", digits=2),
        Column(
            "germination", _("Germination"), "fraction",
            _("On the day of test; viability where that was tested."), digits=1,
        ),
        Column("tested_on", _("Tested on"), "date"), Column("moisture_pct", _("Moisture (%)"), "number", digits=1),
        Column("storage_place", _("Storage place")), Column("stored_on", _("Stored since"), "date"),
        Column("temperature_c", _("Temperature (°C)"), "number", digits=1),
        Column("humidity_pct", _("Humidity (%)"), "number"),
        Column("is_held", _("On hold"), "boolean", _("No permit covered it; not to be sown until released.")),
        Column("released_by", _("Released by")), Column("released_on", _("Released on"), "date"),
        Column("release_reason", _("Reason of the release")),
    ]  # fmt: skip
    rows = [_lot(one, scope) for one in gathered.lots]
    links = [
        Link(("species",), "species", ("species",)), Link(("population",), "populations", ("population",)),
        Link(("trip",), "trips", ("trip",)), Link(("permit_id",), "permits", ("permit_id",)),
    ]  # fmt: skip
    return Table("lots", _("Lots"), columns, rows, ("lot",), links)


def _lot(one: Lot, scope: Scope) -> tuple[Value, ...]:
    kept = one.storage_place
    return (
        one.code, one.species.scientific_name, one.material.value, one.population.code,
        one.trip.code if one.trip else None, one.collected_on, one.ripening_year, one.mother_plants,
        one.plants_present, one.is_received, one.supplier_document, one.certificate_number, one.permit_id,
        one.permit_number, None if one.amount_mg is None else one.amount_mg / 1000, one.pieces, one.purity,
        one.tsw_g, one.germination, one.tested_on, one.moisture_pct, kept.name if kept else "",
        one.stored_on or (one.collected_on if kept else None), kept.temperature_c if kept else None,
        kept.humidity_pct if kept else None, one.is_held, scope.asked.name(one.released_by),
        one.released_at.date() if one.released_at else None, one.release_reason,
    )  # fmt: skip


def shares_table(scope: Scope) -> Table:
    """Which part of the plants passed through each lot."""
    columns = [
        _basis(), Column("lot", _("Lot"), required=True),
        Column("share", _("Share of the plants"), "fraction", digits=1),
        Column(
            "plants", _("Plants"), "number",
            _("Share times all plants of this kind; empty for a lot."), digits=1,
        ),
        Column("is_collected", _("Collected"), "boolean", _("Not made from other lots.")),
    ]  # fmt: skip
    rows = [
        (basis.value, one.lot.code, _capped(one.share), _plants(scope, one.share * found.plants), one.collected)
        for basis, found in scope.origins.items()
        for one in found.lots
    ]
    return Table("shares", _("Lots behind the plants"), columns, rows, ("basis", "lot"), [TO_LOT])


def flows_table(gathered: Gathered, scope: Scope) -> Table:
    """Splits and mixes of seed behind the plants."""
    codes = {lot.id: lot.code for lot in gathered.lots}
    columns = [
        _basis(), Column("from_lot", _("From lot"), required=True),
        Column("into_lot", _("Into lot"), required=True),
        Column("share", _("Share of the plants"), "fraction", digits=1),
    ]  # fmt: skip
    rows = [
        (basis.value, codes[source], codes[into], _capped(share))
        for basis, found in scope.origins.items()
        for source, into, share in found.links
    ]
    links = [Link(("from_lot",), "lots", ("lot",)), Link(("into_lot",), "lots", ("lot",))]
    return Table("flows", _("Splits and mixes of seed"), columns, rows, ("basis", "from_lot", "into_lot"), links)


def mothers_table(scope: Scope) -> Table:
    """Single mothers and their shares."""
    columns = [
        _basis(), Column("population", _("Population"), required=True),
        Column("mother", _("Mother"), required=True),
        Column("species", _("Species"), required=True),
        Column("share", _("Share of the plants"), "fraction", digits=2),
        Column(
            "plants", _("Plants"), "number",
            _("Share times all plants of this kind; empty for a lot."), digits=1,
        ),
        Column("lots", _("Bags in lots"), about=_("Codes, with semicolons between them.")),
    ]  # fmt: skip
    rows = [
        (
            basis.value, one.lot.population_code, one.tag, one.lot.species, _capped(one.share),
            _plants(scope, one.share * found.plants), ";".join(one.lots),
        )
        for basis, found in scope.origins.items()
        for one in found.mothers
    ]  # fmt: skip
    links = [Link(("population",), "populations", ("population",)), Link(("species",), "species", ("species",))]
    return Table("mothers", _("Single mothers"), columns, rows, ("basis", "population", "mother"), links)


def worth_table(scope: Scope) -> Table:
    """How many mothers the plants of each species are worth."""
    columns = [
        _basis(), Column("species", _("Species"), required=True),
        Column("plants", _("Plants"), "number", digits=1),
        Column("mothers", _("Known mothers"), "integer"),
        Column(
            "effective_mothers", _("Effective mothers"), "number",
            _("One divided by the sum of squared shares; empty where bags were not kept apart."), digits=1,
        ),
        Column("pooled_lots", _("Lots without bags"), about=_("Codes, with semicolons between them.")),
    ]  # fmt: skip
    rows = [
        (
            basis.value, one.species, _plants(scope, one.plants), one.mothers, one.effective,
            ";".join(one.pooled),
        )
        for basis, found in scope.origins.items()
        for one in found.species
    ]  # fmt: skip
    links = [Link(("species",), "species", ("species",))]
    return Table("diversity", _("Mothers by species"), columns, rows, ("basis", "species"), links)


def tests_table(session: Session, gathered: Gathered, scope: Scope) -> Table:
    """Seed tests, the withdrawn ones too."""
    codes = {lot.id: lot.code for lot in gathered.lots}
    columns = [
        Column("test_id", _("Our number"), "integer", required=True), Column("lot", _("Lot"), required=True),
        Column("kind", _("Test"), words=coded(TEST_LABELS)), Column("tested_on", _("Tested on"), "date"),
        Column(
            "result", _("Result"), "number",
            _("A share (germination, viability, purity), grams a thousand (weight), or per cent (moisture)."),
            digits=3,
        ),
        Column("low", _("Low"), "number", _("Of the 95 % interval, where there is one."), digits=3),
        Column("high", _("High"), "number", digits=3),
        Column("is_accepted", _("Replicates agree"), "boolean"), Column("person", _("Person")),
        Column("withdrawn_on", _("Withdrawn on"), "date"), Column("withdrawn_reason", _("Why withdrawn")),
    ]  # fmt: skip
    found = session.scalars(
        select(SeedTest)
        .where(SeedTest.lot_id.in_(scope.lot_ids))
        .order_by(SeedTest.lot_id, SeedTest.tested_on, SeedTest.id)
    )
    rows = [
        (
            one.id, codes[one.lot_id], one.kind.value, one.tested_on, one.result, one.low, one.high,
            one.is_accepted, scope.asked.name(one.person),
            one.withdrawn_at.date() if one.withdrawn_at else None, one.withdrawn_reason,
        )
        for one in found
    ]  # fmt: skip
    return Table("seed_tests", _("Seed tests"), columns, rows, ("test_id",), [TO_LOT])


def movements_table(session: Session, gathered: Gathered, scope: Scope) -> Table:
    """The ledger of the lots' seed."""
    codes = {lot.id: lot.code for lot in gathered.lots}
    columns = [
        Column("movement_id", _("Our number"), "integer", required=True), Column("lot", _("Lot"), required=True),
        Column("happened_on", _("Day"), "date"), Column("kind", _("What"), words=coded(MOVEMENT_LABELS)),
        Column("measure", _("Of"), words=coded(MEASURE_LABELS)),
        Column(
            "change", _("Change"), "number",
            _("Grams, or pieces; below zero for what left the lot."), digits=3,
        ),
        Column("other_lot", _("Other lot"), about=_("Of a split or a mix.")),
        Column("reason", _("Reason")), Column("person", _("Person")),
    ]  # fmt: skip
    other = select(Lot.id, Lot.code).where(
        Lot.id.in_(select(Movement.other_lot_id).where(Movement.lot_id.in_(scope.lot_ids)))
    )
    codes |= {row[0]: row[1] for row in session.execute(other)}
    found = session.scalars(
        select(Movement)
        .where(Movement.lot_id.in_(scope.lot_ids))
        .order_by(Movement.lot_id, Movement.happened_on, Movement.id)
    )
    rows = [
        (
            one.id, codes[one.lot_id], one.happened_on, one.kind.value, one.measure.value,
            one.change if one.measure is Measure.PIECES else one.change / 1000,
            codes[one.other_lot_id] if one.other_lot_id else "", one.reason, scope.asked.name(one.person),
        )
        for one in found
    ]  # fmt: skip
    return Table("seed_movements", _("Ledger of seed"), columns, rows, ("movement_id",), [TO_LOT])


def _basis() -> Column:
    return Column("basis", _("Of which plants"), words=coded(BASIS_LABELS), required=True)


def _plants(scope: Scope, plants: float) -> float | None:
    return plants if scope.site is not None else None


def _capped(share: float) -> float:
    # Sums of shares may pass 1 by a rounding error.
    return min(share, 1.0)
