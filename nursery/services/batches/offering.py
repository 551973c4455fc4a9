"""What the adopted plan draws and nobody has sown yet: everything a sowing needs is known of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Batch, Container, Draw, Lot, Plan, PlanLine
from nursery.planning.rounding import whole
from nursery.services.batches.sowing import WITHOUT_CELLS

#: More are found by species or site.
MOST = 200


@dataclass(frozen=True, slots=True)
class Offer:
    """Seed of one lot that a plan line draws, with what of it was sown already."""

    draw: Draw
    line: PlanLine
    lot: Lot
    cells_per_tray: int | None
    sown: int

    @property
    def seeds(self) -> int:
        """Seeds still to be sown."""
        return max(self.draw.seeds - self.sown, 0)

    @property
    def share(self) -> float:
        """Part of the draw that is still to be sown, 0–1."""
        return self.seeds / self.draw.seeds

    @property
    def milligrams(self) -> int | None:
        """Clean seed still to be weighed out; None for pieces."""
        return None if self.draw.milligrams is None else max(int(self.draw.milligrams * self.share), 1)

    @property
    def trays(self) -> int | None:
        """Trays its cells fill; None in flats and beds, which the plan does not count."""
        if self.line.method in WITHOUT_CELLS or not self.cells_per_tray:
            return None
        return max(int(whole(self.draw.cells * self.share / self.cells_per_tray)), 1)


def offers(session: Session, *, first: int | None = None, most: int = MOST) -> Sequence[Offer]:
    """Draws of the plan in force that are not wholly sown, the earliest sowing first, in two queries.

    ``first`` asks for one draw alone, sown or not.
    """
    query = (
        select(Draw, PlanLine, Lot, Container.cells_per_tray)
        .join(PlanLine, Draw.line_id == PlanLine.id)
        .join(Plan, PlanLine.plan_id == Plan.id)
        .join(Lot, Draw.lot_id == Lot.id)
        .outerjoin(Container, PlanLine.container_id == Container.id)
        .where(Plan.is_adopted)
        .options(joinedload(Lot.species))
        .order_by(PlanLine.sow_on, PlanLine.species_name, Draw.id)
    )
    if first is not None:
        query = query.where(Draw.id == first)
    rows = session.execute(query).all()
    sown = _sown(session, [line.id for _draw, line, _lot, _cells in rows])
    found = [Offer(draw, line, lot, cells, sown.get((line.id, lot.id), 0)) for draw, line, lot, cells in rows]
    return [offer for offer in found if offer.seeds or first is not None][:most]


def _sown(session: Session, line_ids: Sequence[int]) -> dict[tuple[int, int], int]:
    if not line_ids:
        return {}
    rows = session.execute(
        select(Batch.line_id, Batch.lot_id, func.sum(Batch.seeds))
        .where(Batch.line_id.is_not(None), Batch.archived_at.is_(None))
        .group_by(Batch.line_id, Batch.lot_id)
    )
    return {
        (line_id, lot_id): int(seeds)
        for line_id, lot_id, seeds in rows
        if line_id is not None and lot_id is not None
    }
