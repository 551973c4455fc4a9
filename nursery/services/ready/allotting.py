"""Which plants are spoken for: first by planned loads, then by the targets that batches were sown for."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Dispatch, DispatchLine, Site
from nursery.models.dispatches import DispatchStatus
from nursery.services.ready.rows import apportion


@dataclass(frozen=True, slots=True)
class Reserved:
    """Plants of a batch that a planned load asks for; ``grade`` empty takes any size."""

    batch_id: int
    target_id: int | None
    site_id: int
    site_name: str
    grade: str
    plants: int


@dataclass(frozen=True, slots=True)
class Standing:
    """A batch as it can be given away; ``sizes`` are its expected plants by size grade."""

    batch_id: int
    target_id: int | None
    site_id: int | None
    is_ready: bool
    ready_on: dt.date | None
    sizes: Mapping[str, int]


@dataclass
class Allotted:
    """Plants given away, by batch and size, by target, and by planned load to other sites."""

    plants: dict[int, dict[str, int]] = field(default_factory=dict)
    targets: dict[int, int] = field(default_factory=dict)
    lent: dict[int, dict[str, int]] = field(default_factory=dict)


def read_reserved(session: Session) -> list[Reserved]:
    """What planned loads ask for, the soonest first; one query."""
    rows = session.execute(
        select(
            DispatchLine.batch_id, DispatchLine.target_id, Dispatch.site_id, Site.name, DispatchLine.grade,
            DispatchLine.plants,
        )
        .join(DispatchLine.dispatch)
        .join(Dispatch.site)
        .where(Dispatch.status == DispatchStatus.PLANNED, Dispatch.archived_at.is_(None))
        .order_by(Dispatch.planned_on, Dispatch.id, DispatchLine.position, DispatchLine.id)
    )  # fmt: skip
    return [Reserved(*row) for row in rows]


def allot(batches: Sequence[Standing], reserved: Sequence[Reserved], asked: Mapping[int, int]) -> Allotted:
    """Give plants away: what loads ask for, then what targets still lack (``asked``), of their own batches.

    A load for a target counts towards what the target asks for. Ready plants go before those that still grow. No
    batch gives more than it has.
    """
    left = {one.batch_id: dict(one.sizes) for one in batches}
    home = {one.batch_id: one.site_id for one in batches}
    found = Allotted(plants={one.batch_id: dict.fromkeys(one.sizes, 0) for one in batches})
    covered: defaultdict[int, int] = defaultdict(int)
    # Loads that ask for a size come before those that take any.
    for load in sorted(reserved, key=lambda one: not one.grade):
        taken = _take(left.get(load.batch_id, {}), found.plants.get(load.batch_id, {}), load.plants, load.grade)
        if taken and load.target_id is not None:
            covered[load.target_id] += taken
        if taken and home[load.batch_id] != load.site_id:
            lent = found.lent.setdefault(load.batch_id, {})
            lent[load.site_name] = lent.get(load.site_name, 0) + taken
    soonest = sorted(batches, key=lambda one: (not one.is_ready, one.ready_on or dt.date.max, one.batch_id))
    for batch in soonest:
        if batch.target_id is None:
            continue
        lacking = max(asked.get(batch.target_id, 0) - covered[batch.target_id], 0)
        covered[batch.target_id] += _take(left[batch.batch_id], found.plants[batch.batch_id], lacking, "")
    found.targets = {target: min(plants, asked.get(target, 0)) for target, plants in covered.items()}
    return found


def _take(left: dict[str, int], given: dict[str, int], plants: int, grade: str) -> int:
    """Plants moved from what is left to what is given: of one size, or of all in proportion."""
    sizes = {grade: left.get(grade, 0)} if grade else left
    taken = min(plants, sum(sizes.values()))
    for name, number in apportion(taken, sizes).items():
        if number:
            left[name] -= number
            given[name] += number
    return taken
