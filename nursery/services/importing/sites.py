"""Columns of a file of planting sites."""

from __future__ import annotations

from typing import Any

from nursery.i18n import lazy as _l
from nursery.services import limits
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
        help=_l("Your own code of the site. Rows with a code that exists change that site."),
        example="SITE-EXAMPLE",
        also=(
            "site code", "site", "planting site", "código", "cód", "código do local", "local", "código del sitio",
            "sitio", "parcela", "talhão", "id", "plot",
        ),
        required=True,
        max_length=24,
    ),
    Column(
        key="name",
        heading="Name",
        label=_l("Name"),
        shape=Shape.TEXT,
        help=_l("What people call the site."),
        example="Example site (delete this row)",
        also=("site name", "nome", "nome do local", "nombre", "nombre del sitio", "lugar", "place"),
        required=True,
        max_length=120,
    ),
    shared.LATITUDE,
    shared.LONGITUDE,
    Column(
        key="area_ha",
        heading="Area (ha)",
        label=_l("Area (ha)"),
        shape=Shape.NUMBER,
        help=_l("Hectares to be planted."),
        example="3.5",
        also=("area", "hectares", "ha", "área", "superfície", "superficie", "hectáreas"),
        bounds=limits.AREA_HA,
    ),
    shared.ELEVATION,
    shared.BASIN,
    shared.REGION,
    Column(
        key="window_opens",
        heading="Planting opens",
        label=_l("Planting opens"),
        shape=Shape.DAY,
        help=_l("First planting day of a season: 1/11 (day/month) or 1 Nov."),
        example="1 Nov",
        also=(
            "window opens", "planting from", "first planting day", "início da plantação", "plantação de",
            "inicio de plantación", "plantación desde",
        ),
    ),
    Column(
        key="window_closes",
        heading="Planting closes",
        label=_l("Planting closes"),
        shape=Shape.DAY,
        help=_l("Last planting day of a season, written like the first; the window may cross the new year."),
        example="28 Feb",
        also=(
            "window closes", "planting until", "planting to", "last planting day", "fim da plantação",
            "plantação até", "fin de plantación", "plantación hasta",
        ),
    ),
    Column(
        key="planting_permit",
        heading="Planting authorisation",
        label=_l("Planting authorisation"),
        shape=Shape.TEXT,
        help=_l("Number of the planting authorisation or prior notice, as the authority writes it."),
        also=(
            "planting permit", "authorisation", "authorization", "permit", "prior notice",
            "autorização de plantação", "autorização", "comunicação prévia", "licença",
            "autorización de plantación", "autorización", "comunicación previa", "licencia",
        ),
        max_length=60,
    ),
    Column(
        key="recipient_id",
        heading="Recipient",
        label=_l("Recipient"),
        shape=Shape.REFERENCE,
        refers_to="recipients",
        help=_l("Who takes plants over there, by the name on record; left empty where our own crews plant."),
        also=(
            "recipient name", "who takes over", "taken over by", "destinatário", "destinatario", "recebedor",
            "quem recebe", "quién recibe",
        ),
    ),
    shared.NOTES,
)  # fmt: skip


def settle(row: Row) -> None:
    """Nothing follows from other cells."""


def identities(values: dict[str, Any]) -> tuple[tuple[Any, ...], ...]:
    """The code."""
    return (("code", fold(values["code"])),) if values.get("code") else ()


def refuse(row: Row) -> dict[str, str]:
    """Points off the globe or swapped."""
    return shared.refuse_point(row)
