"""Columns of a file of plantings."""

from __future__ import annotations

from typing import Any

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services import limits
from nursery.services.codes import lot_code
from nursery.services.importing import shared
from nursery.services.importing.columns import Column, Columns, Shape
from nursery.services.importing.rows import Row
from nursery.services.planting_people import AREA_M2, HOURS, VOLUNTEERS, refuse_hours

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
    Column(
        key="lot_id",
        heading="Lot code",
        label=_l("Lot code"),
        shape=Shape.REFERENCE,
        refers_to="lots",
        takes_archived=True,  # what was planted is often the last of its lot and batch
        help=_l("Code of the lot that the plants were raised from; the lot must exist."),
        example=lot_code("Quercus ilex", 2026, 1),  # the code that the example of a lot gets
        also=("lot", "lote", "código do lote", "código del lote"),
        required=True,
    ),
    Column(
        key="batch_id",
        heading="Batch",
        label=_l("Batch"),
        shape=Shape.REFERENCE,
        refers_to="batches",
        takes_archived=True,
        help=_l("Code of the batch that they were grown in, if you know it; it must hold plants of the lot."),
        also=("batch code", "crop", "fornada", "código da fornada", "partida", "código de la partida", "tanda"),
    ),
    Column(
        key="dispatch_line_id",
        heading="Load",
        label=_l("Load"),
        shape=Shape.REFERENCE,
        refers_to="loads",
        help=_l("Code of the load by which they came, once it has arrived; its batch goes along."),
        also=("load code", "dispatch", "delivery", "carga", "código da carga", "código de la carga", "expedição",
              "envio", "envío", "remessa"),
    ),
    Column(
        key="planted_on",
        heading="Planted on",
        label=_l("Planted on"),
        shape=Shape.DATE,
        help=_l("Day of planting: 2026-11-28 or 28/11/2026."),
        example="2026-11-14",
        also=("date", "planting date", "planted", "data", "data de plantação", "plantado em", "fecha",
              "fecha de plantación", "plantado el"),
        required=True,
    ),
    Column(
        key="plants",
        heading="Plants",
        label=_l("Plants"),
        shape=Shape.WHOLE,
        help=_l("Plants that went into the ground."),
        example="240",
        also=("number of plants", "quantity", "number", "plantas", "n.º de plantas", "quantidade", "cantidad"),
        required=True,
        bounds=limits.PLANTS,
    ),
    Column(
        key="is_replacement",
        heading="Replacement",
        label=_l("Replacement"),
        shape=Shape.CHOICE,
        help=_l("yes where they were planted in place of dead ones; left empty, no."),
        example="no",
        also=("replacements", "beating up", "retancha", "reposição", "reposición", "replantação"),
        words=(("yes", ("y", "sim", "sí", "si", "replacement", "x")), ("no", ("n", "não", "first planting"))),
    ),
    Column(
        key="people",
        heading="Who planted",
        label=_l("Who planted"),
        shape=Shape.TEXT,
        help=_l("Names with commas between, or a number such as “crew of 6”."),
        also=("people", "crew", "planted by", "quem plantou", "equipa", "quién plantó", "cuadrilla"),
        max_length=200,
    ),
    Column(
        key="volunteers",
        heading="Volunteers",
        label=_l("Volunteers"),
        shape=Shape.WHOLE,
        help=_l("How many volunteers planted, on top of the names or the crew given."),
        also=("number of volunteers", "voluntários", "voluntarios"),
        bounds=VOLUNTEERS,
    ),
    Column(
        key="hours",
        heading="Hours of all together",
        label=_l("Hours of all together"),
        shape=Shape.NUMBER,
        help=_l("3 people for 5 h are 15; at most 24 for each person."),
        also=("hours", "person hours", "horas", "horas-pessoa", "horas-persona"),
        bounds=HOURS,
    ),
    Column(
        key="area_m2",
        heading="Ground planted (m²)",
        label=_l("Ground planted (m²)"),
        shape=Shape.NUMBER,
        help=_l("Square metres that were planted; the density follows from them."),
        also=("ground planted", "area", "area m2", "área", "área plantada", "superficie"),
        bounds=AREA_M2,
    ),
    shared.NOTES,
)  # fmt: skip


def settle(row: Row) -> None:
    """First plantings, unless the file says otherwise; a load becomes the line by which the plants came."""
    if "is_replacement" not in row.unread:
        row.given["is_replacement"] = row.given.get("is_replacement") == "yes"
    load_id = row.given.pop("dispatch_line_id", None)
    if load_id is None or not {"lot_id", "batch_id"}.isdisjoint(row.unread):
        return
    line = row.book.loads.line_of(
        load_id, lot_id=row.given.get("lot_id"), batch_id=row.given.get("batch_id")
    )  # fmt: skip
    if isinstance(line, str):
        row.problems.append(("dispatch_line_id", line))
        row.unread.add("dispatch_line_id")
    else:
        row.given |= {"dispatch_line_id": line.id, "batch_id": line.batch_id}


def identities(values: dict[str, Any]) -> tuple[tuple[Any, ...], ...]:
    """Site, lot, day, whether they make up for losses, and the batch where one is told."""
    key = tuple(values.get(field) for field in ("site_id", "lot_id", "planted_on"))
    if not all(key):
        return ()
    known = (*key, bool(values.get("is_replacement")))
    return ((*known, values["batch_id"]), known) if "batch_id" in values else (known,)


def refuse(row: Row) -> dict[str, str]:
    """A day that was not yet, or before the seed was collected; hours, batches and loads that cannot be."""
    found = {**_refuse_growing(row), **refuse_hours(row.merged)}
    day = row.merged.get("planted_on")
    lot = row.book.registers["lots"].by_id.get(row.merged.get("lot_id") or 0)
    if day is None:
        return found
    if day > row.today:
        found["planted_on"] = _(
            "%(day)s is still to come. Write a planting down on its day or later.", day=format_date(day)
        )
    elif lot is not None and lot.day is not None and day < lot.day:
        found["planted_on"] = _(
            "%(day)s is before lot %(lot)s was collected, on %(collected)s. Correct the day or the lot.",
            day=format_date(day),
            lot=lot.name,
            collected=format_date(lot.day),
        )
    return found


def _refuse_growing(row: Row) -> dict[str, str]:
    """A batch or load that the plants cannot be of; a planting that is on record without its batch."""
    if "lot_id" in row.unread:
        return {}
    if "batch_id" not in row.given and not (row.existing and row.changes("plants")):
        return {}
    loads, given = row.book.loads, row.merged
    key = tuple(given.get(field) for field in ("site_id", "lot_id", "planted_on", "is_replacement"))
    if row.existing is None and key in loads.without_batch:
        return {
            "batch_id": _(
                "A planting of this lot at this site on this day is on record without a batch. Write its batch"
                " down there, or leave batch and load empty here."
            )
        }
    return loads.refuse(given, row.existing)
