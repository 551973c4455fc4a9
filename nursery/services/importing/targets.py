"""Columns of a file of targets."""

from __future__ import annotations

from typing import Any

from nursery.catalog.reading import load_catalog
from nursery.catalog.vocabulary import protocol_label
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services import limits
from nursery.services.importing import shared
from nursery.services.importing.book import fold
from nursery.services.importing.columns import Column, Columns, Shape
from nursery.services.importing.rows import Row
from nursery.services.targets.checking import refuse_past_season, refuse_replacements

COLUMNS: Columns = (
    Column(
        key="site_id",
        heading="Site code",
        label=_l("Site code"),
        shape=Shape.REFERENCE,
        refers_to="sites",
        help=_l("Code of the planting site; the site must exist."),
        example="SITE-EXAMPLE",
        also=("site", "planting site", "local", "código do local", "sitio", "código del sitio", "parcela", "plot",
              "talhão"),
        required=True,
    ),
    shared.SPECIES,
    Column(
        key="season",
        heading="Season",
        label=_l("Season"),
        shape=Shape.SEASON,
        help=_l("Planting winter: 2027/28, or its first year, 2027."),
        example="2027/28",
        also=("planting season", "winter", "época", "época de plantação", "campanha", "campaña", "temporada",
              "campaña de plantación", "year", "ano", "año"),
        required=True,
        bounds=limits.SEASON,
    ),
    Column(
        key="basis",
        heading="Basis",
        label=_l("Basis"),
        shape=Shape.CHOICE,
        help=_l(
            "plants, density or survivors. Left empty, it follows from what is filled in: a density, a survival"
            " year, or plants alone."
        ),
        example="plants",
        also=("kind", "type", "tipo", "base"),
        words=(
            ("plants", ("plant", "plantas", "number")),
            ("density", ("densidade", "densidad", "plants per ha")),
            ("survivors", ("survivor", "sobreviventes", "supervivientes", "survival")),
        ),
    ),
    Column(
        key="plants",
        heading="Plants",
        label=_l("Plants"),
        shape=Shape.WHOLE,
        help=_l("Plants to plant; with a survival year, plants that should be alive then."),
        example="1200",
        also=("number of plants", "quantity", "wanted", "number", "plantas", "n.º de plantas", "quantidade",
              "cantidad", "survivors", "sobreviventes", "supervivientes"),
        bounds=limits.PLANTS,
    ),
    Column(
        key="density_per_ha",
        heading="Plants per hectare",
        label=_l("Plants per hectare"),
        shape=Shape.NUMBER,
        help=_l("Plants of all species per hectare; goes with the share of the mix and needs the site's area."),
        also=("density", "density per ha", "plants per ha", "plants/ha", "densidade", "plantas/ha",
              "plantas por hectare", "densidad", "plantas por hectárea"),
        bounds=limits.DENSITY_PER_HA,
    ),
    Column(
        key="share",
        heading="Share of the mix",
        label=_l("Share of the mix"),
        shape=Shape.FRACTION,
        help=_l("Share of this species among the plants of the site: 0.25, 25 % or 25."),
        also=("share", "share %", "mix", "proportion", "percentage", "proporção", "percentagem", "proporción",
              "porcentaje"),
        bounds=limits.POSITIVE_FRACTION,
    ),
    Column(
        key="survival_year",
        heading="Survival year",
        label=_l("Survival year"),
        shape=Shape.WHOLE,
        help=_l("1 or 3, when the plants wanted are those alive after so many years."),
        also=("alive at year", "year of survival", "ano de sobrevivência", "año de supervivencia"),
    ),
    Column(
        key="container_id",
        heading="Container",
        label=_l("Container"),
        shape=Shape.REFERENCE,
        refers_to="containers",
        help=_l("Name of the container type, or “nursery / name” where two nurseries use the same name."),
        also=("container type", "tray", "contentor", "tabuleiro", "recipiente", "contenedor", "bandeja", "envase"),
    ),
    Column(
        key="protocol",
        heading="Protocol",
        label=_l("Protocol"),
        shape=Shape.TEXT,
        help=_l("Name of the propagation protocol, as the species page has it; left empty, the species' first."),
        also=("propagation protocol", "protocolo"),
        max_length=120,
    ),
    Column(
        key="seeds_per_cell",
        heading="Seeds per cell",
        label=_l("Seeds per cell"),
        shape=Shape.WHOLE,
        help=_l("Left empty, the plan chooses."),
        also=("seeds/cell", "sementes por alvéolo", "semillas por alvéolo"),
        bounds=limits.SEEDS_PER_CELL,
    ),
    Column(
        key="assurance",
        heading="Assurance",
        label=_l("Assurance"),
        shape=Shape.FRACTION,
        help=_l("The chance asked for that the plants will be there: 80 %. Left empty, the nursery's own."),
        also=("assurance %", "certainty", "garantia", "segurança", "garantía", "seguridad"),
        bounds=limits.CHANCE,
    ),
    Column(
        key="plant_on",
        heading="Plant on",
        label=_l("Plant on"),
        shape=Shape.DATE,
        help=_l("Planting day; left empty, the day the site's window opens."),
        also=("planting date", "planting day", "date", "data de plantação", "data",
              "fecha de plantación", "fecha"),
    ),
    Column(
        key="priority",
        heading="Priority",
        label=_l("Priority"),
        shape=Shape.WHOLE,
        help=_l("1 to 5; 1 is served first."),
        example="3",
        also=("rank", "prioridade", "prioridad"),
        bounds=limits.PRIORITY,
    ),
    Column(
        key="funder",
        heading="Funder",
        label=_l("Funder"),
        shape=Shape.TEXT,
        help=_l("Who pays for it."),
        also=("paid by", "grant", "financiador", "financiamento", "financiación"),
        max_length=120,
    ),
    shared.NOTES,
)  # fmt: skip


def settle(row: Row) -> None:
    """An empty basis follows from what is filled in."""
    given = row.given
    if "basis" not in given:
        if "density_per_ha" in given or "share" in given:
            given["basis"] = "density"
        elif "survival_year" in given:
            given["basis"] = "survivors"
        elif "plants" in given:
            given["basis"] = "plants"


def identities(values: dict[str, Any]) -> tuple[tuple[Any, ...], ...]:
    """Site, species and season."""
    key = tuple(values.get(field) for field in ("site_id", "species", "season"))
    return (key,) if all(key) else ()


def clear_other_basis(row: Row) -> None:
    """When an existing target changes its basis, what belonged to the old one goes."""
    if row.changes("basis"):
        kept = {
            "plants": {"plants"},
            "density": {"density_per_ha", "share"},
            "survivors": {"plants", "survival_year"},
        }[row.given["basis"]]
        for field in {"plants", "density_per_ha", "share", "survival_year"} - kept:
            row.given.setdefault(field, None)


def refuse(row: Row) -> dict[str, str]:
    """A basis with all its parts and no others; a protocol of the species; a planting day in the season."""
    clear_other_basis(row)
    found = _refuse_basis(row) | _refuse_protocol(row) | _refuse_day(row) | _refuse_season(row)
    return refuse_replacements(row.merged) | found


def _refuse_basis(row: Row) -> dict[str, str]:
    target = row.merged
    filled = {key for key, value in target.items() if value is not None}
    if "basis" not in filled:
        return {"plants": _("Say how many are wanted: plants, or plants per hectare with the share of the mix.")}
    if target["basis"] == "density":
        return _refuse_density(row, filled)
    if extra := {"density_per_ha", "share"} & filled:
        return {min(extra): _both()}
    if "plants" not in filled:
        return {"plants": _("Say how many plants are wanted.")}
    return _refuse_survival(target["basis"], target.get("survival_year"))


def _refuse_density(row: Row, filled: set[str]) -> dict[str, str]:
    site = row.book.registers["sites"].by_id.get(row.merged.get("site_id") or 0)
    found = {}
    if "plants" in filled:
        found["plants"] = _both()
    if "density_per_ha" not in filled:
        found["density_per_ha"] = _("A density needs plants per hectare.")
    if "share" not in filled:
        found["share"] = _("A density needs the share of the mix; write 100 % for a single species.")
    if site is not None and site.area_ha is None:
        found["site_id"] = _("Site %(code)s has no area, which a density needs. Give it one.", code=site.name)
    return found


def _both() -> str:
    return _("Give plants, or plants per hectare with a share, not both.")


def _refuse_survival(basis: str, year: int | None) -> dict[str, str]:
    if basis == "survivors" and year not in limits.SURVIVAL_YEARS:
        return {"survival_year": _("Survivors are wanted at year 1 or 3. Write 1 or 3.")}
    if basis == "plants" and year is not None:
        return {"survival_year": _("A survival year goes with the basis survivors. Leave it empty for plants.")}
    return {}


def _refuse_protocol(row: Row) -> dict[str, str]:
    wanted, species = row.given.get("protocol"), row.merged.get("species")
    entry = load_catalog().species.get(species or "")
    if not wanted or entry is None:
        return {}
    known = [protocol_label(protocol.name) for protocol in entry.protocols]
    for protocol, label in zip(entry.protocols, known, strict=True):
        if fold(wanted) in {fold(protocol.key), fold(protocol.name), fold(label)}:
            row.given["protocol"] = protocol.key
            return {}
    return {
        "protocol": _(
            "%(species)s has no protocol “%(protocol)s”. Write one of: %(known)s.",
            species=entry.scientific_name,
            protocol=wanted,
            known="; ".join(known),
        )
    }


def _refuse_season(row: Row) -> dict[str, str]:
    if row.existing is not None and not row.changes("season"):
        return {}
    site = row.book.registers["sites"].by_id.get(row.merged.get("site_id") or 0)
    southern = site is not None and site.southern
    return refuse_past_season(row.merged.get("season"), southern=southern, today=row.today)


def _refuse_day(row: Row) -> dict[str, str]:
    day, season = row.merged.get("plant_on"), row.merged.get("season")
    if day is None or season is None or ("plant_on" not in row.given and "season" not in row.given):
        return {}
    return limits.refuse_planting_day(day, season)
