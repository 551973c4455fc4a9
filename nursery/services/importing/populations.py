"""Columns of a file of populations."""

from __future__ import annotations

from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services import limits
from nursery.services.countries import refuse_country
from nursery.services.importing import shared
from nursery.services.importing.book import fold
from nursery.services.importing.columns import Column, Columns, Shape
from nursery.services.importing.rows import Row

COLUMNS: Columns = (
    Column(
        key="code",
        heading="Code",
        label=_l("Code"),
        shape=Shape.CODE,
        help=_l("Your own code of the population. Rows with a code that exists change that population."),
        example="POP-EXAMPLE",
        also=(
            "population code", "population", "stand code", "pop", "código", "cód", "código da população",
            "população", "código de población", "población", "id", "stand",
        ),
        required=True,
        max_length=24,
    ),
    Column(
        key="name",
        heading="Name",
        label=_l("Name"),
        shape=Shape.TEXT,
        help=_l("What people call the stand."),
        example="Example stand (delete this row)",
        also=("population name", "stand name", "nome", "local", "localidade", "nombre", "lugar", "place"),
        required=True,
        max_length=120,
    ),
    shared.SPECIES,
    shared.LATITUDE,
    shared.LONGITUDE,
    shared.ELEVATION,
    shared.BASIN,
    shared.REGION,
    Column(
        key="indigenous_status",
        heading="Indigenous status",
        label=_l("Indigenous status"),
        shape=Shape.CHOICE,
        help=_l("One of: autochthonous, indigenous, non-indigenous, unknown."),
        example="autochthonous",
        also=("status", "origin", "origem", "estatuto", "indigenato", "origen", "estatus", "carácter autóctono"),
        words=(
            ("autochthonous", ("autóctone", "autóctona", "autóctono", "native", "nativa", "nativo")),
            ("indigenous", ("indígena", "indigena")),
            (
                "non-indigenous",
                (
                    "non indigenous", "not indigenous", "introduced", "planted", "não indígena", "não autóctone",
                    "introduzida", "no indígena", "no autóctona", "no autóctono", "introducida", "plantada",
                ),
            ),
            ("unknown", ("desconhecida", "desconhecido", "desconocida", "desconocido", "?")),
        ),
    ),
    Column(
        key="fruiting_plants",
        heading="Fruiting plants",
        label=_l("Fruiting plants"),
        shape=Shape.WHOLE,
        help=_l("Number of plants that bear fruit."),
        example="120",
        also=(
            "number of fruiting plants", "plants", "trees", "plantas com fruto", "árvores", "n.º de plantas",
            "plantas con fruto", "árboles", "pies con fruto", "n.º de pies",
        ),
        bounds=limits.FRUITING_PLANTS,
    ),
    Column(
        key="register_reference",
        heading="Register reference",
        label=_l("Register reference"),
        shape=Shape.TEXT,
        help=_l("Of the approved unit in the national register, as the authority writes it."),
        also=(
            "register", "national register", "approved unit", "registo", "referência do registo", "registro",
            "referencia del registro", "unidad de admisión",
        ),
        max_length=40,
    ),
    Column(
        key="country",
        heading="Country",
        label=_l("Country"),
        shape=Shape.CODE,
        help=_l("Two letters, such as PT or ES; left empty, the nursery’s own."),
        also=("country code", "país", "pais", "iso country"),
        max_length=2,
    ),
    Column(
        key="is_sensitive",
        heading="Sensitive place",
        label=_l("Sensitive place"),
        shape=Shape.CHOICE,
        help=_l("yes where the place is to be rounded in data that leave the house."),
        also=("sensitive", "sensível", "local sensível", "sensible", "lugar sensible"),
        words=(("yes", ("y", "sim", "sí", "si", "true", "x")), ("no", ("n", "não", "false"))),
    ),
    shared.NOTES,
)  # fmt: skip


def settle(row: Row) -> None:
    """Yes or no as the table keeps it; a population that is there keeps its own where the cell is empty."""
    if isinstance(row.given.get("country"), str):
        row.given["country"] = row.given["country"].upper()
    if "is_sensitive" in row.given:
        row.given["is_sensitive"] = row.given["is_sensitive"] == "yes"


def identities(values: dict[str, Any]) -> tuple[tuple[Any, ...], ...]:
    """The code."""
    return (("code", fold(values["code"])),) if values.get("code") else ()


def refuse(row: Row) -> dict[str, str]:
    """Points off the globe or swapped; another species once lots were collected."""
    found = shared.refuse_point(row) | refuse_country(row.given)
    if row.existing and row.changes("species") and row.existing["id"] in row.book.collected:
        found["species"] = _(
            "This population has lots of another species, so its species stays. Give the other species a"
            " population of its own."
        )
    return found
