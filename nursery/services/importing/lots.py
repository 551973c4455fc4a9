"""Columns of a file of lots."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services import limits
from nursery.services.importing import shared
from nursery.services.importing.book import fold
from nursery.services.importing.columns import Column, Columns, Shape
from nursery.services.importing.rows import Row, same
from nursery.services.seed_tests import result_text

#: Marks the identity of a lot that has no code in the file.
ORIGIN = "origin"

COLUMNS: Columns = (
    Column(
        key="code",
        heading="Code",
        label=_l("Code"),
        shape=Shape.LOT_CODE,
        help=_l(
            "Code of the lot with its check character. Left empty, the lot is known by its species, population,"
            " ripening year and collecting day, and a new lot gets a code of its own."
        ),
        also=("lot code", "lot", "lote", "código do lote", "código", "cód", "código del lote", "id"),
        max_length=24,
    ),
    Column(
        key="population_id",
        heading="Population code",
        label=_l("Population code"),
        shape=Shape.REFERENCE,
        refers_to="populations",
        help=_l("Code of the population where it was collected; the population must exist."),
        example="POP-EXAMPLE",
        also=(
            "population", "pop", "stand", "origin", "população", "código da população", "proveniência",
            "población", "código de población", "procedencia",
        ),
        required=True,
    ),
    replace(
        shared.SPECIES,
        required=False,
        help=_l("Species of the lot; left empty, it is that of the population, from which it may not differ."),
    ),
    Column(
        key="material",
        heading="Material",
        label=_l("Material"),
        shape=Shape.CHOICE,
        help=_l("seed or cuttings; left empty, seed."),
        example="seed",
        also=("type", "tipo", "tipo de material"),
        words=(
            ("seed", ("seeds", "semente", "sementes", "semilla", "semillas", "fruit")),
            ("cuttings", ("cutting", "estaca", "estacas", "estaquilla", "estaquillas", "esqueje", "esquejes")),
        ),
    ),
    Column(
        key="collected_on",
        heading="Collected on",
        label=_l("Collected on"),
        shape=Shape.DATE,
        help=_l("Day of collecting: 2026-10-28 or 28/10/2026."),
        example="2026-10-28",
        also=(
            "date", "collection date", "collected", "date collected", "data", "data de colheita", "colhido em",
            "data de recolha", "fecha", "fecha de recolección", "recolectado",
        ),
        required=True,
    ),
    Column(
        key="ripening_year",
        heading="Ripening year",
        label=_l("Ripening year"),
        shape=Shape.WHOLE,
        help=_l("Year in which the seed ripened, which may be before the year of collecting."),
        example="2026",
        also=("year", "crop year", "harvest year", "ano", "ano de maturação", "campanha", "año",
              "año de maduración", "campaña", "cosecha"),
        required=True,
        bounds=limits.RIPENING_YEAR,
    ),
    Column(
        key="mother_plants",
        heading="Mother plants",
        label=_l("Mother plants"),
        shape=Shape.WHOLE,
        help=_l("Number of plants that were collected from."),
        example="32",
        also=("mothers", "number of mother plants", "plantas-mãe", "n.º de plantas-mãe", "árvores-mãe",
              "plantas madre", "pies madre", "n.º de plantas madre"),
        bounds=limits.MOTHER_PLANTS,
    ),
    Column(
        key="amount_g",
        heading="Clean seed (g)",
        label=_l("Clean seed (g)"),
        shape=Shape.NUMBER,
        help=_l("Grams of clean seed in store today. Give grams or pieces, not both."),
        example="1250.5",
        also=("amount g", "amount", "weight", "grams", "weight g", "seed g", "quantidade", "quantidade g", "peso",
              "peso g", "gramas", "cantidad", "cantidad g", "gramos"),
        bounds=limits.AMOUNT_G,
    ),
    Column(
        key="pieces",
        heading="Pieces",
        label=_l("Pieces"),
        shape=Shape.WHOLE,
        help=_l("Number of seeds or cuttings, for lots that are counted."),
        also=("number", "count", "cuttings", "number of cuttings", "número", "n.º", "unidades", "estacas",
              "estaquillas", "piezas", "peças"),
        bounds=limits.PIECES,
    ),
    Column(
        key="purity",
        heading="Purity",
        label=_l("Purity"),
        shape=Shape.FRACTION,
        help=_l("Share of pure seed by weight: 0.95, 95 % or 95."),
        example="98 %",
        also=("purity %", "pureza", "pureza %"),
        bounds=limits.POSITIVE_FRACTION,
    ),
    Column(
        key="tsw_g",
        heading="Thousand-seed weight (g)",
        label=_l("Thousand-seed weight (g)"),
        shape=Shape.NUMBER,
        help=_l("Grams per 1,000 pure seeds."),
        example="3400",
        also=("tsw", "tsw g", "tgw", "thousand seed weight", "1000 seed weight", "peso de mil sementes", "pms",
              "peso de 1000 sementes", "peso de mil semillas", "peso de 1000 semillas"),
        bounds=limits.TSW_G,
    ),
    Column(
        key="germination",
        heading="Germination",
        label=_l("Germination"),
        shape=Shape.FRACTION,
        help=_l("Germination (or viability, or rooting of cuttings) on the day of test: 0.85, 85 % or 85."),
        example="85 %",
        also=("germination %", "viability", "viability %", "rooting", "germinação", "germinação %", "viabilidade",
              "germinación", "germinación %", "viabilidad", "enraizamento", "enraizamiento"),
        bounds=limits.FRACTION,
    ),
    Column(
        key="tested_on",
        heading="Tested on",
        label=_l("Tested on"),
        shape=Shape.DATE,
        help=_l("Day of the germination or viability test."),
        example="2026-11-16",
        also=("test date", "date of test", "tested", "data do ensaio", "data do teste", "fecha del ensayo",
              "fecha de prueba"),
    ),
    Column(
        key="moisture_pct",
        heading="Moisture content (%)",
        label=_l("Moisture content (%)"),
        shape=Shape.PERCENT,
        help=_l("Water as a percentage of fresh weight: 8 or 8 %."),
        example="42",
        also=("moisture", "moisture %", "moisture content", "mc", "humidade", "humidade %", "teor de humidade",
              "humedad", "humedad %", "contenido de humedad"),
        bounds=limits.MOISTURE_PCT,
    ),
    Column(
        key="trip_id",
        heading="Trip code",
        label=_l("Trip code"),
        shape=Shape.REFERENCE,
        refers_to="trips",
        help=_l("Code of the collection trip, when it is on record."),
        also=("trip", "collection trip", "saída", "código da saída", "salida", "código de salida"),
    ),
    Column(
        key="storage_place_id",
        heading="Storage place",
        label=_l("Storage place"),
        shape=Shape.REFERENCE,
        refers_to="storage places",
        help=_l("Name of the storage place, as it is on record."),
        also=("storage", "stored in", "store", "armazenamento", "armazém", "local de armazenamento", "almacén",
              "almacenamiento", "lugar de almacenamiento"),
    ),
    Column(
        key="permit_number",
        heading="Permit number",
        label=_l("Permit number"),
        shape=Shape.TEXT,
        help=_l("Number of the collecting permit, as the authority writes it."),
        example="PERMIT-EXAMPLE",
        also=("permit", "collecting permit", "licença", "n.º da licença", "autorização", "permiso", "autorización",
              "n.º de permiso"),
        max_length=60,
    ),
    shared.NOTES,
)  # fmt: skip


def settle(row: Row) -> None:
    """Grams become whole milligrams; the species is that of the population."""
    given = row.given
    if (grams := given.pop("amount_g", None)) is not None:
        given["amount_mg"] = round(grams * 1000)
    population = row.book.registers["populations"].by_id.get(given.get("population_id", 0))
    if population is not None:
        given.setdefault("species", population.species)


def identities(values: dict[str, Any]) -> tuple[tuple[Any, ...], ...]:
    """The code, then what tells a lot without one."""
    found: list[tuple[Any, ...]] = []
    if values.get("code"):
        found.append(("code", fold(values["code"])))
    origin = tuple(values.get(key) for key in ("species", "population_id", "ripening_year", "collected_on"))
    if all(origin):
        found.append((ORIGIN, *origin))
    return tuple(found)


def refuse(row: Row) -> dict[str, str]:
    """Units, dates in order, and the species of the population."""
    lot, found = row.merged, _refuse_unit(row) | _refuse_ruled(row)
    collected, year, tested = lot.get("collected_on"), lot.get("ripening_year"), lot.get("tested_on")
    if collected and year:
        found |= limits.refuse_collection_date(collected, year, row.today)
    if tested:
        found |= limits.refuse_test_date(tested, collected, row.today)
    trip = row.book.registers["trips"].by_id.get(lot.get("trip_id") or 0)
    if trip is not None and collected and trip.day != collected:
        found["collected_on"] = _(
            "The trip %(code)s was on %(day)s. Correct the day or the trip.",
            code=trip.name,
            day=format_date(trip.day),
        )
    population = row.book.registers["populations"].by_id.get(lot.get("population_id") or 0)
    if population is not None and lot.get("species") and lot["species"] != population.species:
        found["species"] = _(
            "Population %(code)s is of another species. Correct the species or the population.",
            code=population.name,
        )
    return found


def _refuse_ruled(row: Row) -> dict[str, str]:
    """Figures that a test rules are changed by a newer test, not by a file."""
    if row.existing is None:
        return {}
    return {
        column: _(
            "The test of %(day)s rules this figure: %(result)s. Leave the cell empty, record a newer test, or"
            " withdraw that one if it was wrong.",
            day=format_date(test.tested_on),
            result=result_text(test),
        )
        for column, test in row.book.ruled.get(row.existing["id"], {}).items()
        if column in row.given and not same(row.given[column], row.existing[column])
    }


def _refuse_unit(row: Row) -> dict[str, str]:
    given, lot = row.given, row.existing or {}
    if row.merged.get("material") == "cuttings" and "amount_mg" in given:
        return {"amount_g": _("Cuttings are counted. Give the amount in pieces.")}
    if "amount_mg" in given and "pieces" in given:
        return {"pieces": _("Give grams or pieces, not both.")}
    if row.existing is None and "amount_mg" not in given and "pieces" not in given:
        return {"amount_g": _("A new lot needs an amount: grams of clean seed, or pieces.")}
    if lot and "pieces" in given and lot["pieces"] is None:
        return {"pieces": _("This lot is kept in grams. Give its amount in grams.")}
    if lot and "amount_mg" in given and lot["amount_mg"] is None:
        return {"amount_g": _("This lot is kept in pieces. Give its amount in pieces.")}
    return {}
