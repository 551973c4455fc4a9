"""The species that a treatment met: the batch's, or those that stood on the bench on that day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Placement, Species, Treatment


def crops_of(session: Session, treatments: Sequence[Treatment]) -> Mapping[int, Sequence[str]]:
    """Scientific names by treatment, in two queries; none for a whole nursery."""
    batches = {row.batch_id for row in treatments if row.batch_id is not None}
    benches = {row.bench_id for row in treatments if row.bench_id is not None and row.batch_id is None}
    named = session.execute(
        select(Batch.id, Species.scientific_name)
        .join(Species, Batch.species_id == Species.id)
        .where(Batch.id.in_(batches))
    )
    by_batch = {batch_id: name for batch_id, name in named}  # noqa: C416 -- dict() would ask a Row for its keys
    stood = defaultdict(list)
    for bench_id, first, last, name in session.execute(
        select(Placement.bench_id, Placement.from_on, Placement.until_on, Species.scientific_name)
        .join(Batch, Placement.batch_id == Batch.id)
        .join(Species, Batch.species_id == Species.id)
        .where(Placement.bench_id.in_(benches))
    ):
        stood[bench_id].append((first, last, name))
    found: dict[int, Sequence[str]] = {}
    for row in treatments:
        if row.batch_id is not None:
            found[row.id] = [by_batch[row.batch_id]]
        elif row.bench_id is not None:
            day = row.treated_at.astimezone().date()
            names = {
                name for first, last, name in stood[row.bench_id] if first <= day and (last is None or day <= last)
            }
            found[row.id] = sorted(names)
    return found
