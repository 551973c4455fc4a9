"""The list of quarantines, standing and lifted."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Select, case

from nursery.i18n import lazy as _l
from nursery.models import Batch, Bench, Quarantine
from nursery.services.listing import Column, Filter, Listing, choice_options

_STATES = {"standing": _l("Standing"), "lifted": _l("Lifted")}
_STATE = case((Quarantine.lifted_at.is_(None), "standing"), else_="lifted")


def _joins(query: Select[Any]) -> Select[Any]:
    return query.outerjoin(Batch, Quarantine.batch_id == Batch.id).outerjoin(
        Bench, Quarantine.bench_id == Bench.id
    )


LISTING = Listing(
    model=Quarantine,
    order="-since",
    joins=_joins,
    columns=(
        Column("since", _l("Since"), Quarantine.since, "date"),
        Column("batch", _l("Batch"), Batch.code, "code", nullable=True),
        Column("bench", _l("Bench"), Bench.name, nullable=True),
        Column("reason", _l("Reason"), Quarantine.reason),
        Column("person", _l("Person"), Quarantine.person),
        Column("state", _l("State"), _STATE, "choice", choices=_STATES, nullable=False),
        Column("lifted_at", _l("Lifted at"), Quarantine.lifted_at, "moment"),
        Column("lifted_by", _l("Lifted by"), Quarantine.lifted_by),
        Column("lifted_reason", _l("Why it was lifted"), Quarantine.lifted_reason),
    ),
    search=(Batch.code, Bench.name, Quarantine.reason, Quarantine.lifted_reason),
    filters=(Filter("state", _l("State"), _STATE, choice_options(_STATES)),),
)
