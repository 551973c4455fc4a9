"""Where something was seen or treated: a batch, a bench, a whole nursery, or several of them at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Bench, Nursery, Scouting, Treatment
from nursery.services import records
from nursery.services.listing import Column

PLACES = ("batch_id", "bench_id", "nursery_id")
COLUMNS = (
    Column("batch", _l("Batch"), Batch.code, "code", nullable=True),
    Column("bench", _l("Bench"), Bench.name, nullable=True),
    Column("nursery", _l("Nursery"), Nursery.name, nullable=True),
)


def with_places(model: type[Scouting] | type[Treatment]) -> Any:
    """What a list of these joins: its places, which may each be missing."""

    def join(query: Select[Any]) -> Select[Any]:
        return (
            query.outerjoin(Batch, model.batch_id == Batch.id)
            .outerjoin(Bench, model.bench_id == Bench.id)
            .outerjoin(Nursery, model.nursery_id == Nursery.id)
        )

    return join


def refuse_nowhere(session: Session, values: Mapping[str, Any]) -> dict[str, str]:
    """A note without any place; places that are named exist."""
    for name, model in zip(PLACES, (Batch, Bench, Nursery), strict=True):
        if values.get(name) is not None:
            records.get(session, model, values[name])
    if all(values.get(name) is None for name in PLACES):
        return {"batch_id": _("Say where: name a batch, a bench or a nursery.")}
    return {}


def place_name(row: Scouting | Treatment) -> str:
    """Its places, as people call them."""
    names = []
    if row.batch is not None:
        names.append(_("Batch %(code)s", code=row.batch.code))
    if row.bench is not None:
        names.append(_("Bench %(name)s", name=row.bench.name))
    if row.nursery is not None:
        names.append(row.nursery.name)
    return " · ".join(names)
