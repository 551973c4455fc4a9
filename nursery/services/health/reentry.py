"""Where nobody goes in without protection, because a treatment is too fresh."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import format_moment
from nursery.i18n import gettext as _
from nursery.models import Batch, Bench, Placement, Treatment
from nursery.services.health.places import place_name


@dataclass(frozen=True, slots=True)
class Reentry:
    """A re-entry time that is still running."""

    treatment_id: int
    product: str
    place: str
    until: dt.datetime
    batch_id: int | None
    bench_id: int | None
    nursery_id: int | None

    @property
    def sentence(self) -> str:
        """What a person must know before she goes in."""
        return _(
            "%(place)s was treated with %(product)s: nobody goes in before %(until)s without the protection that"
            " the label asks for.",
            place=self.place,
            product=self.product,
            until=format_moment(self.until),
        )

    def covers(self, *, batch_id: int | None, bench_ids: Collection[int], nursery_ids: Collection[int]) -> bool:
        """Whether somebody who works there meets it."""
        return (
            (self.batch_id is not None and self.batch_id == batch_id)
            or self.bench_id in bench_ids
            # A treatment of a batch or a bench names the nursery only to say where that stands.
            or (self.batch_id is None and self.bench_id is None and self.nursery_id in nursery_ids)
        )


def running_reentries(session: Session, *, now: dt.datetime) -> Sequence[Reentry]:
    """All re-entry times that still run, the one that ends first on top; one query."""
    rows = session.scalars(
        select(Treatment)
        .options(joinedload(Treatment.batch), joinedload(Treatment.bench), joinedload(Treatment.nursery))
        .where(Treatment.reentry_at > now, Treatment.treated_at <= now, Treatment.archived_at.is_(None))
        .order_by(Treatment.reentry_at, Treatment.id)
    )
    return [
        Reentry(row.id, row.product, place_name(row), row.reentry_at, row.batch_id, row.bench_id, row.nursery_id)
        for row in rows
        if row.reentry_at is not None
    ]


def reentries_of_batches(
    session: Session, batch_ids: Iterable[int], *, now: dt.datetime
) -> Mapping[int, Sequence[Reentry]]:
    """Those that somebody who works at a batch meets: of itself, of its benches, of its nursery."""
    running, wanted = running_reentries(session, now=now), set(batch_ids)
    if not running or not wanted:
        return {}
    kept = session.execute(select(Batch.id, Batch.nursery_id).where(Batch.id.in_(wanted)))
    homes = {batch_id: nursery_id for batch_id, nursery_id in kept}  # noqa: C416 -- dict() asks a Row for keys
    standing = session.execute(
        select(Placement.batch_id, Placement.bench_id, Bench.nursery_id)
        .join(Bench, Placement.bench_id == Bench.id)
        .where(Placement.until_on.is_(None), Placement.batch_id.in_(wanted))
    ).all()
    found: dict[int, Sequence[Reentry]] = {}
    for batch_id in wanted:
        benches = {bench for batch, bench, _nursery in standing if batch == batch_id}
        nurseries = {nursery for batch, _bench, nursery in standing if batch == batch_id}
        if (home := homes.get(batch_id)) is not None:
            nurseries.add(home)
        met = [
            each for each in running if each.covers(batch_id=batch_id, bench_ids=benches, nursery_ids=nurseries)
        ]
        if met:
            found[batch_id] = met
    return found
